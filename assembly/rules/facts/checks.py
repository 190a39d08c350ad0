"""Numbers are checked when a fact is made, so that no rule ever computes with a wrong one."""

from __future__ import annotations

import math
from dataclasses import fields
from functools import cache
from typing import Any, TypeVar

Fact = TypeVar("Fact")


def product(*values: float | None) -> float | None:
    """What the values come to multiplied; None where one of them is not known.

    >>> product(3, 4, 5), product(3, None)
    (60, None)
    """
    return None if None in values else math.prod(values)  # type: ignore[arg-type]


LARGEST_MM = 10_000.0
"""No package for a sterilizer chamber is longer than this; a larger figure is a slip."""
LARGEST_G = 1_000_000.0
"""No package weighs a tonne; a larger figure is a slip."""
LARGEST_ROLL = 1_000_000.0
"""No roll is a kilometre long."""
LARGEST_MIN = 100_000.0
LARGEST_C = 400.0


class FactsError(ValueError):
    """A fact that cannot be one. Says which field, what was read and what to do."""

    def __init__(self, field: str, value: object, problem: str) -> None:
        self.field, self.value, self.problem = field, value, problem
        super().__init__(f"{field}: read {value!r}; {problem}")


def check_number(field: str, value: object, *, largest: float, zero_allowed: bool = False) -> None:
    """Raise :class:`FactsError` unless ``value`` is None or a number in range.

    >>> check_number("length_mm", 180, largest=LARGEST_MM)
    >>> check_number("length_mm", None, largest=LARGEST_MM)
    >>> check_number("length_mm", -4, largest=LARGEST_MM)
    Traceback (most recent call last):
    assembly.rules.facts.checks.FactsError: length_mm: read -4; it must be above 0: leave it \
empty if it is not known
    """
    if value is None:
        return
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        raise FactsError(field, value, "it must be a number: write digits, without a unit")
    try:
        number = float(value)
    except OverflowError:
        number = math.inf
    if not math.isfinite(number):
        raise FactsError(field, value, "it must be a finite number")
    if number < 0 or (number == 0 and not zero_allowed):
        bound = "at least" if zero_allowed else "above"
        raise FactsError(field, value, f"it must be {bound} 0: leave it empty if it is not known")
    if number > largest:
        raise FactsError(
            field, value, f"it is beyond {largest:,.0f}: look for a slip in the unit or the digits"
        )


_LARGEST_BY_SUFFIX = {
    "_mm": LARGEST_MM, "_g": LARGEST_G, "_m2": LARGEST_G, "_min": LARGEST_MIN, "_c": LARGEST_C,
}  # fmt: skip
_LARGEST_BY_NAME = {"exposure_max": LARGEST_MIN, "cost": LARGEST_G, "roll_length_mm": LARGEST_ROLL}
ZERO_ALLOWED = {"gusset_mm", "drying_min", "exposure_max", "tolerance_g", "cost"}


def check_numbers(fact: object) -> None:
    """Check every numeric field of a fact by the unit in its name."""
    make: Any = type(fact)
    for name, largest, zero_allowed in _numbers_of(make):
        check_number(name, getattr(fact, name), largest=largest, zero_allowed=zero_allowed)


@cache
def _numbers_of(make: Any) -> tuple[tuple[str, float, bool], ...]:
    """Each numeric field of a fact with the largest it may be, and whether it may be zero."""
    found = []
    for field in fields(make):
        name = field.name
        suffix = f"_{name.rsplit('_', 1)[-1]}"
        largest = _LARGEST_BY_NAME.get(name, _LARGEST_BY_SUFFIX.get(suffix))
        if largest is not None:
            found.append((name, largest, name in ZERO_ALLOWED))
    return tuple(found)


def derived(fact: Fact, **changes: object) -> Fact:
    """A fact with some of it reckoned from what was checked already: it is not checked again."""
    make: type[Fact] = type(fact)
    made = object.__new__(make)
    for name in make.__slots__:  # type: ignore[attr-defined]
        object.__setattr__(made, name, getattr(fact, name))
    for name, value in changes.items():
        object.__setattr__(made, name, value)
    return made
