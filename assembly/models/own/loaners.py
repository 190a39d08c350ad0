"""What is lent to the department: in, out, its weight, its IFU, and what is still to go back."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from assembly.models.base.steps import Step, WithSteps
from catalog.models import Instrument, InstrumentSet
from catalog.models.fields import weight_field


class Loaner(WithSteps):
    """A tray or an instrument of somebody else's, from the day it came to the day it went back.

    It is assembled as a set of the catalog, or packed as an instrument of it, where one is named;
    without its IFU nothing is decided about either. What is empty is not on record.
    """

    class State(models.TextChoices):
        HERE = "here", "Here"
        RETURNED = "returned", "Returned"

    ENDED = (State.RETURNED,)

    key = models.CharField(max_length=64, unique=True)
    what = models.CharField(max_length=200)
    vendor = models.CharField("whose it is", max_length=120)
    instrument_set = models.ForeignKey(
        InstrumentSet, models.PROTECT, null=True, related_name="loaners"
    )
    instrument = models.ForeignKey(Instrument, models.PROTECT, null=True, related_name="loaners")
    needed_for = models.CharField("for which case", max_length=90, blank=True)
    pieces = models.PositiveIntegerField(null=True, blank=True)
    weight_g = weight_field("weight as it came")
    ifu_reference = models.CharField("IFU", max_length=120, blank=True)
    ifu_received_at = models.DateTimeField(null=True, blank=True)
    return_by = models.DateField(null=True, blank=True)
    state = models.CharField(max_length=10, choices=State, default=State.HERE)
    came_by = models.CharField("taken in by", max_length=150)
    came_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["return_by", "came_at", "pk"]
        constraints = [
            models.CheckConstraint(condition=~Q(what="") & ~Q(vendor=""), name="loaner_is_named"),
            models.CheckConstraint(
                condition=Q(instrument=None) | Q(instrument_set=None),
                name="loaner_is_packed_as_one_thing",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.what}, {self.vendor}"


class LoanerStep(Step):
    """One thing that happened to what is lent, and how it stood then."""

    loaner = models.ForeignKey(Loaner, models.CASCADE, related_name="steps")
    state = models.CharField(max_length=10, choices=Loaner.State)
    said = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["loaner", "number"], name="one_loaner_step"),
            models.UniqueConstraint(fields=["loaner", "key"], name="one_loaner_step_a_key"),
        ]

    def __str__(self) -> str:
        return f"{self.at:%Y-%m-%d %H:%M} {self.by} {self.said}"
