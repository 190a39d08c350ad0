"""Lines of a count sheet as blocks: stringers, single pieces, what is not measured."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import affinity, box, unary_union

from assembly.rules.deciding.set_facts import SetLine
from assembly.rules.layers.blocks import Block, Room, blocks_of, boxes_mm3, leaning
from catalog.vocabulary import Form
from tests.rules.given import instrument, policy

ROOM = Room(long=480, wide=250, high=50)


def line(quantity: int, *sizes: float | None, **more: object) -> SetLine:
    return SetLine(quantity=quantity, instrument=instrument(*sizes, **more))  # type: ignore[arg-type]


def clamps(quantity: int, length: float = 140, **more: object) -> SetLine:
    facts = {"form": Form.RINGS, "hinged": True, "width_open_mm": 94.0, "name": "Crile forceps"}
    return line(quantity, length, 68, 11, 40, **facts | more)


def found(*lines: SetLine, levels: int = 1) -> tuple[Block, ...]:
    return blocks_of(lines, ROOM, levels, policy())[0]


def test_ring_handled_ones_are_one_block_as_long_as_the_longest():
    (block,) = found(clamps(8), clamps(2, length=180))
    assert (block.length_mm, block.height_mm, block.weight_g) == (180, 50, 400)
    assert block.holds == ((1, 8), (2, 2))


def test_standing_they_are_as_wide_as_the_sum_of_their_thicknesses():
    (block,) = blocks_of([clamps(8)], Room(long=480, wide=250, high=94), 1, policy())[0]
    assert (block.width_mm, block.height_mm) == (88, 94)


def test_what_is_not_ring_handled_is_a_block_each():
    assert [one.key for one in found(line(2, 200, 12, 14), clamps(3))] == ["s1", "1.1", "1.2"]


def test_a_long_shaft_with_rings_goes_on_no_stringer():
    shafts = clamps(2, length=440, name="Laparoscopic grasper")
    assert all(not one.key.startswith("s") for one in found(shafts))


def test_more_than_go_beside_each_other_are_several_stringers():
    blocks = found(clamps(30))
    assert sum(pieces for one in blocks for _, pieces in one.holds) == 30
    assert len(blocks) > 1 and all(one.width_mm <= ROOM.long for one in blocks)


def test_the_longest_go_on_one_stringer():
    assert [one.length_mm for one in found(clamps(14), clamps(14, length=180))] == [180, 140]


def test_one_alone_lies_flat_and_open():
    (block,) = found(clamps(1))
    assert (block.key, block.width_mm, block.height_mm) == ("1.1", 94, 11)


def test_one_that_is_not_weighed_leaves_the_weight_of_all_unknown():
    (block,) = found(clamps(3), _unweighed())
    assert block.weight_g is None


def _unweighed() -> SetLine:
    facts = {"form": Form.RINGS, "hinged": True, "width_open_mm": 94.0}
    return line(1, 140, 68, 11, None, name="Kelly forceps", **facts)


@pytest.mark.parametrize("sizes", [(None, 20, 9), (200, None, 9), (200, 20, None)])
def test_an_unknown_size_is_named_and_is_no_block(sizes):
    blocks, unknown = blocks_of([line(1, *sizes, name="Hook")], ROOM, 1, policy())
    assert (blocks, unknown) == ((), ("Hook",))


@given(st.integers(2, 20), st.floats(30, 120), st.floats(2, 20), st.floats(21, 150))
def test_leaning_plates_are_no_higher_and_no_wider_than_said(count, width, thick, high):
    """The referee: the plates drawn from the side by shapely, each leaning on the one before."""
    across, tall = leaning([(width, thick)] * count, high)
    angle = math.asin(min(high / math.hypot(width, thick), 1)) - math.atan2(thick, width)
    angle = math.pi / 2 if width <= high else angle
    plate = affinity.rotate(box(0, 0, width, thick), math.degrees(angle), origin=(0, 0))
    each = [affinity.translate(plate, n * thick / math.sin(angle)) for n in range(count)]
    left, bottom, right, top = unary_union(each).bounds
    assert right - left <= across + 0.01
    assert top - bottom <= tall + 0.01 <= high + 0.02
    assert all(one.intersection(other).area < 0.1 for one, other in pairwise(each))


def test_what_is_thicker_than_there_is_room_leans_nowhere():
    assert leaning([(80, 20)], 15)[0] == math.inf


@given(st.integers(1, 20), st.integers(1, 9), st.floats(60, 200), st.sampled_from([1, 2, 3]))
def test_blocks_never_take_less_than_the_boxes_of_their_pieces(some, others, length, levels):
    lines = [clamps(some), clamps(others, length=length), line(2, 200, 12, 14)]
    blocks, _ = blocks_of(lines, ROOM, levels, policy())
    taken = sum(one.length_mm * one.width_mm * one.height_mm for one in blocks)
    assert taken >= boxes_mm3(lines, policy()) * (1 - 1e-9)


def test_boxes_are_counted_piece_by_piece_and_open():
    lines = [clamps(3), line(2, 200, 12, 14), line(1, None, 20, 9)]
    by_hand = 3 * 140 * 94 * 11 + 2 * 200 * 12 * 14
    assert boxes_mm3(lines, policy()) == by_hand
