"""The codes that stand on an instrument and on its box, as scanners read them."""

from __future__ import annotations

from django.db import models

from catalog.models.instruments import Instrument


class Identifier(models.Model):
    """One code that leads to one instrument.

    The code on the box may differ from the one on the instrument (21 CFR 801.45 lets them),
    so that an instrument has several, each with where it was found. The value is written
    as ``catalog.scans`` normalises it; a value stands once per kind.
    """

    class Kind(models.TextChoices):
        GTIN = "gtin", "GTIN"
        GTIN_SERIAL = "gtin+serial", "GTIN with serial"
        GRAI = "grai", "Returnable asset (GRAI)"
        GIAI = "giai", "Asset number (GIAI)"
        HIBC = "hibc", "HIBC"
        TEXT = "text", "Other text"

    instrument = models.ForeignKey(Instrument, models.CASCADE, related_name="identifiers")
    kind = models.CharField(max_length=12, choices=Kind)
    value = models.CharField(max_length=200)
    where_found = models.CharField(
        "where found", max_length=80, help_text="on the instrument, on the box, ..."
    )

    class Meta:
        ordering = ["instrument", "kind", "value"]
        constraints = [
            models.UniqueConstraint(fields=["kind", "value"], name="one_identifier_a_value"),
            models.CheckConstraint(
                condition=models.Q(
                    kind__in=["gtin", "gtin+serial", "grai", "giai", "hibc", "text"]
                ),
                name="identifier_kind_is_known",
            ),
            models.CheckConstraint(
                condition=~models.Q(value="") & ~models.Q(where_found=""),
                name="identifier_says_what_and_where",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.value}"
