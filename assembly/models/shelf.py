"""Where packages are: shelf places, moves, stock levels, and when sets are needed next.

A package on the shelf has one row that says how it stands now, and a move for everything that
happened to it since it was packed. Moves are written once and never altered.
"""

from __future__ import annotations

from django.db import models
from django.db.models.functions import Lower

from assembly.models.base.indexes import where_known
from assembly.models.base.steps import Step
from assembly.models.base.written_once import WrittenOnce
from assembly.models.packages import Package
from catalog.models import Instrument, InstrumentSet


class ShelfPlace(models.Model):
    """A place where packages lie, with the code on its label."""

    code = models.CharField("place code", max_length=20, unique=True)
    name = models.CharField(max_length=80, blank=True)
    retired = models.BooleanField(default=False)

    class Meta:
        ordering = ["code"]
        permissions = [
            ("keep_shelf", "Can put packages away, move them and hand them over"),
            ("set_stock_level", "Can set low levels and shelf places"),
        ]
        constraints = [models.UniqueConstraint(Lower("code"), name="shelf_place_code_folded")]

    def __str__(self) -> str:
        return f"{self.code} {self.name}".strip()


class ShelfState(models.TextChoices):
    """Where a package is, or why it is no longer to be had."""

    ON_SHELF = "on shelf", "On the shelf"
    HANDED_OVER = "handed over", "Handed over"
    OPENED = "opened", "Opened"
    DAMAGED = "damaged", "Damaged"
    RECALLED = "recalled", "Recalled"


class Shelved(models.Model):
    """How one package stands now, since it was first put away or handed over."""

    package = models.OneToOneField(Package, models.PROTECT, related_name="shelved")
    state = models.CharField(max_length=12, choices=ShelfState)
    place = models.ForeignKey(
        ShelfPlace, models.PROTECT, null=True, related_name="packages", db_index=False
    )
    since = models.DateTimeField()

    class Meta:
        indexes = [models.Index(fields=["state"]), where_known("place", "shelved_at")]
        constraints = [
            models.CheckConstraint(
                condition=~models.Q(state=ShelfState.ON_SHELF) | models.Q(place__isnull=False),
                name="on_the_shelf_is_at_a_place",
            )
        ]

    def __str__(self) -> str:
        at = f" at {self.place}" if self.place_id else ""
        return f"{self.package.code} {self.get_state_display().lower()}{at}"


class ShelfMove(Step):
    """One thing that happened to a package after it was packed; ``at_place`` is its place as it
    was called then."""

    package = models.ForeignKey(Package, models.PROTECT, related_name="steps", db_index=False)
    state = models.CharField(max_length=12, choices=ShelfState)
    place = models.ForeignKey(
        ShelfPlace, models.PROTECT, null=True, related_name="+", db_index=False
    )
    at_place = models.CharField("place, as it was called", max_length=110, blank=True)
    to = models.CharField("handed over to", max_length=90, blank=True)

    class Meta:
        ordering = ["pk"]
        indexes = [where_known("place", "move_to_place")]
        constraints = [
            models.UniqueConstraint(fields=["package", "number"], name="one_move_at_a_number"),
            models.UniqueConstraint(fields=["package", "key"], name="one_move_a_key"),
        ]

    def __str__(self) -> str:
        return f"{self.at:%Y-%m-%d %H:%M} {self.by} {self.get_state_display().lower()}"


class StockLevel(models.Model):
    """How many should lie ready: sterile single packages of an instrument, or packages of a set.
    Where an instrument's loose spares lie."""

    instrument = models.OneToOneField(
        Instrument, models.CASCADE, null=True, related_name="stock_level"
    )
    instrument_set = models.OneToOneField(
        InstrumentSet, models.CASCADE, null=True, related_name="stock_level"
    )
    low = models.PositiveIntegerField("low under", null=True, blank=True)
    spares_place = models.CharField("loose spares lie in", max_length=80, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(instrument=None) ^ models.Q(instrument_set=None),
                name="level_of_one_thing",
            )
        ]

    def __str__(self) -> str:
        return f"{self.instrument or self.instrument_set}: low under {self.low}"


class SetNeed(WrittenOnce):
    """When a set is needed next, or so many of an instrument, as somebody who knows the list of
    cases said it. What is not needed after all has a :class:`NotNeeded`."""

    instrument_set = models.ForeignKey(
        InstrumentSet, models.CASCADE, null=True, related_name="needs"
    )
    instrument = models.ForeignKey(Instrument, models.CASCADE, null=True, related_name="needs")
    quantity = models.PositiveSmallIntegerField(default=1)
    needed_at = models.DateTimeField(db_index=True)
    where = models.CharField(max_length=40, blank=True)

    class Meta:
        ordering = ["needed_at"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(instrument=None) ^ models.Q(instrument_set=None),
                name="need_of_one_thing",
            ),
            models.CheckConstraint(condition=models.Q(quantity__gt=0), name="need_of_some"),
        ]

    def __str__(self) -> str:
        many = f"{self.quantity} × " if self.quantity > 1 else ""
        return f"{many}{self.thing.name}"

    @classmethod
    def still(cls) -> models.QuerySet[SetNeed]:
        """What nobody took back."""
        return cls.objects.filter(not_needed=None)

    @property
    def thing(self) -> Instrument | InstrumentSet:
        found = self.instrument or self.instrument_set
        assert found is not None  # the constraint above
        return found

    @property
    def number(self) -> str:
        """The item number or the set's code."""
        one = self.thing
        return one.item_number if isinstance(one, Instrument) else one.code


class NotNeeded(WrittenOnce):
    """What was said to be needed is not: the case was moved or canceled."""

    need = models.OneToOneField(SetNeed, models.CASCADE, related_name="not_needed")

    def __str__(self) -> str:
        return f"not: {self.need}"
