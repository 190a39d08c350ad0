"""How many packages stand in a rack: worked by hand, counted place by place, and its properties.

The module of 300 x 300 x 600 mm is the sterilization unit of 54 L (EN 285 as reported); the gaps
are a house's own. Each number was reckoned by hand, and is counted here by setting one beside
the other until the room is full.
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assembly.rules.facts.checks import FactsError
from assembly.rules.limits.racks import (
    Grid,
    Piece,
    Shelf,
    arranged,
    boxes_on,
    pouches_on,
    why_not,
)

MODULE = Shelf(600, 300, 300)


def box(length: float, width: float, height: float) -> Piece:
    return Piece("B", length, width, height)


def pouch(width: float, length: float, thick: float) -> Piece:
    return Piece("P", length, thick, width, pouch=True)


def counted(room: float, size: float, gap: float) -> int:
    """One beside the other, a gap between them, until no more goes in: in tenths of a mm."""
    count, at = 0, 0
    while at + round(size * 10) <= round(room * 10):
        count, at = count + 1, at + round(size * 10) + round(gap * 10)
    return count


BOXES = [
    ("L1", MODULE, box(580, 280, 135), 0, 0, 2),
    ("L2", MODULE, box(580, 280, 135), 0, 25, 2),
    ("L3", MODULE, box(285, 280, 135), 10, 10, 4),
    ("L4", MODULE, box(580, 280, 260), 0, 0, 1),
    ("L5", MODULE, box(500, 270, 60), 0, 25, 3),
    ("L6", Shelf(1200, 600, 300), box(310, 160, 50), 25, 25, 36),
    ("L7", Shelf(1200, 600, 300), box(600, 300, 310), 0, 0, 0),
]
POUCHES = [
    ("L8", Shelf(480, 250, 200), pouch(100, 200, 14), 10, 20),
    ("L9", Shelf(480, 250, 200), pouch(150, 300, 14), 10, 10),
    ("L9 200 x 400", Shelf(480, 250, 250), pouch(200, 400, 25), 10, 7),
    ("L9 75 x 150", Shelf(480, 250, 200), pouch(75, 150, 10), 10, 39),
    ("L9 250 x 400", Shelf(480, 250, 250), pouch(250, 400, 40), 10, 5),
    ("L10 gap 0", Shelf(480, 250, 200), pouch(100, 200, 14), 0, 34),
    ("L10 gap 25", Shelf(480, 250, 200), pouch(100, 200, 14), 25, 14),
    ("L11", Shelf(480, 250, 250), pouch(300, 450, 30), 10, 0),
]


@pytest.mark.parametrize(
    ("shelf", "piece", "gap", "above", "count"), [one[1:] for one in BOXES],
    ids=[one[0] for one in BOXES],
)  # fmt: skip
def test_boxes_in_a_rack(shelf: Shelf, piece: Piece, gap: int, above: int, count: int) -> None:
    assert boxes_on(shelf, piece, gap, above, stacked=True).count == count
    by_hand = max(
        counted(shelf.length, a, gap) * counted(shelf.width, b, gap)
        for a, b in ((piece.length, piece.width), (piece.width, piece.length))
    )
    assert by_hand * counted(shelf.height, piece.height, above) == count


@pytest.mark.parametrize(
    ("shelf", "piece", "gap", "count"), [one[1:] for one in POUCHES],
    ids=[one[0] for one in POUCHES],
)  # fmt: skip
def test_pouches_on_edge(shelf: Shelf, piece: Piece, gap: int, count: int) -> None:
    assert pouches_on(shelf, piece, gap).count == count
    by_hand = max(
        counted(a, piece.width, gap) * counted(b, piece.length, gap)
        for a, b in ((shelf.length, shelf.width), (shelf.width, shelf.length))
    )
    assert (by_hand if piece.height <= shelf.height else 0) == count


def test_how_they_stand_is_told_too() -> None:
    """L1 1 x 1 x 2, L3 2 x 1 x 2, L6 3 x 3 x 4, L9 13 x 3."""
    assert boxes_on(MODULE, box(285, 280, 135), 10, 10, stacked=True) == Grid(2, 1, 2)
    assert boxes_on(Shelf(1200, 600, 300), box(310, 160, 50), 25, 25, stacked=True) == Grid(3, 3, 4)
    found = pouches_on(Shelf(480, 250, 200), pouch(75, 150, 10), 10)
    assert (found.along, found.across) == (13, 3)


def test_wrapped_packs_are_not_stacked_unless_it_is_said() -> None:
    assert boxes_on(MODULE, box(580, 280, 135), 0, 0, stacked=False).count == 1


def test_what_is_too_large_says_in_which_way() -> None:
    assert why_not(Shelf(1200, 600, 300), box(600, 300, 310)).startswith("310 mm high")
    assert why_not(MODULE, box(610, 200, 100)).startswith("610 mm long")
    assert why_not(MODULE, box(400, 310, 100)).startswith("310 mm wide")


@pytest.mark.parametrize("size", [0, -1])
def test_no_size_is_nothing(size: float) -> None:
    with pytest.raises(FactsError):
        box(size, 100, 100)
    with pytest.raises(FactsError):
        Shelf(100, size, 100)


sizes = st.integers(20, 400).map(float)
some = st.lists(st.tuples(st.booleans(), sizes, sizes, st.integers(5, 60).map(float)), max_size=14)


@given(a=sizes, b=sizes, c=sizes, gap=st.integers(0, 30), more=st.integers(1, 50))
def test_a_larger_piece_or_gap_never_stands_more_often(
    a: float, b: float, c: float, gap: int, more: int
) -> None:
    shelf = Shelf(600, 300, 300)
    count = boxes_on(shelf, box(a, b, c), gap, gap, stacked=True).count
    for larger in (box(a + more, b, c), box(a, b + more, c), box(a, b, c + more)):
        assert boxes_on(shelf, larger, gap, gap, stacked=True).count <= count
    assert boxes_on(shelf, box(a, b, c), gap + more, gap, stacked=True).count <= count
    assert count * a * b * c <= 600 * 300 * 300 + 1
    wider = Shelf(600 + more, 300, 300)
    assert boxes_on(wider, box(a, b, c), gap, gap, stacked=True).count >= count


@given(rows=some, gap=st.integers(0, 25))
def test_what_is_arranged_stands_on_the_shelf_and_apart(
    rows: list[tuple[bool, float, float, float]], gap: int
) -> None:
    shelf = Shelf(600, 420, 410)
    pieces = [
        Piece(f"{n}", a, thick if is_pouch else b, b if is_pouch else thick, pouch=is_pouch)
        for n, (is_pouch, a, b, thick) in enumerate(rows)
    ]
    found = arranged(pieces, shelf, gap)
    assert found is not None
    assert sorted(one.piece.code for each in found for one in each) == sorted(
        one.code for one in pieces
    )
    for each in found:
        for n, one in enumerate(each):
            assert one.x + one.length <= shelf.length and one.y + one.width <= shelf.width
            for other in each[:n]:
                apart_x = (
                    other.x + other.length + gap <= one.x or one.x + one.length + gap <= other.x
                )
                apart_y = other.y + other.width + gap <= one.y or one.y + one.width + gap <= other.y
                assert apart_x or apart_y


def test_no_shelf_bears_more_than_it_may() -> None:
    heavy = [Piece(f"{n}", 200, 100, 100, gross_g=6000) for n in range(4)]
    found = arranged(heavy, MODULE, 0, most_g=13_000)
    assert found is not None and [len(each) for each in found] == [2, 2]
