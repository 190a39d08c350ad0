"""The life of a thing: what is away, and what comes back."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from assembly.models.base.written_once import WrittenOnce
from assembly.models.builds import BuildEvent
from assembly.models.packages import Package
from catalog.models import Instrument, InstrumentSet


class Repair(models.Model):
    """A damaged piece that is out of use: laid aside, then with who mends it, then back or not.

    ``event`` is the step of the assembly in which it was found; else ``key`` is the press, and
    ``package`` the one it was found in, if any. ``instrument_set`` is the set that it belongs to,
    where that is known. ``gone_to`` is blank while it lies in the department.
    """

    class Outcome(models.TextChoices):
        BACK = "back", "back"
        WRITTEN_OFF = "written off", "written off"
        UNDONE = "undone", "undone at the bench"

    event = models.OneToOneField(BuildEvent, models.CASCADE, null=True, related_name="repair")
    key = models.CharField(max_length=64, unique=True, null=True)  # noqa: DJ001
    instrument = models.ForeignKey(Instrument, models.PROTECT, related_name="repairs")
    instrument_set = models.ForeignKey(
        InstrumentSet, models.PROTECT, null=True, related_name="repairs"
    )
    package = models.ForeignKey(Package, models.PROTECT, null=True, related_name="repairs")
    item_number = models.CharField(max_length=40)
    name = models.CharField(max_length=200)
    quantity = models.PositiveIntegerField(default=1)
    reason = models.CharField(max_length=300)
    from_spares = models.BooleanField("taken from the loose spares", default=False)
    sent_by = models.CharField(max_length=150)
    sent_at = models.DateTimeField()
    gone_to = models.CharField("who has it", max_length=120, blank=True)
    gone_at = models.DateTimeField(null=True, blank=True)
    expected_on = models.DateField(null=True, blank=True)
    outcome = models.CharField(max_length=12, choices=Outcome, blank=True)
    closed_at = models.DateTimeField(null=True, blank=True)
    closed_by = models.CharField(max_length=150, blank=True)
    closed_because = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["-sent_at", "-pk"]
        constraints = [
            models.CheckConstraint(condition=~Q(reason=""), name="repair_has_reason"),
            models.CheckConstraint(
                condition=Q(closed_at=None, outcome="")
                | (Q(closed_at__isnull=False) & ~Q(outcome="")),
                name="repair_ends_with_an_outcome",
            ),
            models.CheckConstraint(
                condition=Q(gone_at=None, gone_to="") | (Q(gone_at__isnull=False) & ~Q(gone_to="")),
                name="repair_is_with_somebody_since",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.quantity} × {self.item_number} {self.name}"


class Sharpening(WrittenOnce):
    """An instrument was sharpened: those of one set, or, without one, those packed singly.

    A catalog number is no single piece: what is counted since then is the packages of the set,
    or the single ones, however many pieces share them.
    """

    key = models.CharField(max_length=64, unique=True)
    instrument = models.ForeignKey(Instrument, models.PROTECT, related_name="sharpenings")
    instrument_set = models.ForeignKey(
        InstrumentSet, models.PROTECT, null=True, related_name="sharpenings"
    )
    done_on = models.DateField()
    done_by = models.CharField("who sharpened it", max_length=120, blank=True)

    class Meta:
        ordering = ["done_on", "pk"]

    def __str__(self) -> str:
        return f"{self.instrument.item_number} {self.instrument.name}"
