"""A card as one page: sections under each other, sources, lines to sign.

Type shrinks until the page holds everything; when it does not at the smallest size allowed, the
card is not printed. Nothing flows on to a second page.
"""

from __future__ import annotations

import io
from collections.abc import Callable

from reports.documents.cards import Card
from reports.drawing.cards.parts import (
    Sizes,
    Writer,
    foot_pieces,
    head_pieces,
    section_pieces,
)
from reports.drawing.files import new_canvas, paper_points
from reports.drawing.fitting import PrintRefused
from reports.drawing.painting import Piece, stacked

SIDE_SHARE = 0.055
STEPS = 16
TOO_LONG = PrintRefused("card", "it says more than one page holds. Take larger paper.")
ON_THE_WALL = Sizes((44.0, 18.0), (25.0, 9.0), (10.0, 7.0))

Plan = Callable[[Card, float, float], tuple[Piece, Piece]]
"""What stands at the top of a page so wide and high (points), and what at its foot."""


def draw_card(card: Card, paper: str = "A4") -> bytes:
    """``card`` on one page; PrintRefused when it does not fit or cannot be shown."""
    return on_one_page(card, paper, _plan)


def on_one_page(card: Card, paper: str, plan: Plan) -> bytes:
    """The page that ``plan`` makes of ``card``."""
    size = paper_points(paper)
    side = size[0] * SIDE_SHARE
    body, foot = plan(card, size[0] - 2 * side, size[1] - 2 * side)
    out = io.BytesIO()
    canvas = new_canvas(out, size, f"{card.title} {card.code}".strip())
    canvas.setStrokeGray(0)
    body.paint(canvas, side, size[1] - side)
    foot.paint(canvas, side, side + foot.height)
    canvas.showPage()
    canvas.save()
    return out.getvalue()


def _plan(card: Card, width: float, height: float) -> tuple[Piece, Piece]:
    """The card in the largest type in which it fits."""
    refused = TOO_LONG
    for step in range(STEPS + 1):
        writer = Writer(ON_THE_WALL, step / STEPS, width)
        try:
            said = [one for section in card.sections for one in section_pieces(section, writer)]
            top = stacked([*head_pieces(card, writer), *said])
            foot = stacked(list(foot_pieces(card, writer)))
        except PrintRefused as problem:
            refused = problem
            continue
        if top.height + foot.height <= height:
            return top, foot
    raise refused
