"""A card as one page: drawing, sections, sources, lines to sign.

Type and drawing shrink together until the page holds everything; when it does not at the
smallest sizes allowed, the card is not printed. Nothing flows on to a second page.
"""

from __future__ import annotations

import io
from collections.abc import Iterator
from dataclasses import replace

from reports.documents.cards import Card
from reports.drawing.cards.parts import Sizes, Writer, foot_pieces, head_pieces, section_pieces
from reports.drawing.cards.pictures import (
    GUTTER,
    SCENE_SHARES,
    grid,
    is_narrow,
    life_sized,
    picture_pieces,
    shares,
    side_by_side,
)
from reports.drawing.files import new_canvas, paper_points
from reports.drawing.fitting import PrintRefused
from reports.drawing.fonts import Face
from reports.drawing.measures import points
from reports.drawing.painting import Piece, stacked

SIDE_SHARE, LEAST_SIDE = 0.055, points(9.0)
STEPS = 16
BESIDE, MORE_BESIDE = 0.5, 1.15
FEWER = "This paper has no room for all layers: the page of the set shows them."
NONE = "No drawing: this paper has no room for it."
SMALL_PAPER = Sizes((17.0, 11.0), (9.5, 6.75), (6.5, 5.5))
LARGE_PAPER = Sizes((44.0, 18.0), (25.0, 9.0), (10.0, 7.0))
SIZES = {"A4": LARGE_PAPER, "letter": LARGE_PAPER, "A5": SMALL_PAPER, "half letter": SMALL_PAPER}


def draw_card(card: Card, paper: str = "A5") -> bytes:
    """``card`` on one page; PrintRefused when it does not fit or cannot be shown."""
    size = paper_points(paper)
    side = max(LEAST_SIDE, size[0] * SIDE_SHARE)
    body, foot = _plan(card, SIZES[paper], size[0] - 2 * side, size[1] - 2 * side)
    out = io.BytesIO()
    canvas = new_canvas(out, size, f"{card.title} {card.code}".strip())
    canvas.setStrokeGray(0)
    body.paint(canvas, side, size[1] - side)
    foot.paint(canvas, side, side + foot.height)
    canvas.showPage()
    canvas.save()
    return out.getvalue()


def _plan(card: Card, sizes: Sizes, width: float, height: float) -> tuple[Piece, Piece]:
    """The card with all its drawings; with fewer, and a word on it, where they find no room."""
    folds = tuple(scene for scene in card.scenes[1:] if not scene.layer)
    fewer = (card.scenes, (*card.scenes[:1], *folds), card.scenes[:1], ())
    for scenes in dict.fromkeys(fewer):
        note = "" if scenes == card.scenes else FEWER if scenes else NONE
        shown = replace(card, scenes=scenes, scene_note=f"{card.scene_note} {note}".strip())
        try:
            return _fitted(shown, sizes, width, height)
        except PrintRefused:
            if not scenes:
                raise
    raise AssertionError("the last try returns or raises")


def _fitted(card: Card, sizes: Sizes, width: float, height: float) -> tuple[Piece, Piece]:
    """The largest drawing and type that fit on the page together."""
    for share in shares(card, width, height):
        for step in range(STEPS + 1):
            writer = Writer(sizes, step / STEPS, width)
            try:
                top = stacked([*head_pieces(card, writer), *_body(card, writer, height * share)])
                foot = stacked(list(foot_pieces(card, writer)))
            except PrintRefused:
                if step == STEPS and share in (0.0, SCENE_SHARES[-1]):
                    raise
                continue
            if top.height + foot.height <= height:
                return top, foot
    raise PrintRefused("card", "it says more than one page holds. Take larger paper.")


def _body(card: Card, writer: Writer, room: float) -> Iterator[Piece]:
    """The drawings and the sections; beside a drawing that is not wide stands the next of them."""
    sections, scenes = card.sections, card.scenes
    if len(scenes) > 1:
        yield from grid(scenes, writer, room * MORE_BESIDE)
    elif scenes and not life_sized(scenes[0], writer, room) and is_narrow(scenes[0]):
        left = replace(writer, width=writer.width * BESIDE)
        right = replace(writer, width=writer.width * (1 - BESIDE) - GUTTER)
        picture = stacked(list(picture_pieces(scenes[0], (), left, room * MORE_BESIDE)))
        beside = stacked(list(section_pieces(sections[0], right)))
        yield side_by_side([picture, beside], left.width + GUTTER)
        sections = sections[1:]
    elif scenes:
        yield from picture_pieces(scenes[0], (), writer, room)
    if card.scene_note:
        yield writer.words("drawing", card.scene_note, Face.SEMIBOLD, writer.sizes.small)
    for section in sections:
        yield from section_pieces(section, writer)
