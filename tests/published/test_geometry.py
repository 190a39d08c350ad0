"""Geometry against published results; the source stands beside each number."""

from __future__ import annotations

import math

import pytest

from assembly.rules.kinds.folds import Folding, envelope_sheet
from assembly.rules.limits.plans import fits_at_any_angle, longest_at_any_angle
from tests.rules.geometry import closure_side, square_closure

BARE = Folding(0, 0, 0, 0, whole_top=False)


class TestWrappingABox:
    def test_unit_cube(self):
        """American Mathematical Monthly, problem 10716: exactly 2 root 2."""
        assert closure_side(1, 1, 1) == pytest.approx(2 * math.sqrt(2))

    @pytest.mark.parametrize("edge", [8, 50, 300])
    def test_any_cube(self, edge):
        """The same, for another edge."""
        assert closure_side(edge, edge, edge) == pytest.approx(2 * math.sqrt(2) * edge)

    @pytest.mark.parametrize(
        ("box", "side"),
        [((9, 6, 4.5), 19.09), ((9, 9, 4.5), 19.09)],  # nrich 293: (c + a) root 2
    )
    def test_tips_meet_in_the_middle(self, box, side):
        assert envelope_sheet(*box, BARE).side_mm == pytest.approx(side, abs=0.005)

    def test_box_of_8_by_8_by_3(self):
        """Santos: diagonal + 1.5 h = 15.814, her 1.5 being root 2 rounded up."""
        ours = closure_side(8, 8, 3)
        assert ours == pytest.approx(15.556, abs=5e-4)
        assert ours < 8 * math.sqrt(2) + 1.5 * 3

    def test_oblong_box_closes_with_less_than_the_rule_of_thumb(self):
        """9 x 6 x 4.5 in: 'diagonal + 1.5 h' gives 17.57, 'diagonal + 2 h' 19.82."""
        assert closure_side(9, 6, 4.5) == pytest.approx(16.97, abs=0.005)

    def test_parcel_along_the_sheet(self):
        """Dumas: 2 (w + h) by (l + h)."""
        assert square_closure(480, 250, 50) == (600, 530)


class TestRectangleInARectangle:
    """Carver 1957; Wetzel, Mathematics Magazine 73 (2000), 204-211."""

    @pytest.mark.parametrize(
        ("item", "tray", "fits"),
        [
            ((520, 20), (480, 250), True),  # 2.039 against 2
            ((530, 20), (480, 250), False),  # 1.965
            ((555, 15), (508, 254), True),  # 2.008
            ((590, 10), (508, 254), False),  # 1.805
        ],
    )
    def test_threshold_of_two(self, item, tray, fits):
        assert fits_at_any_angle(*item, *tray) is fits

    def test_without_width_it_is_the_diagonal(self):
        assert longest_at_any_angle(0, 3, 4) == pytest.approx(5, abs=0.01)
