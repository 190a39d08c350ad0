"""Shortfalls over the weeks as bars in an SVG: no library, colours from the stylesheet."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from assembly.shortfalls.causes import MISSED, PACKED_SHORT, Week

WIDTH, HEIGHT = 880, 230
LEFT, RIGHT, TOP, BOTTOM = 40, 8, 14, 34
LABEL_EVERY = 4
"""Weeks between two dates under the axis."""


def bars(weeks: Sequence[Week]) -> str:
    """Two kinds stacked on each other, a scale in whole numbers, a date every fourth week.

    The words for those who do not see it are in ``aria-label``; the page has the table.
    """
    most = max([one.packed_short + one.missed for one in weeks] + [1])
    step = _step(most)
    top = -(-most // step) * step
    unit = (HEIGHT - TOP - BOTTOM) / top
    room = (WIDTH - LEFT - RIGHT) / max(1, len(weeks))
    parts = [_grid(value, HEIGHT - BOTTOM - value * unit) for value in range(0, top + 1, step)]
    for place, week in enumerate(weeks):
        parts.append(_week(week, LEFT + place * room, room, unit, place % LABEL_EVERY == 0))
    return (
        f'<svg class="plot" viewBox="0 0 {WIDTH} {HEIGHT}" role="img" '
        f'aria-label="{escape(in_words(weeks))}">{"".join(parts)}</svg>'
    )


def in_words(weeks: Sequence[Week]) -> str:
    """What the bars say, in one sentence.

    >>> in_words([])
    'In 0 weeks: 0 packed short, 0 missed in the OR.'
    """
    packed, missed = sum(w.packed_short for w in weeks), sum(w.missed for w in weeks)
    return f"In {len(weeks)} weeks: {packed} {PACKED_SHORT.label}, {missed} {MISSED.label}."


def _step(most: int) -> int:
    """Distance between two lines of the scale: at most five lines.

    >>> [_step(most) for most in (1, 5, 6, 12, 60)]
    [1, 1, 2, 5, 20]
    """
    steps = (1, 2, 5, 10, 20, 50, 100, 200, 500)
    return next((step for step in steps if most <= 5 * step), most)


def _grid(value: int, y: float) -> str:
    return (
        f'<line class="grid" x1="{LEFT}" x2="{WIDTH - RIGHT}" y1="{y:.1f}" y2="{y:.1f}"/>'
        f'<text class="scale" x="{LEFT - 8}" y="{y + 5:.1f}" text-anchor="end">{value}</text>'
    )


def _week(week: Week, x: float, room: float, unit: float, dated: bool) -> str:
    base, wide, inset = HEIGHT - BOTTOM, room * 0.7, room * 0.15
    low, high = week.packed_short * unit, week.missed * unit
    said = (f"week of {week.monday}: {week.packed_short} {PACKED_SHORT.label}, "
            f"{week.missed} {MISSED.label}")  # fmt: skip
    parts = [f"<title>{said}</title>"]
    for kind, y, tall in (("packed", base - low, low), ("missed", base - low - high, high)):
        if tall:
            parts.append(f'<rect class="{kind}" x="{x + inset:.1f}" y="{y:.1f}" '
                         f'width="{wide:.1f}" height="{tall:.1f}"/>')  # fmt: skip
    if dated:
        parts.append(f'<text class="scale" x="{x + inset:.1f}" y="{HEIGHT - 10}">'
                     f"{week.monday:%d %b}</text>")  # fmt: skip
    return f"<g>{''.join(parts)}</g>"
