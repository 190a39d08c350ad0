"""Where a label sticks on the film of a bag, to scale: over nothing that must be seen or opened."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from assembly.rules.drawing.pieces import free_spot
from assembly.rules.drawing.shapes import Outline, Polyline, Rect, Shape, bounds
from assembly.rules.findings import Show

Size = tuple[float, float]
"""Width and height of a label, in mm."""
CLEAR_MM = 1.5
"""From the label to a seal, the indicator or the instrument. Our own."""
UNSAID = "Label: on the film, not over a seal, the peel end, the indicator or the instrument."


def place_of_label(
    label: Size, margin: Rect, inside: Rect, obstacles: Sequence[Outline]
) -> Rect | None:
    """Where a label lies, across the bag or along it; None where there is no such place.

    First the ``margin`` outside the seal at the fill end, which is best (ST79 8.3.2 as quoted by
    OSAP 2015), then the film ``inside`` the seals beside the ``obstacles``, the fill end first.
    """
    wide, high = label
    ways = ((high, wide), (wide, high))
    for along, across in ways:
        if spot := _within(margin, along, across):
            return spot
    for along, across in ways:
        for room in _beside(inside, obstacles):
            if spot := _within(room, along, across):
                return spot
        film = Rect(inside.x + CLEAR_MM, inside.y + CLEAR_MM, inside.width - 2 * CLEAR_MM,
                    inside.height - 2 * CLEAR_MM, "")  # fmt: skip
        near = (inside.x, inside.y + inside.height / 2)
        if at := free_spot(film, along, across, near, obstacles, CLEAR_MM):
            return Rect(*at, along, across, "label", 0.8)
    return None


def _beside(inside: Rect, obstacles: Sequence[Outline]) -> Iterator[Rect]:
    """The film before, below, above and behind all that is to be seen."""
    if not obstacles:
        yield inside
        return
    left, top, right, bottom = bounds(obstacles)
    end, floor = inside.x + inside.width, inside.y + inside.height
    yield Rect(inside.x, inside.y, left - inside.x, inside.height, "")
    yield Rect(inside.x, bottom, inside.width, floor - bottom, "")
    yield Rect(inside.x, inside.y, inside.width, top - inside.y, "")
    yield Rect(right, inside.y, end - right, inside.height, "")


def _within(room: Rect, along: float, across: float) -> Rect | None:
    """The label in the middle of a room."""
    if along + 2 * CLEAR_MM > room.width or across + 2 * CLEAR_MM > room.height:
        return None
    x, y = room.x + (room.width - along) / 2, room.y + (room.height - across) / 2
    return Rect(x, y, along, across, "label", 0.8)


def drawn_label(place: Rect) -> list[Shape]:
    """The label with lines on it, as if written on, the way it is read."""
    rows = (0.25, 0.5, 0.75)
    if place.width >= place.height:
        left, right = place.x + place.width * 0.1, place.x + place.width * 0.8
        lines = [((left, y), (right, y)) for y in (place.y + place.height * at for at in rows)]
    else:
        top, bottom = place.y + place.height * 0.1, place.y + place.height * 0.8
        lines = [((x, top), (x, bottom)) for x in (place.x + place.width * at for at in rows)]
    return [place, *(Polyline(line, "detail") for line in lines)]


def label_words(label: Size | None, place: Rect | None, show: Show) -> str:
    """What the caption says of the label."""
    if label is None:
        return UNSAID
    size = " by ".join(show(side, "mm") for side in label)
    if place:
        return f"Lined: the label, {size}."
    return (f"Label of {size}: no place beside the instrument. Take a smaller one, or stick it "
            "over the handles, never over tips or indicator.")  # fmt: skip
