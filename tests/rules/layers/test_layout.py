"""Boxes in layers: worked counts; disjoint and inside, as another library sees it."""

from __future__ import annotations

import math
import random
from itertools import combinations, permutations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import Polygon, box

from assembly.rules.facts.checks import FactsError
from assembly.rules.layers.blocks import Block, Room
from assembly.rules.layers.layout import Layout, Place, arrange, quarters, tallest
from assembly.rules.limits.plans import angle_in, fits_at_any_angle
from tests.bench.rules.layout import least_layers

ROOM = Room(long=480, wide=250, high=50)
TOUCH = 1.0
"""mm²: what the rounding of a hundredth of a millimetre along 100 mm comes to."""


def block(
    n: int, length: float, width: float, height: float = 10, grams: float | None = 10
) -> Block:
    return Block(key=f"{n:03}", name=f"piece {n}", length_mm=length, width_mm=width,
                 height_mm=height, weight_g=grams)  # fmt: skip


def alike(count: int, length: float, width: float, **more: float) -> list[Block]:
    return [block(n, length, width, **more) for n in range(count)]


def shape(place: Place) -> Polygon:
    return Polygon(place.corners)


def check(layout: Layout, gap: float = 0.0) -> None:
    """The referee: every piece inside, none on another, by shapely's areas alone."""
    floor = box(0, 0, layout.room.long, layout.room.wide).buffer(0.02)
    for layer in layout.layers:
        assert all(floor.covers(shape(one)) for one in layer)
        for one, other in combinations(layer, 2):
            assert shape(one).intersection(shape(other)).area < TOUCH
            assert shape(one).distance(shape(other)) > gap - 0.05


blocks = st.lists(
    st.tuples(st.floats(5, 560), st.floats(3, 250), st.floats(1, 55)), min_size=1, max_size=14
).map(lambda sizes: [block(n, *one) for n, one in enumerate(sizes)])


@pytest.mark.parametrize(
    ("count", "length", "width", "gap", "in_first", "fill", "layers"),
    [  # worked by hand: how many go into 480 x 250 mm, and the floor that they take
        (4, 240, 125, 0, 4, 1.000, 1),  # an exact tiling, which single heuristics miss
        (12, 160, 60, 0, 12, 0.960, 1),
        (6, 200, 100, 0, 4, 0.667, 2),  # by their areas one layer would do
        (2, 300, 130, 0, 1, 0.325, 2),
        (4, 230, 117, 5, 4, 0.897, 1),
        (1, 480, 250, 3, 1, 1.000, 1),  # as large as the basket: the gap is at no wall
    ],
)
def test_worked_layouts(count, length, width, gap, in_first, fill, layers):
    found = arrange(alike(count, length, width), ROOM, gap)
    assert (len(found.layers[0]), len(found.layers)) == (in_first, layers)
    assert found.fills[0] == pytest.approx(fill, abs=0.0005)
    check(found, gap)


def test_areas_bound_the_layers_from_below():
    assert least_layers(alike(6, 200, 100), ROOM, 0) == 1  # worked by hand: 120,000 mm² of 120,000
    assert least_layers(alike(7, 200, 100), ROOM, 0) == 2


def test_what_is_too_long_lies_diagonally_alone():
    found = arrange([block(1, 520, 20), *alike(2, 100, 50)], ROOM, 0)
    (diagonal,) = (layer for layer in found.layers if any(one.angle for one in layer))
    assert [one.block.key for one in diagonal] == ["001"]
    assert not found.over
    check(found)


def test_what_lies_diagonally_reaches_along_and_across():
    """By hand at 30°: 200 cos + 50 sin = 198.2 and 200 sin + 50 cos = 143.3 mm."""
    place = Place(block(1, 200, 50), 0, 0, angle=math.radians(30))
    assert (place.length, place.width) == pytest.approx((198.205, 143.301), abs=0.001)


def test_what_goes_in_at_no_angle_is_left_over():
    assert [one.key for one in arrange([block(1, 530, 20)], ROOM, 0).over] == ["001"]


def test_a_piece_higher_than_the_room_is_left_over():
    assert arrange([block(1, 100, 20, 51)], ROOM, 0).over


@given(st.floats(20, 620), st.floats(3, 260), st.floats(100, 500), st.floats(100, 500))
def test_the_angle_serves_and_a_scan_of_angles_finds_no_other_answer(p, q, long, wide):
    """The referee: 2,001 angles, each tried by its sine and cosine."""

    def serves(angle: float, free: float) -> bool:
        cos, sin = math.cos(angle), math.sin(angle)
        return p * cos + q * sin <= long + free and p * sin + q * cos <= wide + free

    angle = angle_in(p, q, long, wide)
    assert (angle is not None) == fits_at_any_angle(p, q, long, wide)
    if angle is not None:
        assert serves(angle, 0.05)
    else:
        assert not any(serves(n / 2000 * math.pi / 2, -0.05) for n in range(2001))


@given(blocks, st.sampled_from([0.0, 3.0]))
def test_nothing_lies_on_anything_or_outside_and_all_of_it_is_somewhere(some, gap):
    found = arrange(some, ROOM, gap)
    check(found, gap)
    lying = [one.block.key for layer in found.layers for one in layer]
    assert sorted([*lying, *(one.key for one in found.over)]) == [one.key for one in some]
    assert found.height <= ROOM.high + 0.01
    assert all(fill <= 1.001 for fill in found.fills)


@given(blocks, st.randoms())
def test_the_order_of_the_pieces_changes_nothing(some, chance: random.Random):
    other = chance.sample(some, len(some))
    assert arrange(some, ROOM, 3) == arrange(other, ROOM, 3)


def test_the_tallest_lies_lowest_and_of_equally_tall_ones_the_heaviest():
    some = [block(1, 470, 240, 5, 10), block(2, 470, 240, 6, 300), block(3, 470, 240, 30, 20)]
    found = arrange(some, ROOM, 0)
    assert [layer[0].block.key for layer in found.layers] == ["003", "002", "001"]
    assert [tallest(layer) for layer in found.layers] == [30, 6, 5]


def test_only_as_many_layers_as_the_room_is_high():
    found = arrange(alike(3, 470, 240, height=20), ROOM, 0)
    assert (len(found.layers), len(found.over)) == (2, 1)


class TestCorners:
    def test_a_piece_in_one_corner_is_borne_there(self):
        assert quarters(Place(block(1, 100, 100), 0, 0), ROOM) == (1, 0, 0, 0)

    def test_a_piece_in_the_middle_is_borne_by_all(self):
        assert quarters(Place(block(1, 100, 50), 190, 100), ROOM) == pytest.approx((0.25,) * 4)

    def test_a_diagonal_one_by_the_two_that_it_runs_through(self):
        (layer,) = arrange([block(1, 520, 20)], ROOM, 0).layers
        assert quarters(layer[0], ROOM) == pytest.approx((0.5, 0, 0, 0.5))

    @given(blocks)
    def test_shares_sum_up_to_all_of_it(self, some):
        found = arrange(some, ROOM, 3)
        if found.layers:
            assert sum(found.corner_shares) == pytest.approx(1)

    def test_layers_are_mirrored_so_that_no_corner_bears_it_all(self):
        found = arrange(alike(4, 470, 240, height=10), Room(long=960, wide=500, high=50), 0)
        thick = arrange([block(n, 900, 20, 16 - n, 500) for n in range(2)],
                        Room(long=960, wide=30, high=50), 0)  # fmt: skip
        assert max(found.corner_shares) < 0.3
        assert max(thick.corner_shares) < 0.3


def test_a_size_of_nothing_is_refused():
    with pytest.raises(FactsError, match="width_mm"):
        block(1, 100, 0)


def test_pieces_alike_go_in_whatever_their_numbers():
    assert {len(arrange([block(n, 240, 125) for n in one], ROOM, 0).layers)
            for one in permutations(range(4))} == {1}  # fmt: skip
