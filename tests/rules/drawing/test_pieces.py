"""A place beside what lies there: the nearest that is free, and an indicator strip in it."""

from __future__ import annotations

import pytest

from assembly.rules.drawing.pieces import Lain, free_spot, strip
from assembly.rules.drawing.shapes import Polygon, Rect, block, bounds, hoop
from assembly.rules.facts.instruments import Instrument

ROOM = Rect(0, 0, 240, 160, "")


def test_an_instrument_is_drawn_in_the_room_that_it_takes_up() -> None:
    room, *outlines = Lain(Instrument(name="Mayo scissors"), 170, 60).at(5, 7)
    assert room == Rect(5, 7, 170, 60, "box") and outlines


def test_what_is_not_known_is_drawn_as_the_room_that_it_takes_up() -> None:
    (outline,) = Lain(Instrument(name="Mystery hook"), 170, 60).outlines(5, 7)
    assert bounds([outline]) == pytest.approx((5, 7, 175, 67))


class TestFreeSpot:
    @pytest.mark.parametrize(
        ("near", "corner"),
        [((0, 0), (0, 0)), ((240, 160), (200, 140)), ((240, 0), (200, 0)), ((120, 80), (100, 70))],
    )
    def test_in_an_empty_room_it_is_where_it_was_asked_for(
        self, near: tuple[float, float], corner: tuple[float, float]
    ) -> None:
        assert free_spot(ROOM, 40, 20, near, []) == pytest.approx(corner)

    def test_what_is_filled_has_none_in_it(self) -> None:
        assert free_spot(ROOM, 10, 10, (20, 20), [block(-50, -50, 400, 400)]) is None

    def test_what_lies_beside_a_slanted_edge_is_free(self) -> None:
        beside = Polygon((((-1000, -600), (-100, 600), (-1000, 600)),), "instrument")
        assert free_spot(ROOM, 40, 20, (0, 0), [beside]) == (0, 0)

    def test_the_hole_of_a_ring_is_one(self) -> None:
        spot = free_spot(ROOM, 10, 10, (120, 80), [hoop(120, 80, 110, 75, 5)])
        assert spot == pytest.approx((115, 75))

    @pytest.mark.parametrize("size", [(241, 20), (40, 161)])
    def test_there_is_none_in_a_room_that_is_too_small(self, size: tuple[float, float]) -> None:
        assert free_spot(ROOM, *size, (0, 0), []) is None

    @pytest.mark.parametrize("clear", [0.0, 5.0, 20.0])
    def test_it_keeps_as_far_away_as_is_asked_and_no_farther_than_it_must(
        self, clear: float
    ) -> None:
        spot = free_spot(ROOM, 40, 20, (0, 80), [block(60, -500, 20, 1000)], clear)
        spot_beside = free_spot(ROOM, 40, 20, (140, 80), [block(60, -500, 20, 1000)], clear)
        assert (spot is not None) == (clear <= 20) and spot_beside
        assert clear <= spot_beside[0] - 80 <= clear + 200 / 24 + 40

    def test_a_third_of_its_thickness_is_kept_clear_where_nothing_is_asked(self) -> None:
        """20 mm thick: between two bars 26 mm apart no strip of it has 6 mm at either side."""
        bars = [block(-50, 20, 400, 20), block(-50, 66, 400, 20)]
        free = free_spot(Rect(0, 40, 240, 26, ""), 40, 20, (100, 53), bars)
        assert free is None
        assert free_spot(Rect(0, 40, 240, 26, ""), 40, 20, (100, 53), bars, 3.0)


class TestStrip:
    def test_it_is_as_large_as_can_be_read_with_its_bar_on_it(self) -> None:
        body, bar = strip(ROOM, (0, 0), [], 10)
        assert isinstance(body, Rect) and isinstance(bar, Rect)
        assert (body.width, body.height) == pytest.approx((34, 9))
        assert body.x < bar.x and bar.x + bar.width < body.x + body.width
        assert body.y < bar.y and bar.y + bar.height < body.y + body.height

    @pytest.mark.parametrize(("room", "width"), [(34, 34), (33, 25.5), (25, 17), (16, None)])
    def test_it_is_smaller_where_it_has_to_be_and_none_without_a_place(
        self, room: float, width: float | None
    ) -> None:
        drawn = strip(Rect(0, 0, room, 50, ""), (0, 0), [], 10)
        assert (drawn[0].width if drawn else None) == (width and pytest.approx(width))  # type: ignore[union-attr]
