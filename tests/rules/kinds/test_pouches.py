"""Single pouches: the geometry, the rules, and which pouch follows from them."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import MultiPoint, Point, Polygon

from assembly.rules.deciding.choose import decide
from assembly.rules.facts.checks import FactsError
from assembly.rules.facts.supplies import Pouch
from assembly.rules.findings import Candidate, Status
from assembly.rules.kinds.pouches import (
    fill_finding,
    footprint,
    free_round,
    width_finding,
)
from assembly.rules.limits.several import side_by_side
from tests.rules.geometry import (
    ruler_distance,
    seal_distance_midheight,
    seal_distance_on_table,
    sheet_clearance,
)
from tests.rules.given import (
    box,
    cases,
    in_pouch,
    instrument,
    named,
    policy,
    pouch,
    question,
    stock,
)

sizes = st.floats(1, 400)


@pytest.mark.parametrize("case", cases("sections"), ids=named)
class TestDistancesToTheSeals:
    def test_clearance(self, case):
        assert sheet_clearance(case["W"], case["w"], case["h"]) == pytest.approx(case["clearance"])

    def test_ruler(self, case):
        assert ruler_distance(case["W"], case["w"]) == pytest.approx(case["ruler"], abs=0.05)

    def test_seal_at_midheight(self, case):
        found = seal_distance_midheight(case["W"], case["w"], case["h"])
        assert found == pytest.approx(case["midheight"], abs=0.05)

    def test_seal_on_table(self, case):
        found = seal_distance_on_table(case["W"], case["w"], case["h"])
        assert found == (pytest.approx(case["table"], abs=0.05) if "table" in case else None)

    def test_hull_with_seals_is_as_long_as_the_pouch(self, case):
        """Shapely as referee: box and both seals, wrapped tight, use up the whole loop."""
        reach = seal_distance_midheight(case["W"], case["w"], case["h"])
        w, h = case["w"], case["h"]
        corners = [(0, 0), (w, 0), (w, h), (0, h), (-reach, h / 2), (w + reach, h / 2)]
        assert MultiPoint(corners).convex_hull.length == pytest.approx(2 * case["W"], rel=1e-6)


@given(width=sizes, height=sizes, clearance=st.floats(0, 100))
def test_seal_at_midheight_is_never_nearer_than_the_clearance(width, height, clearance):
    opened = width + height + 2 * clearance
    found = seal_distance_midheight(opened + 1e-9, width, height)
    assert found is not None and found >= clearance - 1e-6


@given(width=sizes, share=st.floats(0.01, 1), clearance=st.floats(1, 100))
def test_low_instrument_keeps_its_clearance_on_the_table(width, share, clearance):
    height = share * 4 / 3 * clearance
    found = seal_distance_on_table(width + height + 2 * clearance, width, height)
    assert found is not None and found >= clearance - 1e-6


@given(width=sizes, height=sizes)
def test_half_girth_is_that_of_the_section(width, height):
    section = Polygon([(0, 0), (width, 0), (width, height), (0, height)])
    assert footprint(box(100, width, height)).across == pytest.approx(section.length / 2)


@pytest.mark.parametrize(("diameter", "takes"), [(10, 15.7), (30, 47.1), (50, 78.5)])
def test_round_section_takes_half_its_circumference(diameter, takes):
    assert footprint(box(200, diameter, diameter), True).across == pytest.approx(takes, abs=0.05)


@pytest.mark.parametrize(
    ("sides", "along"),
    [((200, 30, 30), 230), ((30, 30, 20), 50), ((30, 20, 30), 60), ((30, 30, 30), 47.1)],
)
def test_only_a_ball_is_round_along_as_well(sides, along):
    assert footprint(box(*sides), True).along == pytest.approx(along, abs=0.05)


def test_round_section_against_shapely():
    circle = Point(0, 0).buffer(15, quad_segs=512)
    assert footprint(box(200, 30, 30), True).across == pytest.approx(circle.length / 2, rel=1e-4)


@given(width=sizes, height=sizes)
def test_width_and_height_may_be_exchanged(width, height):
    one, other = footprint(box(100, width, height)), footprint(box(100, height, width))
    assert one.across == pytest.approx(other.across)


@pytest.mark.parametrize("case", cases("side_by_side"), ids=named)
class TestSideBySide:
    rules = policy(most_items_in_pouch=5)

    def row(self, case):
        return side_by_side([box(*item) for item in case["items"]], self.rules)

    def test_width_needed(self, case):
        assert footprint(self.row(case)).across + 50 == pytest.approx(case["need_width"])

    def test_length_needed(self, case):
        assert footprint(self.row(case)).along + 55 == pytest.approx(case["need_length"])

    def test_half_girth(self, case):
        assert footprint(self.row(case)).across == pytest.approx(case["half_girth"])

    def test_true_hull_is_never_larger(self, case):
        corners, left = [], 0.0
        for _, width, height in case["items"]:
            corners += [(left, 0), (left + width, 0), (left, height), (left + width, height)]
            left += width + 10
        half = MultiPoint(corners).convex_hull.length / 2
        assert half == pytest.approx(case["half_hull"], abs=0.05)
        assert half <= case["half_girth"] + 1e-9


@given(st.lists(st.tuples(sizes, sizes, sizes), min_size=2, max_size=4))
def test_one_more_never_needs_less(items):
    boxes = [box(*item) for item in items]
    fewer = footprint(side_by_side(boxes[:-1], policy()))
    more = footprint(side_by_side(boxes, policy()))
    assert more.across >= fewer.across and more.along >= fewer.along


def test_unknown_size_makes_the_row_unknown():
    assert side_by_side([box(100, 10, 5), box(100, None, 5)], policy()).width_mm is None


@pytest.mark.parametrize("count", [0, 5])
def test_none_and_too_many_in_one_pouch_are_refused(count):
    with pytest.raises(FactsError):
        side_by_side([box(100, 10, 5)] * count, policy())


@pytest.mark.parametrize("case", cases("pouches"), ids=named)
class TestChosenPouch:
    def chosen(self, case) -> Candidate:
        decision = decide(question(instrument(*case["item"]), *stock()), policy())
        assert decision.recommended is not None
        return decision.recommended

    def test_code(self, case):
        assert self.chosen(case).code == case["code"]

    def test_width_left(self, case):
        assert self.chosen(case).finding("width").margin == pytest.approx(case["width"])

    def test_length_left(self, case):
        assert self.chosen(case).finding("length").margin == pytest.approx(case["length"])

    def test_fill(self, case):
        assert self.chosen(case).finding("fill").figure == pytest.approx(case["fill"], abs=5e-4)

    def test_ruler_distance(self, case):
        assert self.chosen(case).details["ruler_side_mm"] == pytest.approx(case["ruler"])

    def test_tall_caution(self, case):
        said = any("Tall" in caution.text for caution in self.chosen(case).cautions)
        assert said is case["tall"]


class TestWhyPassedOver:
    def test_handpiece_is_only_too_heavy_for_the_next_smaller(self):
        reasons = in_pouch(instrument(190, 60, 48, 900), pouch("P08")).reasons
        assert [finding.rule for finding in reasons] == ["contents weight"]

    def test_long_rod_is_too_short_for_every_pouch(self):
        item = instrument(640, 12, 12, 500)
        assert all(
            in_pouch(item, supply).finding("length").status is Status.NOT_MET for supply in stock()
        )

    @pytest.mark.parametrize(
        ("code", "rules"),
        [
            ("P01", {"width", "length", "fill"}),
            ("P02", {"length", "fill"}),
            ("P03", {"length"}),
            ("P10", {"length"}),
        ],
    )
    def test_long_rod_keeps_every_reason(self, code, rules):
        reasons = in_pouch(instrument(640, 12, 12, 100), pouch(code)).reasons
        assert {finding.rule for finding in reasons} == rules

    def test_rod_needs_707(self):
        found = in_pouch(instrument(640, 12, 12), pouch("P10")).finding("length")
        assert found.figure == pytest.approx(707)


class TestExactFit:
    """70 + 12 + 2 x 25 = 132: what is needed exactly is enough, and does not depend on rounding."""

    @pytest.mark.parametrize(
        ("width", "status"), [(132.0, Status.MET), (131.995, Status.MET), (131.98, Status.NOT_MET)]
    )
    def test_width(self, width, status):
        supply = Pouch(code="X", inner_width_mm=width, inner_length_mm=400)
        item = footprint(box(180, 70, 12))
        found = width_finding(item, supply, free_round(item, policy()))
        assert found.status is status


class TestSentences:
    def test_too_narrow(self):
        found = in_pouch(instrument(115, 58, 8), pouch("P02")).finding("width")
        assert found.sentence() == (
            "Too narrow: 116 mm needed (66 mm for the instrument, 50 mm free), "
            "84 mm there, 32 mm lacking."
        )

    def test_long_enough(self):
        found = in_pouch(instrument(115, 58, 8), pouch("P04")).finding("length")
        assert found.sentence() == (
            "178 mm of length needed (123 mm for the instrument, 55 mm free), 255 mm there."
        )


class TestUnknownSizes:
    @pytest.mark.parametrize("missing", ["length_mm", "width_mm", "height_mm", "weight_g"])
    def test_never_pass(self, missing):
        item = replace(instrument(100, 20, 8), **{missing: None})
        assert in_pouch(item, pouch("P10")).status is Status.CANNOT_TELL

    def test_width_alone_may_already_be_too_much(self):
        found = in_pouch(instrument(100, 60, None), pouch("P02")).finding("width")
        assert found.status is Status.NOT_MET

    @pytest.mark.parametrize("field", ["inner_width_mm", "inner_length_mm", "rated_g", "material"])
    def test_unknown_fact_of_the_pouch_never_passes(self, field):
        supply = replace(pouch("P10"), **{field: None})
        assert in_pouch(instrument(100, 20, 8), supply).status is Status.CANNOT_TELL

    @pytest.mark.parametrize(
        ("width", "status"),
        [(110.0, Status.CANNOT_TELL), (109.99, Status.CANNOT_TELL), (109.9, Status.NOT_MET)],
    )
    def test_unknown_height_is_taken_as_none_only_to_refuse(self, width, status):
        supply = Pouch(code="X", inner_width_mm=width, inner_length_mm=400)
        item = footprint(box(100, 60, None))
        found = width_finding(item, supply, free_round(item, policy()))
        assert found.status is status

    def test_fill_is_refused_only_when_proved(self):
        found = fill_finding(box(100, 80, None), footprint(box(100, 80, None)), 100, 100, policy())
        assert found.status is Status.NOT_MET


class TestDetails:
    found = in_pouch(instrument(115, 58, 8), pouch("P04"))

    @pytest.mark.parametrize(
        ("name", "value"),
        [
            ("fill_plain", 115 * 58 / (134 * 255)),
            ("fill_tented", 123 * 66 / (134 * 255)),
            ("base_distance_mm", 25),
            ("closing_distance_mm", 255 - 123 - 25),
            ("material_mm2", 2 * 150 * 300),
        ],
    )
    def test_value(self, name, value):
        assert self.found.details[name] == pytest.approx(value)

    def test_wider_than_one_panel_is_a_caution(self):
        found = in_pouch(instrument(100, 190, 8), pouch("G11"))
        assert any("Wider than one panel" in caution.text for caution in found.cautions)

    @pytest.mark.parametrize(
        ("reading", "words"), [("plain", "lying flat"), ("tented", "film drawn up over it")]
    )
    def test_fill_says_how_it_was_read(self, reading, words):
        found = in_pouch(instrument(115, 58, 8), pouch("P04"), policy(fill_reading=reading))
        assert words in found.finding("fill").sentence()


class TestLyingAcross:
    item = instrument(60, 100, 8)

    def test_not_unless_the_policy_lets_it(self):
        assert in_pouch(self.item, pouch("P04")).status is Status.NOT_MET

    def test_taken_where_it_serves(self):
        found = in_pouch(self.item, pouch("P04"), policy(allow_rotate=True))
        assert found.status is Status.MET

    def test_said_in_a_caution(self):
        found = in_pouch(self.item, pouch("P04"), policy(allow_rotate=True))
        assert "across" in found.cautions[0].text
