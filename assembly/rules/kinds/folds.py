"""How large a sheet must be to wrap a pack, folded as an envelope or square.

The pack is a box that lies on its largest face and is never turned on its side. No
published chart from pack to sheet size was found: **the geometry here is ours**. Envelope:
the pack lies across the sheet's diagonals, and the half diagonal must carry each corner up
the side and over the top as far as the fold asks. Square: the pack lies along the sheet,
the girth one way, the ends the other.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from assembly.rules.policy.values import Policy
from catalog.vocabulary import Fold

NEAR, SIDES, LAST, CLOSURE = "the near flap", "the side flaps", "the last flap", "closure"
GIRTH, ENDS = "the girth", "the ends"


@dataclass(frozen=True, slots=True)
class Folding:
    """How a wrap is to be folded: lengths in mm, and how far the near flap reaches.

    ``whole_top`` is the strict reading (the near flap covers the whole top); otherwise
    flaps meet past the mid-line.
    """

    overlap_mm: float
    turnback_mm: float
    tuck_mm: float
    end_reach_mm: float
    whole_top: bool

    @classmethod
    def of(cls, policy: Policy) -> Folding:
        """The folding that the policy asks for."""
        return cls(
            overlap_mm=policy.number("wrap_overlap_mm"),
            turnback_mm=policy.number("wrap_turnback_mm"),
            tuck_mm=policy.number("wrap_tuck_mm"),
            end_reach_mm=policy.number("wrap_end_reach_mm"),
            whole_top=policy.word("wrap_near") == "whole top",
        )


@dataclass(frozen=True, slots=True)
class Sheet:
    """The least sheet for a pack (mm). ``binding`` is the requirement that decides.

    ``across`` names the side of the pack that the near flap (envelope) or the girth (square)
    goes across.
    """

    fold: Fold
    a_mm: float
    b_mm: float
    binding: str
    across: str

    @property
    def side_mm(self) -> float:
        """The side of the least square sheet."""
        return max(self.a_mm, self.b_mm)


def envelope_sheet(length: float, width: float, height: float, folding: Folding) -> Sheet:
    """The least sheet for the envelope fold (mm), the better of the two ways to lay the pack.

    Our geometry. Each requirement asks for a half diagonal; the largest decides.

    >>> strict = Folding(50, 50, 50, 150, whole_top=True)
    >>> round(envelope_sheet(480, 250, 50, strict).side_mm), \
envelope_sheet(480, 250, 50, strict).binding
    (940, 'the near flap')
    """
    ways = []
    for across, sides, near in (("width", length, width), ("length", width, length)):
        terms = envelope_terms(sides, near, height, folding)
        binding = max(terms, key=lambda name: terms[name])
        side = math.sqrt(2) * terms[binding]
        ways.append(Sheet(Fold.ENVELOPE, side, side, binding, across))
    return min(ways, key=lambda sheet: sheet.side_mm)


def envelope_terms(sides: float, near: float, height: float, folding: Folding) -> dict[str, float]:
    """What each step of the envelope fold asks of the half diagonal (mm).

    ``sides`` is the pack's length under the side corners, ``near`` under the near and far.
    """
    overlap, back, tuck = folding.overlap_mm, folding.turnback_mm, folding.tuck_mm
    if folding.whole_top:
        near_flap = 1.5 * near + height + max(sides / 2, back)
        last_flap = 1.5 * near + height + tuck
    else:
        near_flap = near + height + overlap + back
        last_flap = near + height + overlap + tuck
    return {
        NEAR: near_flap,
        SIDES: sides + height + overlap + back,
        LAST: last_flap,
        CLOSURE: (sides + near) / 2 + height + overlap / math.sqrt(2),
    }


def square_sheets(
    length: float, width: float, height: float, folding: Folding
) -> tuple[Sheet, Sheet]:
    """The least sheets for the square fold (mm), for the girth round either side of the pack.

    Our geometry. ``a_mm`` runs round the pack, ``b_mm`` along it over both ends.
    """
    return (
        _square(length, width, height, folding, "width"),
        _square(width, length, height, folding, "length"),
    )


def _square(along: float, across: float, height: float, folding: Folding, name: str) -> Sheet:
    overlap, back = folding.overlap_mm, folding.turnback_mm
    if folding.whole_top:
        a = 3 * across + 2 * height + 2 * back
        b = 2 * along + 2 * height + 2 * overlap
    else:
        a = 2 * across + 2 * height + 2 * overlap + 2 * back
        b = along + 2 * height + 2 * folding.end_reach_mm
    return Sheet(Fold.SQUARE, a, b, GIRTH if a >= b else ENDS, name)


def square_sheet(length: float, width: float, height: float, folding: Folding) -> Sheet:
    """The least square sheet for the square fold (mm): the better of the two ways."""
    ways = square_sheets(length, width, height, folding)
    return min(ways, key=lambda sheet: (sheet.side_mm, sheet.a_mm * sheet.b_mm))
