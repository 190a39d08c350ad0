"""A layer drawn from above: each block where it lies, its label on it, what is marked."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from assembly.rules.drawing.shapes import (
    LINE,
    Polygon,
    Polyline,
    Rect,
    Scene,
    Text,
    bounds,
    points_of,
)  # fmt: skip
from assembly.rules.layers.blocks import Room
from assembly.rules.layers.laid import Asked
from assembly.rules.layers.layout import Layout, Place
from assembly.rules.layers.moving import kept
from assembly.rules.layers.scene import ABOVE, MARGIN, corner_of, here_scene, layer_scene
from tests.rules.given import policy
from tests.rules.layers.test_blocks import line
from tests.rules.layers.test_layout import block

ROOM = Room(long=480, wide=250, high=50)
FLAT = Place(replace(block(1, 100, 50), holds=((1, 1),)), 0, 0)
ACROSS = Place(replace(block(2, 80, 20), holds=((2, 1),)), 200, 0, across=True)
STRINGER = Place(replace(block(3, 60, 40), key="s1", name="Stringer 1", holds=((3, 4),)), 0, 100)
LAYOUT = Layout(ROOM, ((FLAT, ACROSS, STRINGER), (Place(block(4, 300, 100, 12), 20, 30),)))
LEFT, TOP, TEXT = corner_of(LAYOUT)


def of(scene: Scene, role: str) -> list[Polygon]:
    return [one for one in scene.shapes if isinstance(one, Polygon) and one.role == role]


def labels(layout: Layout) -> dict[str, tuple[float, float]]:
    """Where each label stands in the room (mm), its baseline in letters lowered again."""
    found = [one for one in layer_scene(layout, 1).shapes if isinstance(one, Text)]
    return {one.words: (one.x - LEFT, one.y - TOP - 0.35 * TEXT) for one in found[1:]}


def test_a_scene_is_so_many_letters_wide_with_the_title_over_the_floor() -> None:
    scene = layer_scene(LAYOUT, 1)
    assert (scene.width, scene.height) == pytest.approx(
        (LINE * TEXT, 250 + (ABOVE + MARGIN) * TEXT)
    )
    title, floor = scene.shapes[:2]
    assert floor == Rect(LEFT, TOP, 480, 250, "tray", 6.0)
    assert isinstance(title, Text) and title.y == pytest.approx(TOP - TEXT / 2)


@pytest.mark.parametrize(
    ("n", "title", "legend"),
    [(1, "layer 1, bottom: 10 mm high, 7 % full", 1), (2, "layer 2: 12 mm high, 25 % full", 0)],
)
def test_a_layer_says_which_it_is_how_high_and_how_full(n: int, title: str, legend: int) -> None:
    """By hand: 100 x 50 + 20 x 80 + 60 x 40 = 9,000, and 30,000, of 120,000 mm²."""
    scene = layer_scene(LAYOUT, n)
    first = scene.shapes[0]
    assert isinstance(first, Text)
    assert (first.words, len(scene.legend), scene.layer) == (title, legend, n)


def test_each_block_is_drawn_where_it_lies_from_the_back_on() -> None:
    found = [bounds([one]) for one in of(layer_scene(LAYOUT, 1), "piece")]
    lies = [(0, 0, 100, 50), (200, 0, 220, 80), (0, 100, 60, 140)]
    assert found == [pytest.approx((LEFT + a, TOP + b, LEFT + c, TOP + d)) for a, b, c, d in lies]


def test_the_block_that_is_chosen_is_marked() -> None:
    (marked,) = of(layer_scene(LAYOUT, 1, chosen="002"), "chosen")
    assert bounds([marked])[0] == pytest.approx(LEFT + 200)


def test_labels_stand_along_their_blocks_at_the_half_a_fifth_and_four_fifths() -> None:
    """By hand: 100 / 2; 80 / 5 across; 0.8 · 60."""
    assert labels(LAYOUT) == {
        "001": pytest.approx((50, 25)), "002": pytest.approx((210, 16)),
        "S1": pytest.approx((48, 120)),
    }  # fmt: skip


def test_a_square_block_has_its_label_along_it_from_the_back() -> None:
    square = Layout(ROOM, ((FLAT, Place(block(5, 50, 50), 200, 0)),))
    assert labels(square)["005"] == pytest.approx((225, 10))


def test_what_lies_diagonally_has_its_label_in_its_middle() -> None:
    askew = Place(block(5, 200, 50), 100, 20, angle=math.pi / 4)
    assert labels(Layout(ROOM, ((FLAT, askew),)))["005"] == pytest.approx(askew.middle)


def test_lines_part_the_pieces_of_a_stringer() -> None:
    """Four pieces on 40 mm across: at 10, 20 and 30 mm, from end to end."""
    found = [one for one in layer_scene(LAYOUT, 1).shapes if isinstance(one, Polyline)]
    assert [bounds([one]) for one in found] == [
        pytest.approx((LEFT, TOP + 100 + y, LEFT + 60, TOP + 100 + y)) for y in (10, 20, 30)
    ]


@pytest.mark.parametrize("place", [FLAT, replace(FLAT, across=True), replace(FLAT, angle=0.5)])
def test_the_outline_of_a_piece_lies_in_its_box(place: Place) -> None:
    """Known by its box turned back: within half its length and width of its middle."""
    place = replace(place, x=90, y=60)
    asked = Asked((line(1, 100, 50, 10),), None, policy())
    scene = layer_scene(Layout(ROOM, ((place,),)), 1, asked)
    outlines = [one for one in scene.shapes if isinstance(one, Polygon | Polyline)][1:]
    turn = -place.angle - (math.pi / 2 if place.across else 0)
    (x, y), cos, sin = place.middle, math.cos(turn), math.sin(turn)
    points = [(px - LEFT - x, py - TOP - y) for one in outlines for px, py in points_of(one)]
    turned = [(a * cos - b * sin, a * sin + b * cos) for a, b in points]
    assert [max(abs(one[n]) for one in turned) for n in (0, 1)] == pytest.approx([50, 25], abs=0.1)


def test_with_outlines_the_blocks_are_no_more_than_boxes() -> None:
    asked = Asked((line(1, 100, 50, 10),), None, policy())
    scene = layer_scene(Layout(ROOM, ((FLAT,),)), 1, asked)
    assert (len(of(scene, "box")), len(of(scene, "piece"))) == (1, 0)


class TestHere:
    PLAN = kept(LAYOUT, "basket B", 1)

    def test_the_floor_has_a_hundredth_of_its_length_round_it(self) -> None:
        scene = here_scene(self.PLAN, 1)
        assert scene is not None
        assert (scene.width, scene.height, scene.lettering) == pytest.approx(
            (489.6, 259.6, 480 / LINE)
        )
        assert scene.shapes[0] == Rect(4.8, 4.8, 480, 250, "tray", 6.0)

    def test_what_holds_the_line_is_marked_and_drawn_last(self) -> None:
        scene = here_scene(self.PLAN, 2)
        assert scene is not None and scene.layer == 1
        last = scene.shapes[-1]
        assert isinstance(last, Polygon) and last.role == "chosen"
        assert bounds([last]) == pytest.approx((204.8, 4.8, 224.8, 84.8))
        assert [one.role for one in of(scene, "piece")] == ["piece", "piece"]

    def test_the_layer_is_the_lowest_that_holds_it(self) -> None:
        above = Layout(ROOM, ((ACROSS,), (FLAT,), (replace(FLAT, x=200),)))
        scene = here_scene(kept(above, "basket B", 1), 1)
        assert scene is not None and (scene.layer, scene.title) == (2, "Layer 2 from above")

    def test_a_line_that_lies_nowhere_has_no_drawing(self) -> None:
        assert here_scene(self.PLAN, 9) is None
