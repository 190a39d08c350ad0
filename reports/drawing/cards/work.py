"""A work card: one page in two columns, read at arm's length.

A wide drawing stands over both columns, as large as there is room; any other begins the first.
Type and drawing give way together; nothing gets smaller than what is read at arm's length.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace

from assembly.rules.drawing.shapes import Scene
from reports.documents.cards import Card
from reports.drawing.cards.cards import STEPS, TOO_LONG, on_one_page
from reports.drawing.cards.parts import (
    Sizes,
    Writer,
    control_rule,
    head_pieces,
    section_pieces,
)
from reports.drawing.cards.pictures import is_wide, picture_pieces
from reports.drawing.fitting import PrintRefused
from reports.drawing.fonts import Face
from reports.drawing.measures import points
from reports.drawing.painting import Piece, side_by_side, stacked

AT_ARMS_LENGTH = Sizes((26.0, 16.0), (14.0, 10.0), (12.0, 10.0))
GUTTER = points(6.0)
LIFE_SHARE, SHARES = 0.55, (0.42, 0.36, 0.30, 0.26, 0.22)
"""Of the page's height, for a drawing over both columns; the first for one as large as life."""
NOT_ALL = "Not all is drawn: the page of the set shows the rest."
NONE = "No drawing: this paper has no room for it."


@dataclass(frozen=True, slots=True)
class _Way:
    """How far type has shrunk, from 0 to 1, and the height (points) of a drawing over both
    columns; None for drawings in a column."""

    shrink: float
    room: float | None
    rank: float


def draw_work_card(card: Card, paper: str = "A4") -> bytes:
    """``card`` on one page; PrintRefused when it does not fit or cannot be shown."""
    return on_one_page(card, paper, _plan)


def _plan(card: Card, width: float, height: float) -> tuple[Piece, Piece]:
    """The card with all its drawings; with fewer, and a word on it, where they find no room."""
    for scenes, note in _fewer_and_fewer(card.scenes):
        shown = replace(card, scenes=scenes, scene_note=f"{card.scene_note} {note}".strip())
        ways = _ways(scenes, width, height)
        try:
            smallest = _set(shown, ways[-1], width, height)
        except PrintRefused:
            if scenes:
                continue
            raise
        for way in ways[:-1]:
            with suppress(PrintRefused):
                return _set(shown, way, width, height)
        return smallest
    raise AssertionError("the last try returns or raises")


def _fewer_and_fewer(scenes: tuple[Scene, ...]) -> Iterator[tuple[tuple[Scene, ...], str]]:
    """All drawings; then without the layers from the top down; then none. Each with its note."""
    yield scenes, ""
    layers = [scene for scene in scenes if scene.layer]
    others = tuple(scene for scene in scenes if not scene.layer)
    for count in range(len(layers) - 1, 0, -1):
        note = f"{count} of {len(layers)} layers drawn: the page of the set shows all."
        yield (*layers[:count], *others), note
    if len(scenes) > 1:
        yield scenes[:1], NOT_ALL
    if scenes:
        yield (), NONE


def _set(card: Card, way: _Way, width: float, height: float) -> tuple[Piece, Piece]:
    """The card set in one way; PrintRefused where it does not fit."""
    writer = Writer(AT_ARMS_LENGTH, way.shrink, width)
    foot = control_rule(writer, card.foot)
    top = list(head_pieces(card, writer))
    if way.room is not None:
        top += picture_pieces(card.scenes, writer, way.room)
    left = height - foot.height - writer.gap - sum(piece.height for piece in top)
    two = _two_columns(card, writer, left, drawn=way.room is not None)
    if two.height > left:
        raise TOO_LONG
    return stacked([*top, two]), foot


def _ways(scenes: Sequence[Scene], width: float, height: float) -> list[_Way]:
    """Every way to set the card, the best first: what has given way most decides."""
    rooms: list[float | None] = []
    if len(scenes) == 1:
        (scene,) = scenes
        if points(scene.width) <= width and points(scene.height) <= height * LIFE_SHARE:
            rooms.append(height * LIFE_SHARE)
        rooms += [height * share for share in SHARES if is_wide(scene)]
    rooms.append(None)
    found = [
        _Way(step / STEPS, room, max(step / STEPS, n / len(rooms)))
        for step in range(STEPS + 1)
        for n, room in enumerate(rooms)
    ]
    return sorted(found, key=lambda way: (way.rank, way.shrink))


def _two_columns(card: Card, writer: Writer, room: float, *, drawn: bool) -> Piece:
    """The sections after the drawings, where those are not ``drawn`` already, in two columns."""
    column = replace(writer, width=(writer.width - GUTTER) / 2)
    pieces = [] if drawn else list(picture_pieces(card.scenes, column, room))
    if card.scene_note:
        small = writer.sizes.small
        pieces.append(column.words("drawing", card.scene_note, Face.SEMIBOLD, small))
    starts = []
    for section in card.sections:
        starts.append(len(pieces))
        made = list(section_pieces(section, column))
        pieces += [stacked(made[:2]), *made[2:]] if made else []
    return _in_two(pieces, starts, room, column.width + GUTTER)


def _in_two(pieces: Sequence[Piece], starts: Collection[int], room: float, shift: float) -> Piece:
    """The pieces in two columns: parted before a section where both have ``room`` so, else
    wherever the higher of the two is lowest."""
    parted = {
        n: side_by_side([stacked(pieces[:n]), stacked(pieces[n:])], shift)
        for n in range(1, len(pieces) + 1)
    }
    whole = [two for n, two in parted.items() if n in starts and two.height <= room]
    return min(whole or parted.values(), key=lambda two: two.height)
