"""Instruments and the cycles that their makers' instructions allow."""

from __future__ import annotations

from decimal import Decimal
from typing import ClassVar

from django.db import models
from django.db.models.functions import Lower

from catalog.models.fields import (
    AIR_REMOVALS,
    FORMS,
    KINDS,
    LUMEN_MATERIALS,
    METHODS,
    celsius_field,
    choices_of,
    length_field,
    minutes_field,
    positive_or_unknown,
    weight_field,
)
from catalog.models.named import Named
from catalog.vocabulary import AirRemoval, ItemClass

Number = Decimal | int
"""A stored number, or one that was just read and is not stored yet."""


class InstrumentFacts(models.Model):
    """The columns of an instrument, in the catalog and on its way into it.

    Sizes are those of the instrument as it lies in a package; empty means unknown.
    """

    class Tip(models.TextChoices):
        BLUNT = "blunt", "Blunt"
        FINE = "fine", "Fine"
        SHARP = "sharp", "Sharp"
        TOOTHED = "toothed", "Toothed"
        ROUGH = "rough", "Rough"
        UNKNOWN = "", "Not stated"

    item_number = models.CharField("item number", max_length=40, unique=True)
    name = models.CharField(max_length=200)
    also_known_as = models.CharField(
        "also known as", max_length=300, blank=True, help_text="nicknames, separated by ;"
    )
    group = models.CharField(max_length=60, blank=True)
    maker = models.CharField(max_length=120, blank=True)
    maker_catalog_number = models.CharField("maker's catalog number", max_length=60, blank=True)
    length_mm = length_field("length")
    width_mm = length_field("width")
    height_mm = length_field("height")
    weight_g = weight_field("weight")
    tip = models.CharField(max_length=10, choices=Tip, blank=True, default=Tip.UNKNOWN)
    tip_across_mm = length_field("tip, greatest size across")
    tip_cover_mm = length_field("tip, length to be covered")
    # None is unknown and "" is none needed: two different facts.
    protector = models.CharField(  # noqa: DJ001
        "tip protector",
        max_length=60,
        null=True,
        blank=True,
        help_text="empty text: none needed; not stated: unknown",
    )
    form = models.CharField(
        max_length=20, choices=FORMS, blank=True,
        help_text="how it may lie, and how it is drawn",
    )  # fmt: skip
    width_open_mm = length_field("width, open")
    lies_only_as_given = models.BooleanField("lies only as measured", null=True, blank=True)
    hinged = models.BooleanField(null=True, blank=True)
    item_class = models.CharField(
        max_length=20, choices=choices_of(ItemClass), default=str(ItemClass.INSTRUMENTS),
        help_text="what published tables of cycles tell apart",
    )  # fmt: skip
    ratchet = models.BooleanField("has a ratchet", null=True, blank=True)
    hollow = models.BooleanField("hollow", null=True, blank=True)
    implant = models.BooleanField(
        "an implant", null=True, blank=True,
        help_text="its load waits for the biological indicator, as the policy says",
    )  # fmt: skip
    # As with the protector: None is unknown, "" is that no part comes apart.
    parts_apart = models.CharField(  # noqa: DJ001
        "taken apart", max_length=200, null=True, blank=True,
        help_text="which parts come apart; none where none do",
    )  # fmt: skip
    round_section = models.BooleanField("round in section", default=False)
    lumen_mm = length_field("lumen bore")
    lumen_length_mm = length_field("lumen length")
    lumen_material = models.CharField(
        "lumen wall", max_length=10, choices=LUMEN_MATERIALS, blank=True
    )
    channels = models.PositiveSmallIntegerField("lumen channels", null=True, blank=True)
    forbids = models.JSONField("kinds of package its IFU forbids", default=list, blank=True)
    ifu_reference = models.CharField("IFU", max_length=120, blank=True)
    ifu_revision = models.CharField("IFU revision", max_length=20, blank=True)
    ifu_review_on = models.DateField(
        "IFU to be read again on", null=True, blank=True, help_text="overdue from this day"
    )
    photo = models.CharField(max_length=80, blank=True, help_text="name of the file, our own")
    spares_on_hand = models.PositiveIntegerField("loose spares on hand", null=True, blank=True)
    notes = models.TextField(blank=True)
    retired = models.BooleanField(default=False)

    class Meta:
        abstract = True

    def __str__(self) -> str:
        return f"{self.item_number} {self.name}"


class Instrument(Named, InstrumentFacts):
    """One model of instrument as the department knows it."""

    CALLED: ClassVar = ("item_number", "name", "also_known_as", "group", "maker")
    ALSO: ClassVar = ("retired", "length_mm", "maker_catalog_number")

    class Meta:
        ordering = ["item_number"]
        permissions = [
            ("import_spreadsheets", "Can read spreadsheets into the catalog"),
            ("print_label", "Can print labels"),
        ]
        constraints = [
            *positive_or_unknown(
                "instrument",
                "length_mm",
                "width_mm",
                "height_mm",
                "weight_g",
                "lumen_mm",
                "lumen_length_mm",
                "width_open_mm",
                "channels",
                "tip_across_mm",
                "tip_cover_mm",
            ),
            models.UniqueConstraint(Lower("item_number"), name="instrument_item_number_folded"),
            models.CheckConstraint(condition=~models.Q(name=""), name="instrument_has_name"),
        ]
        indexes = [
            models.Index(fields=["name"]),
            models.Index(fields=["group"], name="instrument_group"),
        ]

    @property
    def forbidden_kinds(self) -> list[str]:
        """The kinds of package that its instructions forbid, in words."""
        words = dict(KINDS)
        return [words.get(kind, kind) for kind in self.forbids]

    @property
    def nicknames(self) -> list[str]:
        return [part.strip() for part in self.also_known_as.split(";") if part.strip()]


class CycleFacts(models.Model):
    """The columns of one cycle that an instrument's instructions allow."""

    order = models.PositiveSmallIntegerField(default=0)
    method = models.CharField(max_length=10, choices=METHODS)
    temperature_c = celsius_field("temperature")
    temperature_to_c = celsius_field("temperature up to")
    air_removal = models.CharField("air removal", max_length=20, choices=AIR_REMOVALS, blank=True)
    exposure_min = minutes_field("minimum exposure")
    exposure_max = minutes_field("maximum exposure")
    drying_min = minutes_field("minimum drying")
    aeration_min = minutes_field("minimum aeration")
    cycle_name = models.CharField("name of the cycle", max_length=40, blank=True)

    class Meta:
        abstract = True

    def __str__(self) -> str:
        words = self.get_method_display()
        if self.cycle_name:
            words += f" cycle {self.cycle_name}"
        if self.air_removal:
            words += f" ({AirRemoval(self.air_removal).words})"
        parts = [_range(self.temperature_c, self.temperature_to_c, "°C"),
                 _range(self.exposure_min, self.exposure_max, "min")]  # fmt: skip
        words += f" {parts[0]}" if parts[0] else ""
        parts[0] = words
        for word, minutes in (("dry", self.drying_min), ("aerate", self.aeration_min)):
            if minutes is not None:
                parts.append(f"{word} {_plain(minutes)} min")
        return ", ".join(part for part in parts if part)


class CycleOption(CycleFacts):
    """One cycle that the instrument's instructions allow."""

    instrument = models.ForeignKey(Instrument, models.CASCADE, related_name="cycles")

    class Meta:
        ordering = ["instrument", "order"]
        constraints = [
            models.UniqueConstraint(
                fields=["instrument", "order"], name="one_cycle_option_at_a_place"
            ),
            models.CheckConstraint(
                condition=models.Q(exposure_max__isnull=True)
                | models.Q(exposure_min__isnull=True)
                | models.Q(exposure_max__gte=models.F("exposure_min")),
                name="exposure_bounds_in_order",
            ),
            models.CheckConstraint(
                condition=models.Q(temperature_to_c__isnull=True)
                | models.Q(temperature_to_c__gte=models.F("temperature_c")),
                name="temperature_bounds_in_order",
            ),
        ]


def _range(least: Number | None, most: Number | None, unit: str) -> str:
    """A bound or two with their unit; "" where the first is not stated."""
    if least is None:
        return ""
    low, high = _plain(least), _plain(most)
    return f"{low}{'' if high in ('', low) else f' to {high}'} {unit}"


def _plain(number: Number | None) -> str:
    return "" if number is None else f"{Decimal(number).normalize():f}"
