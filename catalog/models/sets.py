"""Sets, the revisions of their count sheets, and the lines on them."""

from __future__ import annotations

from typing import ClassVar, Literal

from django.db import models
from django.db.models.functions import Lower

from catalog.models.fields import length_field, positive_or_unknown
from catalog.models.instruments import Instrument
from catalog.models.named import Named
from catalog.models.supplies import Basket, Container, Wrap


class InstrumentSet(Named):
    """A set: what is packed together under one code."""

    CALLED: ClassVar = ("code", "name", "service")

    code = models.CharField("set code", max_length=40, unique=True)
    name = models.CharField(max_length=200)
    service = models.CharField(max_length=120, blank=True)
    packed_in = models.CharField(
        "packed in", max_length=120, blank=True, help_text="as the count sheet says it"
    )
    container = models.ForeignKey(Container, models.PROTECT, null=True, blank=True)
    basket = models.ForeignKey(Basket, models.PROTECT, null=True, blank=True)
    wrap = models.ForeignKey(Wrap, models.PROTECT, null=True, blank=True)
    pouches_inside = models.BooleanField("film pouches lie inside it", default=False)
    pouches_validated = models.BooleanField(
        "their maker validated that and the department tested it", default=False
    )
    pack_length_mm = length_field("closed pack, length")
    pack_width_mm = length_field("closed pack, width")
    pack_height_mm = length_field("closed pack, height")
    sheet_other_names = models.BooleanField("count sheet shows other names", default=True)
    sheet_notes = models.BooleanField("count sheet shows notes", default=True)
    sheet_substitutes = models.BooleanField("count sheet shows accepted substitutes", default=True)
    sheet_weights = models.BooleanField("count sheet shows the weight of each", default=False)
    sheet_maker_numbers = models.BooleanField(
        "count sheet shows maker and catalog number", default=False
    )
    retired = models.BooleanField(default=False)

    class Meta:
        verbose_name = "set"
        permissions = [("print_count_sheet", "Can print count sheets")]
        ordering = ["code"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(container__isnull=True) | models.Q(wrap__isnull=True),
                name="set_in_a_container_or_a_wrap",
            ),
            *positive_or_unknown("set", "pack_length_mm", "pack_width_mm", "pack_height_mm"),
        ]
        indexes = [models.Index(Lower("code"), name="set_code_folded")]

    def __str__(self) -> str:
        return f"{self.code} {self.name}"

    @property
    def current(self) -> CountSheet | None:
        """The revision in force; None when none was approved yet."""
        return self.count_sheets.filter(state=CountSheet.State.CURRENT).first()


class CountSheet(models.Model):
    """One revision of a set's list. At most one a set is current."""

    class State(models.TextChoices):
        DRAFT = "draft", "Draft"
        CURRENT = "current", "Current"
        RETIRED = "retired", "Retired"
        DISCARDED = "discarded", "Discarded"

    instrument_set = models.ForeignKey(
        InstrumentSet, models.CASCADE, related_name="count_sheets", verbose_name="set"
    )
    revision = models.PositiveIntegerField()
    state = models.CharField(max_length=10, choices=State, default=State.DRAFT)
    approved_by = models.CharField(max_length=150, blank=True)
    approved_on = models.DateField(null=True, blank=True)
    left_out = models.JSONField(
        "lines left out at the import",
        default=list,
        blank=True,
        help_text="what the spreadsheet listed and nobody could take over",
    )

    class Meta:
        ordering = ["instrument_set", "-revision"]
        permissions = [("approve_count_sheet", "Can approve count sheets")]
        constraints = [
            models.UniqueConstraint(
                fields=["instrument_set", "revision"], name="one_count_sheet_a_revision"
            ),
            models.UniqueConstraint(
                fields=["instrument_set"],
                condition=models.Q(state="current"),
                name="one_current_count_sheet_a_set",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.instrument_set.code} revision {self.revision} ({self.get_state_display()})"


class Line(models.Model):
    """One instrument on a count sheet, with its place and its count."""

    count_sheet = models.ForeignKey(CountSheet, models.CASCADE, related_name="lines")
    order = models.PositiveIntegerField()
    section = models.CharField(max_length=80, blank=True)
    instrument = models.ForeignKey(Instrument, models.PROTECT, related_name="lines")
    quantity = models.PositiveIntegerField()
    may_go_without = models.BooleanField("the set may go without it", default=False)
    substitutes = models.ManyToManyField(
        Instrument, blank=True, related_name="substitute_on", verbose_name="accepted substitutes"
    )
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["count_sheet", "order"]
        constraints = [
            models.UniqueConstraint(fields=["count_sheet", "order"], name="one_line_at_a_place"),
            models.CheckConstraint(
                condition=models.Q(quantity__gt=0), name="line_counts_something"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.quantity} × {self.instrument}"


def lines_with_instruments() -> models.Prefetch[Literal["lines"]]:
    """The lines of many count sheets with their instruments, in one query. Asked for by
    themselves, the instruments are a condition each (Django 5.2), and SQLite takes 1,000."""
    return models.Prefetch("lines", Line.objects.select_related("instrument"))
