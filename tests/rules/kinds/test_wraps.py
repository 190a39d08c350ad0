"""Wraps: the least sheet for a pack, and whether a sheet in stock serves."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assembly.rules.deciding.choose import decide
from assembly.rules.findings import Candidate, Outcome, Status
from assembly.rules.kinds.folds import (
    NEAR,
    SIDES,
    envelope_sheet,
    square_sheet,
)
from assembly.rules.kinds.wraps import wrap_candidate
from assembly.rules.telling.explain import name
from catalog.vocabulary import Fold, Kind
from tests.rules.geometry import closure_side
from tests.rules.given import box, cases, instrument, named, policy, question, routes, wrap
from tests.rules.kinds.folding import INCH, METRIC, MID_LINE, STRICT, TRAY, depths, sides


def in_wrap(item, supply, rules=None, **more) -> Candidate:
    return wrap_candidate(question(item, supply, **more), supply, routes(), rules or policy())


def smallest(case, stock, fold: Fold, scale: float = 1.0) -> float:
    """The sheet taken from square stock, 0 where none serves."""
    supplies = [wrap(size * scale) for size in stock]
    asked = question(instrument(*case["pack"], 1000), *supplies, fold=fold)
    found = decide(asked, policy()).recommended
    return float(found.code[1:]) / scale if found else 0.0


@pytest.mark.parametrize("case", cases("wraps"), ids=named)
class TestThirteenPacks:
    def test_envelope_closure(self, case):
        assert round(closure_side(*case["pack"])) == case["closure"]

    def test_envelope_mid_line(self, case):
        assert round(envelope_sheet(*case["pack"], MID_LINE).side_mm) == case["mid_line"]

    def test_envelope_whole_top(self, case):
        assert round(envelope_sheet(*case["pack"], STRICT).side_mm) == case["whole_top"]

    def test_what_decides(self, case):
        word = {"near": NEAR, "sides": SIDES}[case["binding"]]
        assert envelope_sheet(*case["pack"], STRICT).binding == word

    def test_next_metric_sheet(self, case):
        assert smallest(case, METRIC, Fold.ENVELOPE) == pytest.approx(case["next_mm"])

    def test_next_inch_sheet(self, case):
        assert smallest(case, INCH, Fold.ENVELOPE, 25.4) == pytest.approx(case["next_in"])

    def test_square_whole_top(self, case):
        sheet = square_sheet(*case["pack"], STRICT)
        assert [round(sheet.a_mm), round(sheet.b_mm)] == case["square_whole_top"]

    def test_square_mid_line(self, case):
        sheet = square_sheet(*case["pack"], MID_LINE)
        assert [round(sheet.a_mm), round(sheet.b_mm)] == case["square_mid_line"]

    def test_square_next_metric_sheet(self, case):
        assert smallest(case, METRIC, Fold.SQUARE) == pytest.approx(case["square_next_mm"])

    def test_square_next_inch_sheet(self, case):
        assert smallest(case, INCH, Fold.SQUARE, 25.4) == pytest.approx(case["square_next_in"])


class TestRealSizes:
    """757 mm fits a 30 in sheet (762 mm) and not a 750 mm one."""

    half_basket = instrument(250, 240, 50, 1500)

    @pytest.mark.parametrize(("side", "status"), [(762.0, Status.MET), (750.0, Status.NOT_MET)])
    def test_thirty_inches_are_not_750(self, side, status):
        found = in_wrap(self.half_basket, wrap(side), fold=Fold.ENVELOPE)
        assert found.finding("sheet").status is status

    def test_exact_sheet_is_enough(self):
        side = envelope_sheet(480, 250, 50, STRICT).side_mm
        found = in_wrap(TRAY, wrap(side), fold=Fold.ENVELOPE)
        assert found.finding("sheet").status is Status.MET

    def test_envelope_uses_the_shorter_side_of_a_rectangle(self):
        found = in_wrap(TRAY, wrap(900, 2000), fold=Fold.ENVELOPE)
        assert found.finding("sheet").status is Status.NOT_MET

    @pytest.mark.parametrize(("width", "length"), [(950, 1160), (1160, 950)])
    def test_square_fold_takes_a_rectangle_either_way_round(self, width, length):
        found = in_wrap(TRAY, wrap(width, length), fold=Fold.SQUARE)
        assert found.finding("sheet").status is Status.MET

    @pytest.mark.parametrize(("width", "length"), [(949, 1160), (950, 1159)])
    def test_square_fold_needs_both_sides(self, width, length):
        found = in_wrap(TRAY, wrap(width, length), fold=Fold.SQUARE)
        assert found.finding("sheet").status is Status.NOT_MET

    def test_smallest_by_real_area(self):
        asked = question(TRAY, wrap(1200), wrap(1016), wrap(1000))
        assert decide(asked, policy()).recommended.code == "W1000"

    def test_none_large_enough(self):
        asked = question(instrument(900, 500, 200, 3000), wrap(1370))
        assert decide(asked, policy()).outcome is Outcome.NONE


def test_a_sheet_that_is_too_small_says_by_how_much():
    found = in_wrap(instrument(300, 200, 50), wrap(500)).finding("sheet")
    words = "Too small: by our geometry the envelope fold needs "
    assert found.sentence().startswith(words) and "500 mm there" in found.sentence()


class TestWhichFold:
    def test_envelope_where_both_serve(self):
        assert in_wrap(TRAY, wrap(1200)).details["fold"] == "envelope"

    def test_square_where_only_that_serves(self):
        assert in_wrap(instrument(600, 120, 60, 900), wrap(600, 1500)).details["fold"] == "square"

    @pytest.mark.parametrize(
        ("sheet", "fold"),
        [((300, 300), "envelope"), ((500, 1500), "square")],
    )
    def test_the_one_that_lacks_least_where_neither_serves(self, sheet, fold):
        """600 x 120 x 60 needs 1075 x 1075 or 580 x 1420."""
        found = in_wrap(instrument(600, 120, 60, 900), wrap(*sheet))
        assert (found.status, found.details["fold"]) == (Status.NOT_MET, fold)

    def test_caution_says_what_each_is_for(self):
        found = in_wrap(TRAY, wrap(1200))
        assert any("opened on a table" in caution.text for caution in found.cautions)

    def test_no_such_caution_where_the_fold_was_asked_for(self):
        found = in_wrap(TRAY, wrap(1200), fold=Fold.ENVELOPE)
        assert not any("opened on a table" in caution.text for caution in found.cautions)

    def test_name(self):
        assert name(in_wrap(TRAY, wrap(1000))) == "wrap W1000, envelope fold"


class TestTwoSheets:
    """The second of two single sheets goes round a pack 4 mm larger each way."""

    def test_second_sheet_is_larger(self):
        found = in_wrap(TRAY, wrap(1000, layers=1), fold=Fold.ENVELOPE)
        assert found.details["second_sheet_side_mm"] == pytest.approx(
            envelope_sheet(484, 254, 54, STRICT).side_mm
        )

    @pytest.mark.parametrize(
        ("layers", "status"), [(2, Status.MET), (1, Status.NOT_MET), (None, Status.NOT_MET)]
    )
    def test_sheet_that_only_serves_once(self, layers, status):
        side = envelope_sheet(480, 250, 50, STRICT).side_mm
        found = in_wrap(TRAY, wrap(side, layers=layers), fold=Fold.ENVELOPE)
        assert found.finding("sheet").status is status

    def test_unknown_layers_are_a_caution(self):
        found = in_wrap(TRAY, wrap(1000, layers=None))
        assert any("bonded" in caution.text for caution in found.cautions)

    @pytest.mark.parametrize(("layers", "sheets"), [(2, 1), (1, 2), (None, 2)])
    def test_how_many_sheets(self, layers, sheets):
        assert in_wrap(TRAY, wrap(1200, layers=layers)).details["sheets"] == sheets


class TestUnknown:
    @pytest.mark.parametrize("missing", ["length_mm", "width_mm", "height_mm"])
    def test_nothing_is_wrapped_blind(self, missing):
        found = in_wrap(replace(TRAY, **{missing: None}), wrap(1370))
        assert found.finding("sheet").status is Status.CANNOT_TELL
        assert "do not wrap blind" in found.finding("sheet").sentence()

    def test_too_large_even_with_no_height(self):
        found = in_wrap(replace(TRAY, height_mm=None), wrap(500))
        assert found.finding("sheet").status is Status.NOT_MET

    def test_unknown_height_of_the_pack_is_named(self):
        decision = decide(question(TRAY, wrap(1370), pack=box(480, 250, None)), policy())
        assert decision.unknown == ("pack.height_mm",)

    @pytest.mark.parametrize("missing", ["width_mm", "length_mm", "rated_g", "material"])
    def test_unknown_fact_of_the_wrap_never_passes(self, missing):
        supply = replace(wrap(1370), **{missing: None})
        assert in_wrap(TRAY, supply).status is Status.CANNOT_TELL

    def test_unknown_size_of_the_sheet_is_named_as_its_own(self):
        supply = replace(wrap(1370), width_mm=None)
        assert decide(question(TRAY, supply), policy()).unknown == ("W1370.width_mm",)

    def test_unknown_weight(self):
        assert in_wrap(replace(TRAY, weight_g=None), wrap(1370)).status is Status.CANNOT_TELL


class TestPackAndReading:
    def test_the_pack_is_wrapped_where_one_is_given(self):
        found = in_wrap(instrument(100, 20, 8), wrap(1000), pack=box(480, 250, 50))
        assert round(found.details["sheet_side_mm"]) == 940

    @pytest.mark.parametrize("pack", [None, box(480, 250, 50)], ids=["itself", "a pack"])
    def test_of_a_pack_the_weight_on_record_is_said_to_be_that_of_all(self, pack):
        found = in_wrap(TRAY, wrap(1000), pack=pack)
        said = any("taken as that of everything" in caution.text for caution in found.cautions)
        assert said is (pack is not None)

    def test_mid_line_reading_needs_less(self):
        found = in_wrap(TRAY, wrap(900), policy(wrap_near="mid-line"), fold=Fold.ENVELOPE)
        assert found.finding("sheet").status is Status.MET

    def test_both_readings_are_shown(self):
        details = in_wrap(TRAY, wrap(1000), fold=Fold.ENVELOPE).details
        both = (round(details["whole_top_side_mm"]), round(details["mid_line_side_mm"]))
        assert both == (940, 891)

    def test_sentence_says_that_the_geometry_is_ours(self):
        assert "our geometry" in in_wrap(TRAY, wrap(1000)).finding("sheet").sentence()

    def test_source_says_that_the_geometry_is_ours(self):
        assert in_wrap(TRAY, wrap(1000)).finding("sheet").source.startswith("our geometry; ")

    def test_sentence_names_what_decides(self):
        assert "the near flap decides" in in_wrap(TRAY, wrap(1000)).finding("sheet").sentence()

    @pytest.mark.parametrize(("side", "over"), [(1190.0, False), (1191.0, True)])
    def test_oversize(self, side, over):
        found = in_wrap(TRAY, wrap(side), fold=Fold.ENVELOPE)
        assert found.details["oversize"] is over

    def test_taller_than_wide_is_a_caution_in_the_square_fold(self):
        found = in_wrap(instrument(200, 50, 90, 500), wrap(1000), fold=Fold.SQUARE)
        assert any("Taller than wide" in caution.text for caution in found.cautions)


def test_unknown_size_in_the_square_fold_is_not_called_tall():
    found = in_wrap(instrument(None, 50, 90, 500), wrap(1000), fold=Fold.SQUARE)
    assert not any("Taller than wide" in caution.text for caution in found.cautions)


class TestWeight:
    @pytest.mark.parametrize(("weight", "status"), [(2721, Status.MET), (2722, Status.NOT_MET)])
    def test_rating(self, weight, status):
        found = in_wrap(replace(TRAY, weight_g=weight), wrap(1000, rated_g=2721))
        assert found.finding("contents weight").status is status

    @pytest.mark.parametrize(
        ("weight", "status"), [(11_219.8, Status.MET), (11_220, Status.NOT_MET)]
    )
    def test_gross_limit_applies(self, weight, status):
        """Both layers of the sheet weigh 120 g."""
        sheet = wrap(1000, rated_g=20_000, weight_g_m2=60)
        found = in_wrap(replace(TRAY, weight_g=weight), sheet)
        assert found.finding("gross weight").status is status

    @pytest.mark.parametrize(("weight", "status"), [(7900, Status.MET), (7901, Status.NOT_MET)])
    def test_a_limit_for_wrapped_packs_applies(self, weight, status):
        """8 kg for a wrapped tray: Swiss note as quoted; two layers of 50 g are 100 g."""
        rules = policy(gross_limit_wrapped_g=8000.0)
        supply = wrap(1000, rated_g=20_000, weight_g_m2=50)
        found = in_wrap(replace(TRAY, weight_g=weight), supply, rules)
        assert found.finding("gross weight").status is status


def test_forbidden_by_the_instrument():
    item = replace(TRAY, forbids=frozenset({Kind.WRAP}))
    assert in_wrap(item, wrap(1200)).finding("allowed").status is Status.NOT_MET


@given(sides, sides, depths, st.permutations(METRIC))
def test_smallest_sheet_that_serves(length, width, height, sizes):
    """Brute force over the stock, either fold."""
    least = min(
        envelope_sheet(length, width, height, STRICT).side_mm,
        square_sheet(length, width, height, STRICT).side_mm,
    )
    best = min((size for size in METRIC if size >= least - 0.01), default=None)
    asked = question(instrument(length, width, height, 900), *(wrap(size) for size in sizes))
    found = decide(asked, policy()).recommended
    assert (found and found.code) == (best and f"W{best}")
