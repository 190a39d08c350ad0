"""A shelf of a sterilizer's rack from above, to scale, with the packages that stand on it."""

from __future__ import annotations

from collections.abc import Sequence

from assembly.rules.drawing.measuring import control_rule
from assembly.rules.drawing.shapes import LINE, Rect, Scene, Shape, Text
from assembly.rules.findings import Show, metric
from assembly.rules.limits.racks import Placed, Shelf

ABOVE, MARGIN, BELOW = 1.7, 1.2, 3.2
LEAST_FOR_A_NAME = 1.0
"""A package is named in the drawing where it is so many letter heights wide."""


def shelf_scene(placed: Sequence[Placed], shelf: Shelf, number: int, show: Show = metric) -> Scene:
    """One shelf with what was placed on it, each package as it stands."""
    text = shelf.length / (LINE - 2 * MARGIN)
    left, top = MARGIN * text, ABOVE * text
    shapes: list[Shape] = [
        Rect(left, top, shelf.length, shelf.width, "tray", 6.0),
        Text(left, top - text * 0.5, f"shelf {number}, from above", "word", "start"),
    ]
    for one in placed:
        shapes.append(Rect(left + one.x, top + one.y, one.length, one.width, "seal"))
        if min(one.length, one.width) >= LEAST_FOR_A_NAME * text and one.length >= 6 * text:
            x, y = left + one.x + one.length / 2, top + one.y + one.width / 2 + text * 0.3
            shapes.append(Text(x, y, one.piece.code, "word"))
    shapes += control_rule(left, top + shelf.width + text * 1.4, text, show)
    names = ", ".join(one.piece.code for one in placed)
    return Scene(
        shelf.length + 2 * left, top + shelf.width + BELOW * text, text, tuple(shapes),
        f"Shelf {number} of the rack, to scale",
        f"{show(shelf.length, 'mm')} by {show(shelf.width, 'mm')}: {names}.",
    )  # fmt: skip
