"""The least sheet of either fold: each step, flaps clipped to the top, properties."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import affinity
from shapely.geometry import Polygon
from shapely.geometry import box as rectangle
from shapely.ops import unary_union

from assembly.rules.kinds.folds import (
    NEAR,
    Folding,
    envelope_sheet,
    envelope_terms,
    square_sheet,
)
from tests.rules.geometry import closure_side
from tests.rules.kinds.folding import MID_LINE, STRICT, depths, foldings, sides


@pytest.mark.parametrize(
    ("whole_top", "near", "sides_", "last", "closure"),
    [
        (True, 1.5 * 250 + 50 + 240, 480 + 50 + 50 + 40, 1.5 * 250 + 50 + 30, 450.36),
        (False, 250 + 50 + 50 + 40, 480 + 50 + 50 + 40, 250 + 50 + 50 + 30, 450.36),
    ],
)
def test_what_each_step_asks_of_the_half_diagonal(whole_top, near, sides_, last, closure):
    """480 x 250 x 50, overlap 50, turn-back 40, tuck 30; closure 365 + 50 + 50 / root 2."""
    terms = envelope_terms(480, 250, 50, Folding(50, 40, 30, 150, whole_top))
    assert list(terms.values()) == pytest.approx([near, sides_, last, closure], abs=0.01)


def flaps(length: float, width: float, height: float, half: float) -> dict[str, Polygon]:
    """What each flap covers of the top, the pack's axes along the sheet's diagonals."""
    sheet = Polygon([(half, 0), (0, half), (-half, 0), (0, -half)])
    top = rectangle(-length / 2, -width / 2, length / 2, width / 2)
    side = affinity.translate(affinity.scale(sheet, xfact=-1), xoff=length + height)
    far = affinity.translate(affinity.scale(sheet, yfact=-1), yoff=width + height)
    return {
        "right": side.intersection(top),
        "left": affinity.scale(side, xfact=-1, origin=(0, 0)).intersection(top),
        "near": affinity.scale(far, yfact=-1, origin=(0, 0)).intersection(top),
        "far": far.intersection(top),
    }


class TestAgainstClipping:
    """Shapely as referee: the flaps clipped to the top of the pack."""

    @given(sides, sides, depths)
    def test_top_is_covered_at_closure(self, length, width, height):
        half = closure_side(length, width, height) / math.sqrt(2)
        covered = unary_union(list(flaps(length, width, height, half + 1e-6).values()))
        assert covered.area == pytest.approx(length * width, rel=1e-6)

    @given(sides, sides, depths)
    def test_top_is_open_just_under_closure(self, length, width, height):
        half = closure_side(length, width, height) / math.sqrt(2)
        covered = unary_union(list(flaps(length, width, height, half - 1).values()))
        assert covered.area < length * width - 1

    @given(sides, sides, depths)
    def test_near_flap_covers_the_whole_top(self, length, width, height):
        bare = Folding(0, 0, 0, 0, whole_top=True)
        half = envelope_terms(length, width, height, bare)[NEAR]
        near = flaps(length, width, height, half + 1e-6)["near"]
        assert near.area == pytest.approx(length * width, rel=1e-6)

    @given(sides, sides, depths)
    def test_near_flap_leaves_corners_just_under(self, length, width, height):
        bare = Folding(0, 0, 0, 0, whole_top=True)
        half = envelope_terms(length, width, height, bare)[NEAR]
        near = flaps(length, width, height, half - 1)["near"]
        assert near.area < length * width - 0.5


class TestProperties:
    @given(sides, sides, depths, foldings)
    def test_length_and_width_may_be_exchanged(self, length, width, height, folding):
        one = envelope_sheet(length, width, height, folding).side_mm
        assert one == pytest.approx(envelope_sheet(width, length, height, folding).side_mm)

    @given(sides, sides, depths, foldings)
    def test_square_fold_may_be_exchanged_too(self, length, width, height, folding):
        one = square_sheet(length, width, height, folding).side_mm
        assert one == pytest.approx(square_sheet(width, length, height, folding).side_mm)

    @given(sides, sides, depths, foldings, st.integers(0, 2), depths)
    def test_larger_packs_never_need_less(self, length, width, height, folding, which, more):
        pack = [length, width, height]
        larger = [side + more if n == which else side for n, side in enumerate(pack)]
        for least in (envelope_sheet, square_sheet):
            assert least(*larger, folding).side_mm >= least(*pack, folding).side_mm - 1e-9

    @given(sides, sides, depths, foldings, st.floats(0.1, 10))
    def test_all_lengths_scale_together(self, length, width, height, folding, k):
        scaled = Folding(
            folding.overlap_mm * k, folding.turnback_mm * k, folding.tuck_mm * k,
            folding.end_reach_mm * k, folding.whole_top,
        )  # fmt: skip
        for least in (envelope_sheet, square_sheet):
            once = least(length, width, height, folding).side_mm
            assert least(length * k, width * k, height * k, scaled).side_mm == pytest.approx(
                once * k
            )

    @given(sides, sides, depths, foldings)
    def test_never_under_closure(self, length, width, height, folding):
        least = envelope_sheet(length, width, height, folding).side_mm
        assert least >= closure_side(length, width, height) - 1e-9

    @given(st.floats(100, 700), st.floats(100, 700), depths)
    def test_whole_top_never_needs_less_than_mid_line(self, length, width, height):
        """For l + w >= 2 (overlap + turn-back), which every real tray is."""
        strict = envelope_sheet(length, width, height, STRICT).side_mm
        assert strict >= envelope_sheet(length, width, height, MID_LINE).side_mm - 1e-9

    @given(sides, sides, depths, st.floats(0, 100), st.floats(0, 100), st.floats(0, 1))
    def test_short_form_of_the_whole_top(self, one, other, height, overlap, back, share):
        """With the tuck no deeper than the turn-back, only near and side flaps ever decide."""
        length, width = max(one, other), min(one, other)
        folding = Folding(overlap, back, share * back, 0, whole_top=True)

        def near(side: float, front: float) -> float:
            return 1.5 * front + max(side / 2, back)

        short = min(
            max(near(length, width), length + overlap + back),
            max(near(width, length), width + overlap + back),
        )
        least = envelope_sheet(length, width, height, folding).side_mm
        assert least == pytest.approx(math.sqrt(2) * (height + short))

    @given(sides, sides, depths, st.floats(0, 100), st.floats(0, 100), st.floats(0, 1))
    def test_short_form_of_the_mid_line(self, one, other, height, overlap, back, share):
        folding = Folding(overlap, back, share * back, 0, whole_top=False)
        least = envelope_sheet(one, other, height, folding).side_mm
        assert least == pytest.approx(math.sqrt(2) * (max(one, other) + height + overlap + back))

    def test_a_deep_tuck_makes_the_last_flap_decide(self):
        folding = Folding(50, 50, 300, 150, whole_top=True)
        assert envelope_sheet(480, 250, 50, folding).binding == "the last flap"
