"""The closed pack as measured, against what is said to lie in it."""

from __future__ import annotations

from collections.abc import Iterable

from assembly.rules.facts.instruments import Box
from assembly.rules.findings import CLOSE_MM, Finding, Rule, in_mm
from assembly.rules.limits.plans import fits_at_any_angle

RULE = Rule("pack size", "the sizes on record")


def pack_finding(pack: Box | None, contents: Iterable[tuple[str, Box]]) -> Finding:
    """Whether the measured pack (mm) can hold what is in it, each piece laid as it likes.

    One that is too large for the pack is a contradiction: one of the two sizes is wrong, and
    which cannot be told. An unknown side of a piece counts as nothing.
    """
    if pack is None:
        return RULE.does_not_apply("No measured pack is part of the question.")
    if pack.missing:
        return RULE.does_not_apply("Not every size of the pack is on record.")
    long, wide, high = _sides(pack)
    for name, box in contents:
        length, width, height = _sides(box)
        if height > high + CLOSE_MM or not fits_at_any_angle(length, width, long, wide):
            return _contradiction(name, (length, width, height), (long, wide, high))
    return RULE.met("What is in the pack is no larger than the pack.")


def _sides(box: Box) -> tuple[float, float, float]:
    """The sides (mm), longest first."""
    sides = (box.length_mm or 0.0, box.width_mm or 0.0, box.height_mm or 0.0)
    length, width, height = sorted(sides, reverse=True)
    return length, width, height


def _contradiction(
    name: str, piece: tuple[float, float, float], pack: tuple[float, float, float]
) -> Finding:
    amounts = in_mm(**dict(zip("abcdef", (*piece, *pack), strict=True)))
    words = f"{name} is on record as {{a}} by {{b}} by {{c}}, the pack that it is in as {{d}} by "
    words += "{e} by {f}: one of the two is wrong. Measure both."
    return RULE.cannot_tell(words, "pack.size", amounts=amounts)
