"""Wraps to scale: a pack on its sheet with the fold lines, and what lies in the pack.

A scene decides nothing: it draws what a candidate's findings were computed from.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from assembly.rules.drawing.measuring import dimension_along
from assembly.rules.drawing.pieces import NOT_KNOWN, OUTLINE_NOT_KNOWN
from assembly.rules.drawing.shapes import (
    LINE,
    Outline,
    Point,
    Polygon,
    Polyline,
    Rect,
    Scene,
    Shape,
    Text,
    bounds,
    disc,
    mapped,
)
from assembly.rules.facts.instruments import Box
from assembly.rules.facts.supplies import Wrap
from assembly.rules.findings import Show, metric

ENVELOPE_STEPS = ("1 near, tip back", "2 side", "3 side", "4 far, tucked in")
SQUARE_STEPS = ("1 near edge, cuff", "2 end", "3 end", "4 far edge")
LEGEND = (
    "Dashed: folds, at the pack's edges and up its sides.",
    "Our geometry, no published chart: try the sheet before use.",
)
MARGIN = 1.5


def wrap_scene(
    name: str,
    pack: Box,
    wrap: Wrap,
    fold: str,
    across: str,
    show: Show = metric,
    contents: Sequence[Outline] = (),
    said: tuple[str, ...] = (),
) -> Scene | None:
    """A pack on its sheet, with the folds in the order in which they are made.

    ``across`` names the side of the pack that the first flap goes across; ``contents`` is what
    lies in it, ``said`` what the caption says of that. None for an unknown size.
    """
    sizes = (pack.length_mm, pack.width_mm, pack.height_mm, wrap.width_mm, wrap.length_mm)
    if None in sizes:
        return None
    length, width, height, sheet_width, sheet_length = (float(size or 0) for size in sizes)
    along, up = (length, width) if across == "width" else (width, length)
    halves, draw, steps = _sheet(fold, across, sheet_width, sheet_length)
    text = 2 * halves[0] / (LINE - 2 * MARGIN)
    left, bottom = MARGIN * text, 2 * halves[1] + text * 0.6
    middle = (halves[0] + left, halves[1] + text * 0.6)
    ends = (middle[0] - along / 2, middle[0] + along / 2)
    unknown = NOT_KNOWN in said
    shapes: list[Shape] = [
        *draw(middle, along, up, height, halves),
        Rect(ends[0], middle[1] - up / 2, along, up, "box"),
        *_contents(contents, middle, along, up),
        *_numbered(middle, halves, (along, up, height), text),
        *dimension_along(*ends, bottom + text * 0.7, text, show),
        *_words(steps, left, bottom + text * 3.7, halves[0] * 2, text),
        *([Text(left, bottom + text * 6.3, OUTLINE_NOT_KNOWN, "word", "start")] if unknown else []),
    ]
    pack_words = f"{show(length, 'mm')} by {show(width, 'mm')} by {show(height, 'mm')}"
    return Scene(
        2 * (halves[0] + left),
        bottom + (6.8 if unknown else 5.5) * text,
        text,
        tuple(shapes),
        f"{name} on wrap {wrap.code}, {fold} fold, to scale",
        f"Sheet {show(sheet_width, 'mm')} by {show(sheet_length, 'mm')}; the pack is {pack_words}.",
        (*LEGEND, *said),
    )


Draw = Callable[[Point, float, float, float, tuple[float, float]], list[Shape]]


def _sheet(
    fold: str, across: str, width: float, length: float
) -> tuple[tuple[float, float], Draw, tuple[str, ...]]:
    """Half of the sheet each way as it lies, what draws it, and the steps of its fold."""
    if fold == "envelope":
        half = min(width, length) / math.sqrt(2)
        return (half, half), _envelope, ENVELOPE_STEPS
    short, long = sorted((width / 2, length / 2))
    return (long, short) if across == "width" else (short, long), _square, SQUARE_STEPS


def _envelope(
    middle: Point, along: float, up: float, height: float, halves: tuple[float, float]
) -> list[Shape]:
    """The sheet on its corner, and the folds at the pack's edges and where its sides end."""
    (cx, cy), half = middle, halves[0]
    corners = ((cx, cy - half), (cx + half, cy), (cx, cy + half), (cx - half, cy))
    folds: list[Shape] = []
    for rise in (0.0, height):
        x, y = along / 2 + rise, up / 2 + rise
        for sign in (-1, 1):
            if (reach := half - x) > 0:
                folds.append(_fold((cx + sign * x, cy - reach), (cx + sign * x, cy + reach)))
            if (reach := half - y) > 0:
                folds.append(_fold((cx - reach, cy + sign * y), (cx + reach, cy + sign * y)))
    return [Polygon((corners,), "paper"), *folds]


def _square(
    middle: Point, along: float, up: float, height: float, halves: tuple[float, float]
) -> list[Shape]:
    """The sheet on its edge, and the folds at the pack's edges and where its sides end."""
    (cx, cy), (right, far) = middle, halves
    folds: list[Shape] = []
    for rise in (0.0, height):
        x, y = along / 2 + rise, up / 2 + rise
        for sign in (-1, 1):
            folds.append(_fold((cx + sign * x, cy - far), (cx + sign * x, cy + far)))
            folds.append(_fold((cx - right, cy + sign * y), (cx + right, cy + sign * y)))
    return [Rect(cx - right, cy - far, 2 * right, 2 * far, "paper"), *folds]


def _fold(start: Point, end: Point) -> Polyline:
    return Polyline((start, end), "fold")


def _contents(
    contents: Sequence[Outline], middle: Point, along: float, up: float
) -> Sequence[Shape]:
    """What lies in the pack, in its middle, its longer side along that of the pack."""
    if not contents:
        return ()
    left, top, right, bottom = bounds(contents)
    x, y = (left + right) / 2, (top + bottom) / 2
    if (right - left > bottom - top) == (along > up):
        return mapped(contents, lambda a, b: (middle[0] + a - x, middle[1] + b - y))
    return mapped(contents, lambda a, b: (middle[0] + b - y, middle[1] + a - x))


def _numbered(
    middle: Point, halves: tuple[float, float], pack: tuple[float, float, float], text: float
) -> list[Shape]:
    """The number of each flap, in the order in which they are folded, on a plate of its own."""
    along, up, height = pack
    right = (along / 2 + height + halves[0]) / 2
    far = (up / 2 + height + halves[1]) / 2
    shapes: list[Shape] = []
    for n, (x, y) in enumerate(((0.0, far), (-right, 0.0), (right, 0.0), (0.0, -far)), 1):
        x, y = middle[0] + x, middle[1] + y
        shapes += [disc(x, y, text * 0.85, text * 0.85, "plate"),
                   Text(x, y + text * 0.35, str(n), "figure")]  # fmt: skip
    return shapes


def _words(steps: Sequence[str], left: float, top: float, width: float, text: float) -> list[Shape]:
    """What is done with each flap, under the sheet in two columns."""
    return [
        Text(left + width * 0.5 * (n % 2), top + text * 1.3 * (n // 2), step, "word", "start")
        for n, step in enumerate(steps)
    ]
