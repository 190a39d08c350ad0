"""Plain shapes: curves go where they are led, round things are round, boxes keep their size."""

from __future__ import annotations

import math

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from assembly.rules.drawing.shapes import (
    Polyline,
    block,
    bounds,
    curve,
    disc,
    hoop,
    limb,
    oval,
    smooth,
    stretched,
)

PLACES = st.tuples(st.integers(-90, 90), st.integers(-90, 90))
KNOTS = st.lists(PLACES, min_size=3, max_size=7, unique=True)


@given(KNOTS, st.booleans())
def test_a_curve_goes_through_its_knots(knots: list[tuple[float, float]], closed: bool) -> None:
    drawn = curve(knots, closed)
    for x, y in knots:
        assert min(math.dist((x, y), point) for point in drawn) < 1e-9


@pytest.mark.parametrize("closed", [False, True])
def test_a_curve_begins_where_it_is_led_from(closed: bool) -> None:
    assert curve([(5, 5), (9, 7), (20, 0)], closed)[0] == (5, 5)


def test_evenly_led_along_a_line_a_curve_keeps_to_it_evenly() -> None:
    """The spline of Catmull and Rom gives back what is straight (worked by hand)."""
    inner = smooth([(0.0, 3.0), (4.0, 5.0), (8.0, 7.0), (12.0, 9.0)])[4:9]
    assert inner == pytest.approx([(4.0, 5.0), (5.0, 5.5), (6.0, 6.0), (7.0, 6.5), (8.0, 7.0)])


def test_a_curve_round_four_corners_is_about_a_circle() -> None:
    """Within 3 %: half way between two knots the spline is at 9 + 9 - 1 - 1 of 16 (by hand)."""
    far = [math.hypot(x, y) for x, y in curve([(10, 0), (0, 10), (-10, 0), (0, -10)], closed=True)]
    assert min(far) >= 8.8 and max(far) <= 10 + 1e-9


def test_of_two_points_no_curve_is_made() -> None:
    assert smooth([(0, 0), (9, 9)]) == [(0, 0), (9, 9)]


def test_a_limb_is_as_wide_as_it_was_said_and_rounded_beyond_its_ends() -> None:
    """Half widths of 4: 8 wide, and nine tenths of a half width longer at either end."""
    one = limb([(10, 0, 4), (50, 0, 4), (90, 0, 4)])
    assert bounds([one]) == pytest.approx((10 - 3.6, -4, 90 + 3.6, 4))


def test_a_limb_is_as_wide_across_where_it_leans() -> None:
    one = shapely.Polygon(limb([(0, 0, 5), (30, 40, 5)]).rings[0])
    across = shapely.LineString([(15 - 40, 20 + 30), (15 + 40, 20 - 30)])
    assert one.is_valid and across.intersection(one).length == pytest.approx(10)


@pytest.mark.parametrize(("rx", "ry"), [(0.5, 0.5), (20, 20), (100, 3), (3, 100), (200, 200)])
def test_an_oval_has_its_sizes_and_nearly_its_area(rx: float, ry: float) -> None:
    ring = shapely.Polygon(oval(7, 9, rx, ry))
    least = math.pi * rx * ry * (0.95 if max(rx, ry) < 2 else 0.985)
    assert least <= ring.area <= math.pi * rx * ry
    assert ring.bounds == pytest.approx((7 - rx, 9 - ry, 7 + rx, 9 + ry), rel=0.04)


def test_a_small_circle_has_few_corners_and_a_large_one_no_more_than_can_be_seen() -> None:
    assert [len(oval(0, 0, size, size)) for size in (0.1, 10_000)] == [12, 48]


def test_a_disc_is_filled_and_a_hoop_is_open_within_its_thickness() -> None:
    assert len(disc(0, 0, 9, 7).rings) == 1
    outer, hole = hoop(0, 0, 20, 12, 3).rings
    assert shapely.Polygon(hole).bounds == pytest.approx((-17, -9, 17, 9), rel=0.02)
    assert shapely.Polygon(outer).bounds == pytest.approx((-20, -12, 20, 12), rel=0.02)


@pytest.mark.parametrize("corner", [0.0, 3.0, 8.0, 15.0])
def test_a_block_keeps_its_size_and_loses_its_corners_alone(corner: float) -> None:
    """A square of 2 r less its circle: (4 - pi) r^2; nearly, since corners are cut in steps."""
    shape = shapely.Polygon(block(10, 20, 80, 50, corner=corner).rings[0])
    assert shape.is_valid and shape.bounds == pytest.approx((10, 20, 90, 70))
    assert 80 * 50 - shape.area == pytest.approx((4 - math.pi) * corner**2, rel=0.4, abs=1e-9)


@pytest.mark.parametrize(("corner", "points"), [(0.0, 4), (7.9, 12), (8.0, 20)])
def test_a_large_corner_is_rounder(corner: float, points: int) -> None:
    assert len(block(0, 0, 80, 50, corner=corner).rings[0]) == points


def test_what_has_no_width_is_stretched_along_alone() -> None:
    (line,) = stretched([Polyline(((2.0, 5.0), (4.0, 5.0)), "detail")], 30, 10)
    assert isinstance(line, Polyline) and line.points == ((0, 0), (30, 0))
