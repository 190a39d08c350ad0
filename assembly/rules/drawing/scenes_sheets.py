"""Wraps and containers to scale: a pack on its sheet with the fold lines, contents in a tray.

A scene decides nothing: it draws what a candidate's findings were computed from.
"""

from __future__ import annotations

import math

from assembly.rules.drawing.shapes import (
    Polyline,
    Rect,
    Scene,
    Shape,
    Text,
    control_rule,
    dimension_along,
    lettering,
    outline,
    turned_box,
)
from assembly.rules.facts.instruments import Box, Instrument
from assembly.rules.facts.supplies import Container, Wrap
from assembly.rules.findings import Show, metric

ENVELOPE_STEPS = ("1 near, tip turned back", "2 side", "3 side", "4 far, tucked in")
SQUARE_STEPS = ("1 near edge, cuff", "2 end", "3 end", "4 far edge")
STEPS_OF_A_TURN = 360


def wrap_scene(
    name: str, pack: Box, wrap: Wrap, fold: str, across: str, show: Show = metric
) -> Scene | None:
    """A pack on its sheet, with the folds in the order in which they are made.

    ``across`` names the side of the pack that the first flap goes across. None where a size
    needed to draw it is unknown.
    """
    sizes = (pack.length_mm, pack.width_mm, pack.height_mm, wrap.width_mm, wrap.length_mm)
    if None in sizes:
        return None
    length, width, height, sheet_width, sheet_length = (float(size or 0) for size in sizes)
    along, up = (length, width) if across == "width" else (width, length)
    if fold == "envelope":
        side = min(sheet_width, sheet_length)
        shapes, half, steps = _envelope(along, up, height, side)
        halves = (half, half)
    else:
        short, long = sorted((sheet_width / 2, sheet_length / 2))
        halves = (long, short) if across == "width" else (short, long)
        shapes, steps = _square(along, up, height, *halves)
    text = lettering(2 * max(halves))
    middle = (halves[0] + 1.5 * text, halves[1] + 2.6 * text)
    moved = [_moved(shape, *middle) for shape in shapes]
    right, far = (along / 2 + halves[0]) / 2, (up / 2 + halves[1]) / 2
    places = ((0.0, far), (-right, 0.0), (right, 0.0), (0.0, -far))
    words: list[Shape] = [
        Text(middle[0] + x, middle[1] + y, step, "word")
        for (x, y), step in zip(places, steps, strict=True)
    ]
    words.append(Text(middle[0], middle[1] + text * 0.35, "pack", "figure"))
    total = 2 * halves[1] + 7.5 * text
    sheet = f"{show(sheet_width, 'mm')} by {show(sheet_length, 'mm')}"
    rule = control_rule(1.5 * text, total - text * 0.9, text, show)
    across_size = dimension_along(
        middle[0] - along / 2, middle[0] + along / 2, total - text * 4.2, text, show
    )
    return Scene(
        2 * halves[0] + 3 * text,
        total,
        (*moved, *words, *across_size, *rule),
        f"{name} on wrap {wrap.code}, {fold} fold, to scale",
        f"Sheet {sheet}; the pack is {show(length, 'mm')} by {show(width, 'mm')} by "
        f"{show(height, 'mm')}.",
        (
            "Dashed: where the sheet folds, at the pack's edges and up its sides.",
            "The geometry is ours, not a published chart: try the sheet before use.",
        ),
    )


def _envelope(
    along: float, up: float, height: float, side: float
) -> tuple[list[Shape], float, tuple[str, ...]]:
    """The sheet on its corner, the pack in the middle: shapes round (0, 0), half diagonal."""
    half = side / math.sqrt(2)
    sheet = Polyline(((0, -half), (half, 0), (0, half), (-half, 0)), "paper", closed=True)
    folds: list[Shape] = []
    for rise in (0.0, height):
        x, y = along / 2 + rise, up / 2 + rise
        for sign in (-1, 1):
            if half > x:
                folds.append(Polyline(((sign * x, x - half), (sign * x, half - x)), "fold"))
            if half > y:
                folds.append(Polyline(((y - half, sign * y), (half - y, sign * y)), "fold"))
    return [sheet, *folds, _pack(along, up)], half, ENVELOPE_STEPS


def _square(
    along: float, up: float, height: float, half_x: float, half_y: float
) -> tuple[list[Shape], tuple[str, ...]]:
    """The sheet on its edge, the pack in the middle: shapes round (0, 0)."""
    folds: list[Shape] = []
    for rise in (0.0, height):
        x, y = along / 2 + rise, up / 2 + rise
        for sign in (-1, 1):
            folds.append(Polyline(((sign * x, -half_y), (sign * x, half_y)), "fold"))
            folds.append(Polyline(((-half_x, sign * y), (half_x, sign * y)), "fold"))
    sheet = Rect(-half_x, -half_y, 2 * half_x, 2 * half_y, "paper")
    return [sheet, *folds, _pack(along, up)], SQUARE_STEPS


def _pack(along: float, up: float) -> Rect:
    return Rect(-along / 2, -up / 2, along, up, "box")


def _moved(shape: Shape, x: float, y: float) -> Shape:
    if isinstance(shape, Polyline):
        return Polyline(tuple((a + x, b + y) for a, b in shape.points), shape.role, shape.closed)
    if isinstance(shape, Rect):
        return Rect(shape.x + x, shape.y + y, shape.width, shape.height, shape.role, shape.radius)
    raise TypeError(f"no way to move {shape!r}")


def container_scene(
    instrument: Instrument, container: Container, show: Show = metric
) -> Scene | None:
    """The instrument lying in a container, turned where it must be; None for unknown sizes."""
    sizes = (instrument.length_mm, instrument.width_mm, container.inner_length_mm,
             container.inner_width_mm)  # fmt: skip
    if None in sizes:
        return None
    length, width, long, wide = (float(size or 0) for size in sizes)
    text = lettering(max(long, wide, length))
    left, top = 1.5 * text, 2.2 * text
    angle = angle_to_fit(length, width, long, wide)
    contents: list[Shape] = (
        outline(instrument, left + (long - length) / 2, top + (wide - width) / 2, length, width)
        if not angle
        else [turned_box(left + long / 2, top + wide / 2, length, width, angle)]
    )
    total = wide + 7 * text
    return Scene(
        long + 3 * text,
        total,
        (
            Rect(left, top, long, wide, "tray", 6.0),
            *contents,
            Text(left, top - text * 0.6, f"inside of {container.code}", "word", "start"),
            *dimension_along(left, left + long, top + wide + text * 1.1, text, show),
            *control_rule(left, total - text * 0.9, text, show),
        ),
        f"{instrument.name} in container {container.code}, to scale",
        f"Inside {show(long, 'mm')} by {show(wide, 'mm')}; the instrument is "
        f"{show(length, 'mm')} by {show(width, 'mm')}.",
        ("The plan of the container's inside, to scale; the outline is schematic.",),
    )


def basket_scene(
    name: str, inside: Box, basket: Box | None, words: str, show: Show = metric
) -> Scene | None:
    """The plan of a container with the basket in it, or of the basket alone; None if unknown."""
    long, wide = inside.length_mm, inside.width_mm
    if long is None or wide is None:
        return None
    text = lettering(max(long, wide))
    left, top = 1.5 * text, 2.2 * text
    shapes: list[Shape] = [Rect(left, top, long, wide, "tray", 6.0)]
    if basket and basket.length_mm and basket.width_mm:
        x, y = left + (long - basket.length_mm) / 2, top + (wide - basket.width_mm) / 2
        shapes.append(Rect(x, y, basket.length_mm, basket.width_mm, "box"))
    total = wide + 7 * text
    shapes += [
        Text(left, top - text * 0.6, words, "word", "start"),
        *dimension_along(left, left + long, top + wide + text * 1.1, text, show),
        *control_rule(left, total - text * 0.9, text, show),
    ]
    return Scene(long + 3 * text, total, tuple(shapes), f"{name}, to scale",
                 f"Inside {show(long, 'mm')} by {show(wide, 'mm')}.", ())  # fmt: skip


def angle_to_fit(length: float, width: float, long: float, wide: float) -> float:
    """The least angle (radians) at which a box lies in a tray (mm); 0 when straight or never.

    >>> angle_to_fit(200, 50, 400, 250)
    0.0
    >>> 0 < angle_to_fit(520, 20, 480, 250) < math.pi / 2
    True
    """
    for step in range(STEPS_OF_A_TURN + 1):
        angle = step / STEPS_OF_A_TURN * math.pi / 2
        across = length * math.cos(angle) + width * math.sin(angle)
        up = length * math.sin(angle) + width * math.cos(angle)
        if across <= long and up <= wide:
            return angle
    return 0.0
