"""A layout changed by hand: inside, on nothing, under the rim; kept and read back."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assembly.rules.findings import CLOSE_MM
from assembly.rules.layers.blocks import Room
from assembly.rules.layers.layout import Layout, Place, arrange
from assembly.rules.layers.moving import (
    NoRoomError,
    here,
    inside,
    kept,
    moved,
    overlap,
    read,
    stepped,
    where,
)
from tests.rules.layers.test_layout import alike, block, check, shape

ROOM = Room(long=480, wide=250, high=50)
SOME = [*alike(5, 120, 60), block(7, 520, 12)]


@pytest.fixture
def layout() -> Layout:
    return arrange(SOME, ROOM, 3)


def place(layout: Layout, key: str) -> tuple[int, Place]:
    found = layout.place_of(key)
    assert found
    return found


def test_a_free_place_is_taken_as_it_was_tapped(layout):
    layer, lies = place(moved(layout, "000", 1, 300, 180, False), "000")
    assert (layer, lies.x, lies.y) == (place(layout, "001")[0], 300, 180)


def test_a_taken_place_gives_way_to_the_nearest_free_one():
    layout = Layout(ROOM, ((Place(block(0, 100, 50), 0, 0), Place(block(1, 100, 50), 200, 0)),))
    _, lies = place(moved(layout, "001", 1, 90, 0, False), "001")
    assert (lies.x, lies.y) == (100, 0)


def test_it_is_turned_and_stays_inside(layout):
    _, lies = place(moved(layout, "000", 1, 470, 240, True), "000")
    assert lies.across and (lies.x + lies.length, lies.y + lies.width) == (480, 250)


def test_the_next_layer_after_the_top_is_new(layout):
    assert len(moved(layout, "000", len(layout.layers) + 1, 0, 0, False).layers) == 3


def test_an_empty_layer_is_gone():
    layout = Layout(ROOM, ((Place(block(0, 100, 50), 0, 0),), (Place(block(1, 100, 50), 0, 0),)))
    assert len(moved(layout, "001", 1, 200, 0, False).layers) == 1


def test_what_found_no_place_is_laid_by_hand():
    layout = Layout(ROOM, (), (block(0, 100, 50),))
    assert not moved(layout, "000", 1, 0, 0, False).over


def test_what_lies_diagonally_keeps_its_angle(layout):
    before = place(layout, "007")[1]
    assert place(moved(layout, "007", len(layout.layers) + 1, 0, 0, True), "007")[1] == before


@pytest.mark.parametrize(
    ("key", "layer", "x", "words"),
    [
        ("zzz", 1, 0.0, "There is no piece “zzz”"),
        ("000", 9, 0.0, "There is no layer 9"),
        ("000", 0, 0.0, "There is no layer 0"),
        ("000", 1, float("nan"), "finds no room"),
    ],
)
def test_what_cannot_be_is_refused_in_words(layout, key, layer, x, words):
    if x != x:
        full = arrange(alike(4, 240, 125), ROOM, 0)
        layout = replace(full, over=(block(9, 300, 200),))
        key = "009"
    with pytest.raises(NoRoomError, match=words):
        moved(layout, key, layer, x, 0, False)


def test_layers_higher_than_the_room_are_refused():
    layout = Layout(ROOM, ((Place(block(0, 470, 240, 30), 0, 0),),), (block(1, 100, 50, 30),))
    with pytest.raises(NoRoomError, match="60 mm high; there is room for 50 mm"):
        moved(layout, "001", 2, 0, 0, False)


@pytest.mark.parametrize(
    ("x", "y", "length", "width", "lies"),
    [
        (-CLOSE_MM, -CLOSE_MM, 100, 50, True),
        (-2 * CLOSE_MM, 0, 100, 50, False),
        (0, -2 * CLOSE_MM, 100, 50, False),
        (0, 0, 480 + CLOSE_MM, 250 + CLOSE_MM, True),
        (0, 0, 480 + 2 * CLOSE_MM, 250, False),
        (0, 0, 480, 250 + 2 * CLOSE_MM, False),
    ],
)
def test_inside_is_up_to_the_rounding_of_a_size(x, y, length, width, lies):
    assert inside(Place(block(0, length, width), x, y), ROOM) is lies


moves = st.lists(
    st.tuples(st.integers(0, 6), st.integers(1, 3), st.floats(-50, 500), st.floats(-50, 300),
              st.booleans()),
    max_size=6,
)  # fmt: skip


@given(moves)
def test_whatever_is_moved_nothing_lies_on_anything_or_outside(some):
    layout = arrange(SOME, ROOM, 3)
    for which, layer, x, y, across in some:
        try:
            layout = moved(layout, SOME[which % len(SOME)].key, layer, x, y, across)
        except NoRoomError:
            continue
        check(layout)
        assert layout.height <= ROOM.high


@given(st.floats(0, 1.5), st.floats(-80, 80), st.floats(-80, 80))
def test_two_lie_on_each_other_where_shapely_says_so(angle, x, y):
    one, other = Place(block(0, 100, 20), 0, 0), Place(block(1, 80, 30), x, y, angle=angle)
    area = shape(one).intersection(shape(other)).area
    if area > 2 or not area:
        assert overlap(one, other) == bool(area)


def test_what_was_kept_reads_back_as_it_was(layout):
    again = read(plan_of(layout), SOME, ROOM)
    assert [[(p.block.key, p.across) for p in one] for one in again.layers] == [
        [(p.block.key, p.across) for p in one] for one in layout.layers
    ]


def plan_of(layout: Layout) -> dict[str, Any]:
    return kept(layout, "basket B", 1)


def changed(layout: Layout, **values: object) -> dict[str, Any]:
    plan = plan_of(layout)
    first, *others = plan["places"]
    return {**plan, "places": [{**first, **values}, *others]}


@pytest.mark.parametrize(
    "values",
    [
        {"key": "zzz"}, {"sizes": [1, 2, 3]}, {"holds": [[1, 9]]}, {"x": 4000}, {"x": "far"},
        {"x": float("nan")}, {"x": float("inf")}, {"angle": float("inf")}, {"angle": -1},
        {"layer": None}, {"y": None},
    ],
)  # fmt: skip
def test_what_cannot_be_is_not_read_back(layout, values):
    with pytest.raises(NoRoomError):
        read(changed(layout, **values), SOME, ROOM)


def test_two_on_one_place_are_not_read_back(layout):
    plan = plan_of(layout)
    first, second, *others = plan["places"]
    places = [first, {**second, "x": first["x"], "y": first["y"]}, *others]
    with pytest.raises(NoRoomError, match="on another piece"):
        read({**plan, "places": places}, SOME, ROOM)


def test_another_revision_is_not_read_back(layout):
    with pytest.raises(NoRoomError, match="The record has changed"):
        read(plan_of(layout), SOME[1:], ROOM)


@pytest.mark.parametrize(
    ("x", "y", "words"),
    [(0, 0, "layer 2, left back"), (380, 200, "layer 2, right front"),
     (190, 110, "layer 2, middle"), (190, 0, "layer 2, back"), (0, 110, "layer 2, left")],
)  # fmt: skip
def test_where_it_lies_in_words(x, y, words):
    assert where(2, Place(block(0, 100, 30), x, y), ROOM) == words


def test_what_lies_diagonally_says_so(layout):
    assert where(*place(layout, "007"), ROOM).endswith("diagonally")


class TestOnePress:
    ONE = Layout(ROOM, ((Place(block(0, 100, 50), 190, 100),),), (block(9, 90, 40),))

    @pytest.mark.parametrize(
        ("step", "x", "y", "across"),
        [("left", 180, 100, False), ("right", 200, 100, False), ("back", 190, 90, False),
         ("front", 190, 110, False), ("turn", 215, 75, True)],
    )  # fmt: skip
    def test_it_moves_by_ten_millimetres_or_turns_round_its_middle(self, step, x, y, across):
        lies = place(stepped(self.ONE, "000", step), "000")[1]
        assert (lies.x, lies.y, lies.across) == (x, y, across)

    def test_a_layer_up_and_down_again(self):
        two = stepped(self.ONE, "009", "lay")
        up = stepped(two, "000", "up")
        assert place(up, "000")[0] == 2
        assert place(stepped(up, "000", "down"), "000")[0] == 1

    def test_at_the_wall_there_is_no_room_further(self):
        at_the_wall = moved(self.ONE, "000", 1, 0, 0, False)
        with pytest.raises(NoRoomError, match="no room further"):
            stepped(at_the_wall, "000", "left")

    @pytest.mark.parametrize("step", ["lay", "left"])
    def test_what_has_no_place_is_laid_by_any_press(self, step):
        lies = place(stepped(self.ONE, "009", step), "009")[1]
        assert (lies.x, lies.y) == (0, 0)

    def test_what_has_a_place_is_laid_in_the_corner(self):
        lies = place(stepped(self.ONE, "000", "lay"), "000")[1]
        assert (lies.x, lies.y) == (0, 0)

    def test_another_press_is_refused(self):
        with pytest.raises(NoRoomError, match="“fly” is no way"):
            stepped(self.ONE, "000", "fly")


class TestHere:
    def test_each_place_of_a_line_is_said_once(self):
        held = [replace(block(n, 100, 50), holds=((2, 1),)) for n in range(2)]
        plan = plan_of(Layout(ROOM, ((Place(held[0], 0, 0), Place(held[1], 0, 60)),)))
        assert here(plan, 2) == "layer 1, left back; layer 1, left"
        assert here(plan, 1) == ""

    def test_a_stringer_is_named(self):
        strung = replace(block(0, 100, 50), key="s1", holds=((1, 4), (2, 2)))
        plan = plan_of(Layout(ROOM, ((Place(strung, 0, 0),),)))
        assert here(plan, 2) == "layer 1, left back, stringer 1"
