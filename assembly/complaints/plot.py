"""What was wrong as plots of plain shapes, the same on the screen and on paper.

One plot for each thing, a row for each month: no colour has to be told from another, and every
figure is written beside its bar. All have one scale, so that a longer bar is always more.
"""

from __future__ import annotations

from collections.abc import Iterable

from assembly.complaints.trend import PER, Figure, Series
from assembly.rules.drawing.shapes import LINE, Polyline, Rect, Scene, Shape, Text

WIDTH_MM = 83.0
LETTER_MM = WIDTH_MM / LINE
STEP_MM = 1.55 * LETTER_MM
HEAD_MM = 2.1 * LETTER_MM
BAR_FROM_MM, BAR_TO_MM = 4.6 * LETTER_MM, 16.0 * LETTER_MM
"""Between them the bar, left of it the month, right of it the figures."""


def plots(every: Iterable[Series]) -> tuple[Scene, ...]:
    """A plot of each that was ever wrong in these months, all on the scale of the highest."""
    shown = [one for one in every if one.total]
    rates = [figure.rate or 0.0 for one in shown for figure in one.figures]
    most = max(rates, default=0.0)
    return tuple(_plot(one, most) for one in shown)


def never(every: Iterable[Series]) -> str:
    """What was not wrong once in these months, in a sentence; "" where there is nothing such."""
    names = [one.title.lower() for one in every if not one.total]
    return f"Not once: {', '.join(names)}." if names else ""


def _plot(one: Series, most: float) -> Scene:
    shapes: list[Shape] = [Text(0.0, 1.1 * LETTER_MM, one.title, "figure", "start")]
    for place, figure in enumerate(one.figures):
        shapes += _row(figure, HEAD_MM + place * STEP_MM, most)
    bottom = HEAD_MM + len(one.figures) * STEP_MM
    shapes.append(Polyline(((BAR_FROM_MM, HEAD_MM), (BAR_FROM_MM, bottom)), "dimension"))
    said = "; ".join(f"{figure.month:%Y-%m} {figure.words}" for figure in one.figures)
    return Scene(WIDTH_MM, bottom + 0.3 * LETTER_MM, LETTER_MM, tuple(shapes), one.title,
                 f"By month, with how many of {PER:,}: {said}")  # fmt: skip


def _row(figure: Figure, top: float, most: float) -> list[Shape]:
    base = top + 1.1 * LETTER_MM
    shapes: list[Shape] = [
        Text(0.0, base, f"{figure.month:%Y-%m}", "word", "start"),
        Text(WIDTH_MM, base, figure.words, "figure" if figure.count else "word", "end"),
    ]
    if figure.rate and most:
        wide = (BAR_TO_MM - BAR_FROM_MM) * figure.rate / most
        shapes.append(Rect(BAR_FROM_MM, top + 0.2 * LETTER_MM, wide, 1.05 * LETTER_MM, "seal"))
    return shapes
