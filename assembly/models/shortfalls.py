"""What sets went without, and what came back into them."""

from __future__ import annotations

from django.db import models

from assembly.models.base.written_once import WrittenOnce
from assembly.models.packages import Package
from assembly.models.requests import Request
from catalog.models import Instrument, InstrumentSet


class Shortfall(models.Model):
    """One time that a set went without an instrument; open until it has all of it back.

    Packed short, ``package`` is the set as it was signed. Missed in the OR, ``request`` asked
    for it, and ``package`` is the one that was opened, where that is known.
    """

    class Kind(models.TextChoices):
        PACKED_SHORT = "packed short", "packed short"
        MISSED = "missed in theatre", "missed in the OR"

    kind = models.CharField(max_length=20, choices=Kind)
    instrument_set = models.ForeignKey(InstrumentSet, models.PROTECT, related_name="shortfalls")
    package = models.ForeignKey(Package, models.PROTECT, null=True, related_name="shortfalls")
    request = models.OneToOneField(Request, models.PROTECT, null=True, related_name="shortfall")
    instrument = models.ForeignKey(Instrument, models.PROTECT, related_name="shortfalls")
    item_number = models.CharField(max_length=40)
    name = models.CharField(max_length=200)
    quantity = models.PositiveIntegerField("pieces that it went without")
    returned = models.PositiveIntegerField("pieces that are back", default=0)
    opened_by = models.CharField(max_length=150)
    opened_at = models.DateTimeField()
    closed_at = models.DateTimeField(null=True, blank=True)
    closed_by = models.CharField(max_length=150, blank=True)
    closed_because = models.CharField(max_length=300, blank=True)

    class Meta:
        verbose_name = "shortage"  # the word that the records have always had for it
        ordering = ["opened_at", "pk"]
        indexes = [
            models.Index(fields=["opened_at"], name="shortfall_opened"),
            models.Index(
                fields=["opened_at"],
                condition=models.Q(closed_at=None),
                name="shortfall_still_open",
            ),
        ]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(kind="packed short", package__isnull=False, request=None)
                | models.Q(kind="missed in theatre", request__isnull=False),
                name="shortfall_says_whose_it_is",
            ),
            models.CheckConstraint(
                condition=models.Q(returned__lte=models.F("quantity")),
                name="shortfall_gets_back_what_was_short",
            ),
            models.CheckConstraint(
                condition=models.Q(returned__lt=models.F("quantity"))
                | models.Q(closed_at__isnull=False),
                name="shortfall_all_back_is_closed",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.quantity} × {self.item_number} {self.name}"

    @property
    def key(self) -> str:
        """Its name on a page's fields."""
        return str(self.pk)

    @property
    def waits_for(self) -> int:
        """Pieces that are not back yet; 0 once it is closed."""
        return 0 if self.closed_at else self.quantity - self.returned

    @property
    def waiting(self) -> str:
        """How an open one stands, in words: ``waits for 1 of 3``."""
        return f"waits for {self.waits_for} of {self.quantity}"

    @property
    def department(self) -> str:
        """Who went short: the department that asked, or the service of the set."""
        return self.request.department if self.request else self.instrument_set.service


class PiecesBack(WrittenOnce):
    """Pieces of one posting that went back into one set: how many, who, when and why.

    What a set has back altogether is the count on its shortfall; the database lets that never
    pass what was short.
    """

    key = models.CharField(max_length=64)
    shortfall = models.ForeignKey(Shortfall, models.PROTECT, related_name="back")
    pieces = models.PositiveIntegerField()
    because = models.CharField(max_length=300)
    from_spares = models.BooleanField("taken from the loose spares", default=False)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(condition=models.Q(pieces__gt=0), name="pieces_back_are_some"),
            models.UniqueConstraint(fields=["shortfall", "key"], name="one_return_a_key"),
        ]

    def __str__(self) -> str:
        return f"{self.pieces} of {self.shortfall}"
