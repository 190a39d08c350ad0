"""What the OR asks for.

A request has one row that says how it stands now, and one row for each step that led there.
Steps are written once and never altered.
"""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models.functions import Lower

from assembly.models.base.steps import Step, WithSteps
from assembly.models.packages import Package
from catalog.models import Instrument, InstrumentSet


class RequestState(models.TextChoices):
    """How a request stands."""

    OPEN = "open", "Open"
    TAKEN = "taken", "Taken"
    PACKING = "packing", "Being packed"
    ON_THE_WAY = "on the way", "On the way"
    HANDED_OVER = "handed over", "Handed over"
    NOT_MET = "not met", "Could not be met"
    WITHDRAWN = "withdrawn", "Withdrawn"


HELD = (RequestState.TAKEN, RequestState.PACKING, RequestState.ON_THE_WAY)
RUNNING = (RequestState.OPEN, *HELD)


class Request(WithSteps):
    """One thing that is missing somewhere: an instrument, a set, or words for neither.

    Each thing of a request goes its own way, so each has a row with its own state, holder and
    packages: a *line*. What was asked for in one press has the first as ``asked_with``.
    """

    ENDED = (RequestState.HANDED_OVER, RequestState.NOT_MET, RequestState.WITHDRAWN)

    class Urgency(models.TextChoices):
        ROUTINE = "routine", "Routine"
        URGENT = "urgent", "Urgent"
        WAITING = "waiting", "The case is waiting"

    key = models.CharField(max_length=64)
    asked_with = models.ForeignKey(
        "self", models.PROTECT, null=True, editable=False, related_name="other_lines"
    )
    line = models.PositiveSmallIntegerField(default=1)
    lines = models.PositiveSmallIntegerField("lines asked for together", default=1)
    instrument = models.ForeignKey(Instrument, models.PROTECT, null=True, related_name="requests")
    wanted_set = models.ForeignKey(
        InstrumentSet, models.PROTECT, null=True, related_name="requests"
    )
    what = models.CharField(max_length=200)
    number = models.CharField("item number or set code", max_length=40, blank=True)
    quantity = models.PositiveIntegerField(default=1)
    missing_from = models.ForeignKey(
        InstrumentSet, models.PROTECT, null=True, related_name="missed"
    )
    missing_in_package = models.ForeignKey(
        Package, models.PROTECT, null=True, related_name="missed"
    )
    department = models.CharField(max_length=40)
    where = models.CharField(max_length=40)
    needed_by = models.DateTimeField(db_index=True)
    urgency = models.CharField(max_length=10, choices=Urgency, default=Urgency.ROUTINE)
    note = models.CharField(max_length=200, blank=True)
    sources = models.JSONField("where it could come from when it was asked", default=list)
    instead = models.ForeignKey(
        Instrument,
        models.PROTECT,
        null=True,
        related_name="+",
        verbose_name="accepted substitute that the liaison chose",
    )
    instead_set = models.ForeignKey(
        InstrumentSet, models.PROTECT, null=True, related_name="+",
        verbose_name="complete set that the liaison chose to take it from",
    )  # fmt: skip
    told = models.JSONField("who is told that nothing can serve", default=list, blank=True)
    state = models.CharField(max_length=12, choices=RequestState, default=RequestState.OPEN)
    asker = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.SET_NULL, null=True, related_name="+"
    )
    asked_by = models.CharField(max_length=150)
    asked_at = models.DateTimeField()
    holder = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.SET_NULL, null=True, related_name="+"
    )
    holder_name = models.CharField(max_length=150, blank=True)
    ended_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["needed_by", "pk"]
        permissions = [
            ("ask_request", "Can ask for missing items and withdraw what was asked"),
            ("work_request", "Can take requests and hand over what was asked for"),
        ]
        indexes = [
            models.Index(fields=["state", "needed_by"]),
            models.Index(fields=["department"], name="request_department"),
            models.Index(Lower("department"), "id", name="request_department_folded"),
            models.Index(fields=["ended_at", "id"], name="request_ended"),
        ]
        constraints = [
            models.UniqueConstraint(fields=["key"], name="one_request_a_key"),
            models.CheckConstraint(
                condition=models.Q(quantity__gt=0), name="request_asks_for_something"
            ),
            models.CheckConstraint(
                condition=~models.Q(state__in=HELD) | ~models.Q(holder_name=""),
                name="request_in_work_has_a_holder",
            ),
            models.CheckConstraint(
                condition=models.Q(instrument__isnull=True) | models.Q(wanted_set__isnull=True),
                name="request_for_one_thing",
            ),
            models.CheckConstraint(
                condition=models.Q(instead__isnull=True) | models.Q(instead_set__isnull=True),
                name="request_from_one_source",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.quantity} × {self.what}"

    @property
    def running(self) -> bool:
        return self.state in RUNNING

    @property
    def first_pk(self) -> int:
        """The number of the request, whichever of its lines this is."""
        return self.asked_with_id or self.pk

    @property
    def called(self) -> str:
        """Its number, with its line where it has several: ``7``, or ``7, line 2 of 3``."""
        line = f", line {self.line} of {self.lines}" if self.lines > 1 else ""
        return f"{self.first_pk}{line}"

    @property
    def packed_as(self) -> Instrument | None:
        """The instrument that is packed for it: the substitute that was chosen, else itself."""
        return self.instead or self.instrument

    @property
    def served_by(self) -> str:
        """The number or code of what serves it: of the source that was chosen, else its own."""
        chosen = self.instead.item_number if self.instead else ""
        return chosen or (self.instead_set.code if self.instead_set else self.number)

    @property
    def chosen(self) -> str:
        """The other source that the liaison chose, in words; "" where none."""
        if self.instead:
            return f"{self.instead.name} {self.instead.item_number} instead"
        one = self.instead_set
        return f"from a set {one.name} {one.code}" if one else ""

    @property
    def destination(self) -> str:
        """Where it goes, as a label says it."""
        return f"{self.where}, {self.department}"


class RequestStep(Step):
    """One thing that happened to a request, and how it stood then."""

    request = models.ForeignKey(Request, models.CASCADE, related_name="steps", db_index=False)
    state = models.CharField(max_length=12, choices=RequestState)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["request", "number"], name="one_step_at_a_number"),
            models.UniqueConstraint(fields=["request", "key"], name="one_request_step_a_key"),
        ]

    def __str__(self) -> str:
        return f"{self.at:%Y-%m-%d %H:%M} {self.by} {self.get_state_display().lower()}"


class RequestPackage(models.Model):
    """A package that serves a request; let go when the request no longer wants it."""

    request = models.ForeignKey(Request, models.PROTECT, related_name="ties")
    package = models.ForeignKey(Package, models.PROTECT, related_name="ties")
    tied_by = models.CharField(max_length=150)
    tied_at = models.DateTimeField()
    let_go_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["package"],
                condition=models.Q(let_go_at__isnull=True),
                name="a_package_serves_one_request",
            )
        ]

    def __str__(self) -> str:
        return f"{self.package.code} for {self.request}"


class LastLook(models.Model):
    """What a person had seen of the requests when they last opened the page."""

    user = models.OneToOneField(settings.AUTH_USER_MODEL, models.CASCADE, related_name="+")
    step = models.BigIntegerField(default=0)
    at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.user}: {self.step}"
