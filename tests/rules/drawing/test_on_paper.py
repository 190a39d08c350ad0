"""Whatever is drawn: it lies on its sheet, in letters in measure, folded and sealed where it is."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

import pytest
import shapely

from assembly.rules.drawing.scenes_bags import JOINT
from assembly.rules.drawing.scenes_baskets import Inside, set_scenes
from assembly.rules.drawing.scenes_racks import shelf_scene
from assembly.rules.drawing.scenes_sheets import wrap_scene
from assembly.rules.drawing.shapes import LINE, Polygon, Polyline, Scene, Shape, Text, bounds
from assembly.rules.facts.instruments import Box
from assembly.rules.facts.supplies import Wrap
from assembly.rules.limits.racks import Shelf
from tests.rules.drawing.test_laying import line
from tests.rules.drawing.test_scenes import (
    BOX,
    OUTER,
    POLICY,
    POUCH,
    ROLL,
    WRAP,
    _box,
    _line,
    rects,
    scene,
)

PACK = Box(length_mm=480, width_mm=250, height_mm=50)
WIDE = Wrap(code="W", width_mm=1000, length_mm=1200)
RIGID = Inside("C", Box(length_mm=560, width_mm=265, height_mm=130),
               Box(length_mm=530, width_mm=245, height_mm=90), rigid=True)  # fmt: skip
LONG_ROD = line("long rod", length_mm=520.0, height_mm=40.0)
SCENES: dict[str, Callable[[], Scene | None]] = {
    "pouch": lambda: scene(POUCH),
    "roll": lambda: scene(ROLL),
    "wrap": lambda: scene(WRAP),
    "container": lambda: scene(BOX),
    "double": lambda: scene(POUCH, OUTER, double=True),
    "too long": lambda: scene(POUCH, length_mm=400.0),
    "turned": lambda: scene(BOX, length_mm=580.0, width_mm=20.0),
    "not known": lambda: scene(WRAP, name="Mystery hook"),
    "square": lambda: wrap_scene("b", PACK, WIDE, "square", "width"),
    "set": lambda: set_scenes([LONG_ROD, line("rod", 9)], RIGID, POLICY)[0],
    "shelf": lambda: shelf_scene([], Shelf(800, 600, 1), 1),
}
every = pytest.mark.parametrize("name", SCENES)


@cache
def made(name: str) -> Scene:
    drawn = SCENES[name]()
    assert drawn
    return drawn


def shape_of(one: Shape, lettering: float) -> shapely.Geometry:
    return _box(one, lettering) if isinstance(one, Text) else _line(one)


@every
def test_a_scene_is_as_many_letters_wide_as_can_be_read_on_a_phone(name: str) -> None:
    drawn = made(name)
    assert drawn.width == pytest.approx(LINE * drawn.lettering)


@every
def test_nothing_of_a_scene_lies_beside_its_sheet(name: str) -> None:
    drawn = made(name)
    sheet = shapely.box(0, 0, drawn.width, drawn.height).buffer(1e-6)
    beside = [one for one in drawn.shapes if not sheet.covers(shape_of(one, drawn.lettering))]
    assert not beside


@pytest.mark.parametrize("name", [name for name in SCENES if name != "shelf"])
def test_a_scene_ends_below_the_last_that_is_drawn(name: str) -> None:
    """At the most one letter height of empty paper."""
    drawn = made(name)
    lowest = max(shape_of(one, drawn.lettering).bounds[3] for one in drawn.shapes)
    assert 0 <= drawn.height - lowest <= drawn.lettering


@pytest.mark.parametrize("supply", [POUCH, ROLL], ids=["pouch", "roll"])
def test_every_seal_lies_on_the_bag(supply: object) -> None:
    drawn = scene(supply)
    (bag,) = rects(drawn, "sheet")
    sheet = shapely.box(bag.x, bag.y, bag.x + bag.width, bag.y + bag.height).buffer(1e-6)
    seals = [one for one in drawn.shapes if one.role in ("seal", "to-seal")] if drawn else []
    assert len(seals) == {POUCH.code: 4, ROLL.code: 4}[supply.code]  # type: ignore[attr-defined]
    assert all(sheet.covers(_line(one)) for one in seals)


def test_the_side_seals_leave_the_inside_between_them() -> None:
    drawn = scene(ROLL)
    (bag,), (inside,), seals = (rects(drawn, role) for role in ("sheet", "inside", "seal"))
    upper, lower = sorted(seals, key=lambda one: one.y)
    assert (upper.y, upper.y + upper.height) == pytest.approx((bag.y, inside.y))
    assert (lower.y, lower.y + lower.height) == pytest.approx(
        (inside.y + inside.height, bag.y + bag.height)
    )


def test_the_print_of_a_roll_points_to_the_end_that_is_peeled() -> None:
    """No steeper than it can be seen to point, between the seal and the end."""
    drawn = scene(ROLL)
    assert drawn
    (peel,) = [one for one in drawn.shapes if one.role == "peel" and isinstance(one, Polyline)]
    (x, top), (tip, middle), (end, bottom) = peel.points
    (bag,), seals = rects(drawn, "sheet"), rects(drawn, "to-seal")
    assert x == end and max(one.x + one.width for one in seals) <= x < tip < bag.x + bag.width
    assert middle - top == pytest.approx(bottom - middle)
    assert 0 < middle - top <= 1.5 * (tip - x) + 1e-9


@pytest.mark.parametrize("width", [20.0, 60.0])
def test_the_indicator_lies_beside_the_joint(width: float) -> None:
    """No farther from its middle line than what lies between, so that both are seen at once."""
    drawn = scene(OUTER, width_mm=width, hinged=False, name="rod")
    (strip,), (box,) = rects(drawn, "indicator"), rects(drawn, "box")
    x, y = box.x + box.width * JOINT, box.y + box.height / 2
    assert abs(strip.x + strip.width / 2 - x) < strip.width / 2
    assert abs(strip.y + strip.height / 2 - y) < box.height / 2 + strip.height * 1.5


class TestFolds:
    """A pack of 480 x 250 x 50 mm: folded at its edges and where its sides end."""

    def folds(self, fold: str) -> tuple[tuple[float, float], list[Polyline], Scene]:
        wrap = Wrap(code="W", width_mm=1200, length_mm=1200)
        drawn = wrap_scene("b", PACK, wrap, fold, "width")
        assert drawn
        (box,) = rects(drawn, "box")
        lines = [one for one in drawn.shapes if one.role == "fold" and isinstance(one, Polyline)]
        return (box.x + box.width / 2, box.y + box.height / 2), lines, drawn

    @pytest.mark.parametrize("fold", ["envelope", "square"])
    def test_they_lie_at_the_packs_edges_and_a_height_beyond(self, fold: str) -> None:
        (cx, cy), lines, _ = self.folds(fold)
        upright = sorted(a[0] - cx for a, b in (one.points for one in lines) if a[0] == b[0])
        level = sorted(a[1] - cy for a, b in (one.points for one in lines) if a[1] == b[1])
        assert upright == pytest.approx([-290, -240, 240, 290])
        assert level == pytest.approx([-175, -125, 125, 175])

    @pytest.mark.parametrize("fold", ["envelope", "square"])
    def test_each_goes_from_edge_to_edge_of_the_sheet(self, fold: str) -> None:
        _, lines, drawn = self.folds(fold)
        (paper,) = [one for one in drawn.shapes if one.role == "paper"]
        edge = _line(paper)
        assert all(edge.distance(shapely.Point(at)) < 1e-6 for one in lines for at in one.points)

    @pytest.mark.parametrize("fold", ["envelope", "square"])
    def test_each_number_stands_half_way_on_its_flap(self, fold: str) -> None:
        """Between where a side of the pack ends and the edge of the sheet: worked by hand."""
        (cx, cy), _, drawn = self.folds(fold)
        half = 1200 / 2**0.5 if fold == "envelope" else 600
        plates = [one for one in drawn.shapes if one.role == "plate" and isinstance(one, Polygon)]
        middles = [shapely.Polygon(one.rings[0]).centroid for one in plates]
        far, right = (175 + half) / 2, (290 + half) / 2
        assert [(at.x - cx, at.y - cy) for at in middles] == [
            pytest.approx(at, abs=1e-6) for at in ((0, far), (-right, 0), (right, 0), (0, -far))
        ]

    def test_the_length_of_the_pack_is_said_close_under_the_sheet(self) -> None:
        _, _, drawn = self.folds("square")
        (paper,) = rects(drawn, "paper")
        (bar, *_) = [one for one in drawn.shapes if one.role == "dimension"]
        below = bounds([bar])[1] - paper.y - paper.height  # type: ignore[list-item]
        assert 0 < below < drawn.lettering

    def test_none_is_drawn_where_the_sheet_ends_before_the_sides_of_the_pack(self) -> None:
        wrap = Wrap(code="W", width_mm=400, length_mm=400)
        drawn = wrap_scene("b", PACK, wrap, "envelope", "width")
        assert drawn
        upright = [one for one in drawn.shapes if one.role == "fold" and isinstance(one, Polyline)
                   and one.points[0][0] == one.points[1][0]]  # fmt: skip
        assert len(upright) == 2  # half of the sheet is 283 mm: beyond 240, short of 290


class TestLayers:
    def test_what_is_nearly_as_long_as_its_basket_lies_in_its_middle(self) -> None:
        """520 of 530 mm: 5 at either end."""
        drawn = set_scenes([LONG_ROD], RIGID, POLICY)[0]
        (floor,) = [one for one in rects(drawn, "basket") if one.radius]
        left, _, right, _ = bounds(
            [one for one in drawn.shapes if isinstance(one, Polygon) and one.role == "unknown"]
        )
        assert (left - floor.x, floor.x + floor.width - right) == pytest.approx((5, 5))

    def test_each_says_which_it_is_and_how_high_its_tallest_stands(self) -> None:
        first, second = set_scenes([line(width_mm=240.0, length_mm=500.0, height_mm=high)
                                    for high in (40.0, 9.0)], RIGID, POLICY)  # fmt: skip
        assert [one.shapes[0].words for one in (first, second)] == [  # type: ignore[union-attr]
            "layer 1, bottom, up to 40 mm high", "layer 2, up to 9 mm high",
        ]  # fmt: skip
