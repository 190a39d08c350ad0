"""Sizes and weights as columns: decimals in base units, NULL for unknown, never zero."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models

from catalog.vocabulary import (
    AIR_REMOVAL_NAMES,
    FILTER_NAMES,
    FORM_NAMES,
    KIND_NAMES,
    LUMEN_MATERIAL_NAMES,
    MATERIAL_NAMES,
    METHOD_NAMES,
    ProtectorMaterial,
)

LENGTH_PLACES = 3
WEIGHT_PLACES = 1


def length_field(label: str, **options: Any) -> models.DecimalField:
    """A length in mm to 0.001 mm; NULL unknown."""
    return models.DecimalField(
        label,
        max_digits=9,
        decimal_places=LENGTH_PLACES,
        null=True,
        blank=True,
        validators=[MinValueValidator(0.001)],
        help_text="mm; empty when not known",
        **options,
    )


def weight_field(label: str, **options: Any) -> models.DecimalField:
    """A weight in g to 0.1 g; NULL unknown."""
    return models.DecimalField(
        label,
        max_digits=9,
        decimal_places=WEIGHT_PLACES,
        null=True,
        blank=True,
        validators=[MinValueValidator(0.1)],
        help_text="g; empty when not known",
        **options,
    )


def minutes_field(label: str) -> models.DecimalField:
    """A time in minutes to 0.1 min; NULL unknown."""
    return models.DecimalField(
        label, max_digits=7, decimal_places=1, null=True, blank=True,
        validators=[MinValueValidator(0)], help_text="minutes; empty when not stated",
    )  # fmt: skip


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


def choices_of(names: Mapping[Any, str]) -> list[tuple[str, str]]:
    """Words of the vocabulary with their names, as a column or a field of a form takes them.

    >>> choices_of(KIND_NAMES)[:2]
    [('pouch', 'Pouch'), ('roll', 'Roll')]
    """
    return [(str(word), name[:1].upper() + name[1:]) for word, name in names.items()]


METHODS = choices_of(METHOD_NAMES)
AIR_REMOVALS = choices_of(AIR_REMOVAL_NAMES)
FORMS = choices_of(FORM_NAMES)
LUMEN_MATERIALS = choices_of(LUMEN_MATERIAL_NAMES)
FILTERS = choices_of(FILTER_NAMES)
MATERIALS = choices_of(MATERIAL_NAMES)
KINDS = choices_of(KIND_NAMES)
PROTECTOR_MATERIALS = choices_of({one: one.words for one in ProtectorMaterial})
