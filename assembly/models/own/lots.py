"""Which box was open where: lots of supplies, as they were taken into use."""

from __future__ import annotations

from django.db import models
from django.db.models.functions import Lower


class SupplyLot(models.Model):
    """One lot of a supply, from the day it was opened to the day it was used up.

    ``supply`` is its kind and code (``pouch:P-1``, ``filter:C-1``), the method of an indicator
    (``indicator:steam``), or the labels (``label:package``). ``at`` is the workstation where
    it stands, blank where it serves all.
    A lot that was recalled stays the one in use until another is opened: nothing is packed with
    it meanwhile.
    """

    key = models.CharField(max_length=64, unique=True)
    supply = models.CharField(max_length=60, db_index=True)
    name = models.CharField(max_length=140)
    lot = models.CharField(max_length=40, db_index=True)
    expires = models.DateField("use by", null=True, blank=True)
    at = models.CharField("workstation", max_length=40, blank=True)
    opened_by = models.CharField(max_length=150)
    opened_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)
    recalled_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["supply", "-opened_at", "-pk"]
        indexes = [models.Index(Lower("lot"), name="supply_lot_folded")]
        constraints = [
            models.UniqueConstraint(
                fields=["supply", "at"],
                condition=models.Q(ended_at__isnull=True),
                name="one_lot_in_use_a_workstation",
            ),
            models.CheckConstraint(condition=~models.Q(lot=""), name="a_lot_has_its_number"),
        ]

    def __str__(self) -> str:
        return f"{self.name}, lot {self.lot}"
