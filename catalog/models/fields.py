"""Sizes and weights as columns: decimals in base units, NULL for unknown, never zero."""

from __future__ import annotations

from typing import Any

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models

from catalog.vocabulary import (
    AirRemoval,
    Filter,
    Form,
    Kind,
    LumenMaterial,
    MadeOf,
    Material,
    Method,
    ProtectorMaterial,
    Word,
)

LENGTH_PLACES = 3
WEIGHT_PLACES = 1


def _figure(label: str, digits: int, places: int, least: float | None, help_text: str,
            **options: Any) -> models.DecimalField:  # fmt: skip
    """A number that may be unknown: NULL, never zero where ``least`` is above it."""
    return models.DecimalField(
        label,
        max_digits=digits,
        decimal_places=places,
        null=True,
        blank=True,
        validators=[] if least is None else [MinValueValidator(least)],
        help_text=help_text,
        **options,
    )


def length_field(label: str, **options: Any) -> models.DecimalField:
    """A length in mm to 0.001 mm; NULL unknown."""
    return _figure(label, 9, LENGTH_PLACES, 0.001, "mm; empty when not known", **options)


def weight_field(label: str, **options: Any) -> models.DecimalField:
    """A weight in g to 0.1 g; NULL unknown."""
    return _figure(label, 9, WEIGHT_PLACES, 0.1, "g; empty when not known", **options)


def minutes_field(label: str) -> models.DecimalField:
    """A time in minutes to 0.1 min; NULL unknown."""
    return _figure(label, 7, 1, 0, "minutes; empty when not stated")


def celsius_field(label: str) -> models.DecimalField:
    """A temperature in °C to 0.1 °C; NULL unknown."""
    return _figure(label, 5, 1, None, "")


def tolerance_field() -> models.DecimalField:
    """How far from the seal temperature a sealer may be, in °C to 0.1 °C; NULL unknown."""
    return _figure("seal tolerance, each way", 4, 1, 0, "by its IFU; empty when it gives none")


def months_field(label: str) -> models.PositiveSmallIntegerField:
    """A time in whole months; NULL where none is stated."""
    return models.PositiveSmallIntegerField(
        label, null=True, blank=True, validators=[MinValueValidator(1), MaxValueValidator(120)],
        help_text="months by its IFU; empty when it gives none",
    )  # fmt: skip


def positive_or_unknown(model: str, *names: str) -> list[models.CheckConstraint]:
    """One constraint a column: NULL or above zero."""
    return [
        models.CheckConstraint(
            condition=models.Q(**{f"{name}__isnull": True}) | models.Q(**{f"{name}__gt": 0}),
            name=f"{model}_{name}_positive",
        )
        for name in names
    ]


def choices_of(list_: type[Word]) -> list[tuple[str, str]]:
    """A list of the vocabulary as a person reads it, as a column or a field of a form takes them.

    >>> choices_of(Kind)[:2]
    [('pouch', 'Pouch'), ('roll', 'Roll')]
    """
    return [(str(one), one.words[:1].upper() + one.words[1:]) for one in list_]


METHODS = choices_of(Method)
AIR_REMOVALS = choices_of(AirRemoval)
FORMS = choices_of(Form)
LUMEN_MATERIALS = choices_of(LumenMaterial)
FILTERS = choices_of(Filter)
MADE_OF = choices_of(MadeOf)
MATERIALS = choices_of(Material)
KINDS = choices_of(Kind)
PROTECTOR_MATERIALS = choices_of(ProtectorMaterial)
