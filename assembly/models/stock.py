"""What is there of a supply: boxes that are empty, what packages used up, what was counted."""

from __future__ import annotations

from django.db import models

from assembly.models.base.written_once import WrittenOnce
from assembly.models.packages import Package


class EmptyBox(models.Model):
    """A box that somebody at the bench said is empty: no more of it is there until the shift ends.

    ``supply`` is its kind and code (``pouch:P-1``), or the method of an indicator
    (``indicator:steam``). It counts until ``until``, or until somebody says that there is one.
    """

    key = models.CharField(max_length=64, unique=True)
    supply = models.CharField(max_length=60, db_index=True)
    name = models.CharField(max_length=140)
    said_by = models.CharField(max_length=150)
    said_at = models.DateTimeField()
    until = models.DateTimeField(db_index=True)
    ended_at = models.DateTimeField(null=True, blank=True)
    ended_by = models.CharField(max_length=150, blank=True)

    class Meta:
        ordering = ["said_at", "pk"]
        verbose_name_plural = "empty boxes"

    def __str__(self) -> str:
        return f"{self.name}: the box is empty"


class SupplyUse(models.Model):
    """So many of one supply that a package used up when it was packed; void or not.

    ``supply`` is as in :class:`EmptyBox`; further ``filter:C-1`` (of a container) and
    ``label:package``. ``length_mm`` is that of a piece of roll. ``lot`` is known where one lot of
    it was in use.
    """

    package = models.ForeignKey(Package, models.CASCADE, related_name="uses")
    supply = models.CharField(max_length=60)
    amount = models.PositiveIntegerField()
    length_mm = models.DecimalField(max_digits=9, decimal_places=1, null=True, blank=True)
    lot = models.CharField(max_length=40, blank=True)

    class Meta:
        ordering = ["pk"]
        indexes = [models.Index(fields=["supply"], name="supply_use_of")]

    def __str__(self) -> str:
        return f"{self.amount} × {self.supply}"


class CountedSupply(models.Model):
    """A supply that the department counts: what is left of it is worked out from then on.

    ``lead_days`` is how long a delivery of it takes, blank for the policy's. Counted no longer
    from ``ended_at`` on, where somebody said so.
    """

    supply = models.CharField(max_length=60, unique=True)
    name = models.CharField(max_length=140)
    lead_days = models.PositiveSmallIntegerField("a delivery takes, days", null=True, blank=True)
    ended_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["supply"]
        verbose_name_plural = "counted supplies"

    def __str__(self) -> str:
        return self.name


class SupplyCount(WrittenOnce):
    """So many came, or so many is all there is of it; of one lot, where the box says one.

    A roll is counted in meters.
    """

    class Kind(models.TextChoices):
        CAME = "came", "Came in"
        COUNTED = "counted", "Counted: all there is"

    of = models.ForeignKey(CountedSupply, models.PROTECT, related_name="counts")
    key = models.CharField(max_length=64, unique=True)
    kind = models.CharField(max_length=10, choices=Kind)
    quantity = models.PositiveIntegerField()
    lot = models.CharField(max_length=40, blank=True)
    expires = models.DateField("use by", null=True, blank=True)

    class Meta:
        ordering = ["at", "pk"]

    def __str__(self) -> str:
        return f"{self.quantity} × {self.of}: {self.get_kind_display().lower()}"
