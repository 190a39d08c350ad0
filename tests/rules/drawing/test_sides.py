"""A container is drawn with what is asked of it: levels, height, indicators, label holder."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

import pytest

from assembly.rules.deciding.set_facts import SetLine
from assembly.rules.drawing.pieces import lain
from assembly.rules.drawing.scenes_baskets import Inside, container_scene, set_scenes
from assembly.rules.drawing.shapes import Polyline, Rect, Scene, Text
from assembly.rules.facts.instruments import Box, Instrument
from assembly.rules.facts.supplies import Container
from assembly.rules.policy.values import default_policy

ON = date(2026, 11, 25)
POLICY = default_policy(ON)
INSIDE = Box(length_mm=560, width_mm=265, height_mm=130)
RIGID = Inside("C", INSIDE, Box(length_mm=530, width_mm=245, height_mm=90), rigid=True)
WRAPPED = Inside("pack", INSIDE)


def rects(scene: Scene, role: str) -> list[Rect]:
    return [one for one in scene.shapes if isinstance(one, Rect) and one.role == role]


def words(scene: Scene) -> list[str]:
    return [one.words for one in scene.shapes if isinstance(one, Text)]


def drawn(*heights: float, inside: Inside = RIGID, policy: object = POLICY) -> Scene:
    """A set of one piece a layer, each as large as its basket's floor."""
    lines = [
        SetLine(quantity=1, instrument=Instrument(name=f"tray {n}", length_mm=500.0,
                                                  width_mm=200.0, height_mm=high))
        for n, high in enumerate(heights)
    ]  # fmt: skip
    return set_scenes(lines, inside, policy)[0]  # type: ignore[arg-type]


def alone(**sizes: float | None) -> Scene:
    facts = {"inner_length_mm": 560, "inner_width_mm": 265, "inner_height_mm": 130, **sizes}
    piece = lain(Instrument(name="clamp", length_mm=180, width_mm=70, height_mm=12))
    scene = container_scene(piece, Container(code="C", **facts), POLICY) if piece else None
    assert scene
    return scene


class TestLevels:
    def test_each_stands_on_the_one_below_and_the_first_on_the_floor(self) -> None:
        (body, _lid) = rects(drawn(50.0, 30.0), "paper")
        floor = body.y + body.height
        low, high = rects(drawn(50.0, 30.0), "piece")
        assert (low.y + low.height, low.height) == pytest.approx((floor, 50))
        assert (high.y + high.height, high.height) == pytest.approx((floor - 50, 30))

    def test_each_is_numbered(self) -> None:
        assert {"1", "2"} <= set(words(drawn(50.0, 30.0)))

    def test_its_number_stands_outside_at_the_right(self) -> None:
        scene = drawn(50.0, 30.0)
        (line,) = [one for one in scene.shapes if isinstance(one, Polyline) and len(one.points) == 2
                   and one.points[0][1] == one.points[1][1] and one.role == "detail"]  # fmt: skip
        ends = line.points[1][0]
        numbers = [one for one in scene.shapes if isinstance(one, Text) and one.words in ("1", "2")]
        assert len(numbers) == 2 and all(one.x > ends for one in numbers)

    def test_what_does_not_go_under_the_lid_is_not_drawn_and_said(self) -> None:
        """50 + 50 of 130: a third 50 would go through the lid."""
        scene = drawn(50.0, 50.0, 50.0)
        assert len(rects(scene, "piece")) == 2
        assert any("From the side 2 of 3 layers" in one for one in scene.legend)

    def test_its_inside_is_as_high_as_it_is(self) -> None:
        assert rects(drawn(50.0), "paper")[0].height == 130
        assert any("inside 130 mm high" in one for one in words(drawn(50.0)))

    def test_a_lock_at_either_end_holds_the_lid_to_the_body(self) -> None:
        """No higher than a letter, outside of what is to scale."""
        scene = drawn(50.0)
        (body, lid), locks = rects(scene, "paper"), rects(scene, "mark")
        left, right = (one for one in locks if one.y > lid.y and one.height > lid.height)
        assert left.x + left.width == pytest.approx(body.x)
        assert right.x == pytest.approx(body.x + body.width)
        assert left.y < lid.y + lid.height < left.y + left.height
        assert left.height == right.height < scene.lettering

    def test_its_basket_stands_in_it(self) -> None:
        _floor, basket = rects(drawn(50.0), "basket")
        assert (basket.width, basket.height) == (530, 90)

    def test_one_instrument_stands_on_the_floor(self) -> None:
        (body, _lid), (piece,) = rects(alone(), "paper"), rects(alone(), "piece")
        assert (piece.width, piece.height) == (180, 12)
        assert piece.y + piece.height == pytest.approx(body.y + body.height)

    def test_an_unknown_height_draws_no_side(self) -> None:
        assert rects(alone(inner_height_mm=None), "paper") == []

    def test_a_wrapped_basket_has_no_side(self) -> None:
        assert rects(drawn(50.0, inside=WRAPPED), "paper") == []


class TestPlaces:
    def test_two_indicators_lie_in_opposite_corners(self) -> None:
        """By the shipped policy."""
        (tray,) = rects(alone(), "tray")
        one, other = rects(alone(), "indicator")
        assert one.x - tray.x < 30 and one.y - tray.y < 30
        assert tray.x + tray.width - other.x - other.width < 30
        assert tray.y + tray.height - other.y - other.height < 30

    def test_one_lies_in_the_middle_where_the_policy_says_one_per_level(self) -> None:
        policy = default_policy(ON, {"container_indicators": "one per level"})
        assert len(rects(drawn(30.0, policy=policy), "indicator")) <= 1

    def test_a_wrapped_set_has_one(self) -> None:
        small = SetLine(quantity=1, instrument=Instrument(name="rod", length_mm=100.0,
                                                          width_mm=9.0, height_mm=9.0))  # fmt: skip
        (scene,) = set_scenes([small], WRAPPED, POLICY)
        assert len(rects(scene, "indicator")) == 1

    @pytest.mark.parametrize("draw", [alone, lambda: drawn(50.0)], ids=["one", "set"])
    def test_the_label_holder_is_outside(self, draw: Callable[[], Scene]) -> None:
        scene = draw()
        (tray,), (holder,) = rects(scene, "tray"), rects(scene, "label")
        assert holder.x >= 0 and holder.x + holder.width <= tray.x

    def test_a_wrap_has_no_label_holder(self) -> None:
        assert rects(drawn(50.0, inside=WRAPPED), "label") == []
