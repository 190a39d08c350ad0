"""What is written on a scene: figures where they belong, rules and ticks as long as they say."""

from __future__ import annotations

import pytest

from assembly.rules.drawing.label_places import drawn_label, place_of_label
from assembly.rules.drawing.measuring import (
    bar_along,
    control_rule,
    dimension_along,
    gap_across,
    gaps_along,
    wide,
)
from assembly.rules.drawing.shapes import Polyline, Rect, Shape, Text, block, bounds
from assembly.rules.findings import metric

TEXT = 8.0


def figures(shapes: list[Shape]) -> dict[str, Text]:
    return {one.words: one for one in shapes if isinstance(one, Text)}


def lines(shapes: list[Shape]) -> list[Polyline]:
    return [one for one in shapes if isinstance(one, Polyline)]


def test_twice_the_letters_are_twice_as_wide() -> None:
    assert wide("abcdef", TEXT) == 2 * wide("abc", TEXT) == 2 * TEXT * wide("abc", 1)


def test_a_length_says_how_long_it_is_under_its_middle() -> None:
    (figure,) = figures(dimension_along(40, 140, 20, TEXT, metric)).values()
    assert (figure.words, figure.x) == ("100 mm", 90) and figure.y > 20 + TEXT


def test_a_bar_reaches_from_end_to_end_with_a_tick_at_either() -> None:
    bar, first, last = lines(bar_along(40, 140, 20, TEXT))
    assert bar.points == ((40, 20), (140, 20))
    assert [{x for x, _ in tick.points} for tick in (first, last)] == [{40}, {140}]
    assert bounds([first]) == pytest.approx((40, 20 - TEXT * 0.3, 40, 20 + TEXT * 0.3))


@pytest.mark.parametrize(("end", "role"), [(40.0, "dimension"), (39.9, "dimension-over")])
def test_a_room_of_less_than_nothing_is_drawn_heavy(end: float, role: str) -> None:
    assert {one.role for one in lines(bar_along(40, end, 20, TEXT))} == {role}


class TestRoomLengthRoom:
    def test_each_has_its_figure_under_its_middle_where_there_is_room(self) -> None:
        found = figures(gaps_along((0, 100, 300, 380), 400, 20, TEXT, metric))
        assert {words: one.x for words, one in found.items()} == {
            "100 mm": 50, "200 mm": 200, "80 mm": 340,
        }  # fmt: skip
        assert len({one.y for one in found.values()}) == 1

    def test_the_figure_of_a_narrow_room_at_the_left_ends_where_the_length_begins(self) -> None:
        figure = figures(gaps_along((90, 100, 300, 380), 400, 20, TEXT, metric))["10 mm"]
        assert figure.x + wide("10 mm", TEXT) / 2 == pytest.approx(100)

    def test_the_figure_of_a_narrow_room_at_the_right_begins_where_the_length_ends(self) -> None:
        figure = figures(gaps_along((0, 100, 300, 310), 400, 20, TEXT, metric))["10 mm"]
        assert figure.x - wide("10 mm", TEXT) / 2 == pytest.approx(300)

    def test_no_figure_stands_beyond_the_limit(self) -> None:
        figure = figures(gaps_along((0, 100, 300, 305), 306, 20, TEXT, metric))["5 mm"]
        assert figure.x + wide("5 mm", TEXT) / 2 == pytest.approx(306)

    def test_the_length_has_no_figure_where_it_has_no_room(self) -> None:
        assert "20 mm" not in figures(gaps_along((92, 100, 120, 128), 400, 20, TEXT, metric))


def test_a_distance_across_has_its_figure_at_its_left_at_half_its_height() -> None:
    shapes = gap_across(50, 20, 60, TEXT, metric)
    (figure,) = figures(shapes).values()
    assert (figure.words, figure.anchor) == ("40 mm", "end") and figure.x < 50
    assert 40 < figure.y < 40 + TEXT
    assert bounds(lines(shapes)) == pytest.approx((50 - TEXT * 0.3, 20, 50 + TEXT * 0.3, 60))


def test_the_rule_has_a_mark_at_every_centimetre() -> None:
    along, *marks = lines(control_rule(10, 90, TEXT, metric))
    assert along.points == ((10, 90), (60, 90))
    assert [one.points[0][0] - 10 for one in marks] == [0, 10, 20, 30, 40, 50]


@pytest.mark.parametrize("place", [Rect(10, 20, 100, 50, "label"), Rect(10, 20, 50, 100, "label")])
def test_the_lines_on_a_label_lie_on_it_the_way_it_is_read(place: Rect) -> None:
    label, *drawn = drawn_label(place)
    left, top, right, bottom = bounds(one for one in drawn if isinstance(one, Polyline))
    assert label == place and len(drawn) == 3
    assert place.x < left < right < place.x + place.width
    assert place.y < top < bottom < place.y + place.height
    (x0, y0), (x1, y1) = drawn[0].points  # type: ignore[union-attr]
    assert (abs(x1 - x0), abs(y1 - y0)) == pytest.approx(
        (70, 0) if place.width > place.height else (0, 70)
    )


class TestPlaceOfALabel:
    """A bag from 0 to 300, its seals 20 wide all round, metal in it; in mm."""

    inside = Rect(20, 20, 260, 160, "")
    none = Rect(0, 0, 0, 0, "")

    def test_in_the_margin_outside_the_seal_it_lies_in_the_middle(self) -> None:
        spot = place_of_label((80, 40), Rect(0, 0, 60, 200, ""), self.inside, [])
        assert spot == Rect(10, 60, 40, 80, "label", 0.8)

    def test_on_a_bare_film_it_lies_in_the_middle(self) -> None:
        spot = place_of_label((80, 40), self.none, self.inside, [])
        assert spot and (spot.x + spot.width / 2, spot.y + spot.height / 2) == (150, 100)

    @pytest.mark.parametrize(
        ("metal", "middle"),
        [
            ((120, 60, 160, 80), (70, 100)),  # before it, at the fill end
            ((30, 25, 245, 60), (150, 132.5)),  # below it
            ((30, 110, 245, 65), (150, 65)),  # above it
            ((25, 25, 140, 150), (222.5, 100)),  # behind it
        ],
    )
    def test_beside_the_instrument_it_lies_in_the_middle_of_the_room(
        self, metal: tuple[float, float, float, float], middle: tuple[float, float]
    ) -> None:
        spot = place_of_label((80, 40), self.none, self.inside, [block(*metal)])
        assert spot and (spot.x + spot.width / 2, spot.y + spot.height / 2) == middle

    def test_a_room_that_is_a_hair_too_narrow_is_none(self) -> None:
        """1.5 mm is kept clear all round."""
        margin = Rect(0, 0, 43, 83, "")
        assert place_of_label((80, 40), margin, self.none, []) == Rect(
            1.5, 1.5, 40, 80, "label", 0.8
        )
        assert place_of_label((80, 40), Rect(0, 0, 42.9, 83, ""), self.none, []) is None
