"""Weights: ratings, limits with their basis, presets by country, textile packs."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assembly.rules.facts.checks import FactsError
from assembly.rules.facts.instruments import Instrument
from assembly.rules.findings import Rule, Status
from assembly.rules.limits.textiles import (
    heaviest_by_density,
    textile_density_finding,
    textile_findings,
    textile_size_finding,
    textile_weight_finding,
)
from assembly.rules.limits.weights import (
    Piece,
    Weighing,
    gross_finding,
    load_finding,
    net_finding,
    rating_finding,
    scale_reading,
    weigh,
    weight_finding,
)
from assembly.rules.policy.presets import presets
from catalog.vocabulary import ItemClass
from tests.rules.given import ON, box, cases, named, policy, preset_policy

TARE = 3200
grams = st.floats(1, 5000)


def weighed(case) -> Weighing:
    pieces = [
        Piece(name=f"line {n}", quantity=q, weight_g=w, tolerance_g=t)
        for n, (q, w, t) in enumerate(case["lines"])
    ]
    for n, (quantity, *bounds) in enumerate(case.get("unknown", ())):
        least, most = bounds or (None, None)
        pieces.append(Piece(name=f"not weighed {n}", quantity=quantity, least_g=least, most_g=most))
    return weigh(pieces).plus("tare", TARE, "").plus("accessories", case["accessories"], "")


@pytest.mark.parametrize("case", cases("weights"), ids=named)
class TestSets:
    def test_known(self, case):
        assert weighed(case).known == pytest.approx(case["known"])

    def test_least(self, case):
        assert weighed(case).least == pytest.approx(case["least"])

    def test_most(self, case):
        most = weighed(case).most
        assert most == (pytest.approx(case["most"]) if "most" in case else None)

    def test_against_10_kg(self, case):
        assert gross_finding(weighed(case), policy(gross_limit_g=10_000)).status == case["kg10"]

    def test_against_25_lb(self, case):
        assert gross_finding(weighed(case), policy()).status == case["lb25"]


def test_nothing_in_it_yet_says_so():
    found = gross_finding(weigh([]).plus("tare", TARE, ""), policy())
    assert found.sentence() == "Nothing is in it yet: 3.20 kg."


def test_what_is_not_weighed_is_named():
    found = gross_finding(weigh([Piece(name="rasp", quantity=1)]).plus("tare", TARE, ""), policy())
    assert "weigh rasp" in found.sentence()


def test_a_reading_replaces_the_sum():
    found = gross_finding(scale_reading(9990, 20), policy(gross_limit_g=10_000))
    assert found.status is Status.CANNOT_TELL


@pytest.mark.parametrize("quantity", [-1, True])
def test_impossible_quantity_is_refused(quantity):
    with pytest.raises(FactsError):
        Piece(name="rasp", quantity=quantity)


class TestSentences:
    def test_over(self):
        found = gross_finding(weigh([Piece(name="x", quantity=1, weight_g=12_000)]), policy())
        assert found.sentence() == (
            "Over: the gross weight (contents and packaging) is 12.00 kg, 660.2 g over 11.34 kg."
        )

    def test_over_by_what_is_known(self):
        pieces = [Piece(name="x", quantity=1, weight_g=12_000), Piece(name="y", quantity=1)]
        assert gross_finding(weigh(pieces), policy()).sentence() == (
            "Over: what is known of the gross weight (contents and packaging) is already "
            "12.00 kg; at most 11.34 kg."
        )


class TestBasis:
    """Net, load and gross are never mixed: each sentence says which it is."""

    weighing = weigh([Piece(name="rasp", quantity=1, weight_g=6000)])

    @pytest.mark.parametrize(
        ("finding", "limit", "words"),
        [
            (gross_finding, "gross_limit_g", "gross weight (contents and packaging)"),
            (load_finding, "load_limit_g", "load (contents, without the container)"),
            (net_finding, "net_limit_g", "net weight (instruments alone)"),
        ],
    )
    def test_named_in_the_sentence(self, finding, limit, words):
        assert words in finding(self.weighing, policy(**{limit: 7000})).sentence()

    @pytest.mark.parametrize(
        ("finding", "limit"),
        [(gross_finding, "gross_limit_g"), (load_finding, "load_limit_g"),
         (net_finding, "net_limit_g")],
    )  # fmt: skip
    @pytest.mark.parametrize(
        ("most", "status"), [(6000, Status.MET), (5999, Status.NOT_MET),
                             ("not set", Status.DOES_NOT_APPLY)]
    )  # fmt: skip
    def test_its_own_limit_rules(self, finding, limit, most, status):
        assert finding(self.weighing, policy(**{limit: most})).status is status

    def test_wrapped_packs_have_their_own_where_set(self):
        rules = policy(gross_limit_wrapped_g=5000)
        assert gross_finding(self.weighing, rules, wrapped=True).status is Status.NOT_MET

    def test_and_the_general_one_where_not(self):
        assert gross_finding(self.weighing, policy(), wrapped=True).limit == 11_339.81

    def test_a_wrapped_limit_is_not_asked_of_a_container(self):
        rules = policy(gross_limit_wrapped_g=5000)
        assert gross_finding(self.weighing, rules).status is Status.MET


class TestRating:
    @pytest.mark.parametrize(("weight", "rated"), [(None, 100), (100, None), (None, None)])
    def test_unknown_never_passes(self, weight, rated):
        assert rating_finding(weight, rated, "pouch").status is Status.CANNOT_TELL

    @pytest.mark.parametrize(("weight", "status"), [(100.0, Status.MET), (100.1, Status.NOT_MET)])
    def test_threshold(self, weight, status):
        assert rating_finding(weight, 100, "pouch").status is status


GROSS = Rule("gross weight", "s")


@given(grams, grams, st.floats(0, 50))
def test_a_heavier_set_never_passes_where_a_lighter_fails(weight, more, tolerance):
    limit = 4000.0
    light, heavy = (
        weight_finding(GROSS, weigh([Piece(name="x", quantity=1, weight_g=g,
                       tolerance_g=tolerance)]), limit, "gross weight")
        for g in (weight, weight + more)
    )  # fmt: skip
    assert not (heavy.status is Status.MET and light.status is not Status.MET)


@given(grams, st.floats(1, 20_000))
def test_an_unknown_weight_never_passes(weight, limit):
    pieces = [Piece(name="a", quantity=1, weight_g=weight), Piece(name="b", quantity=1)]
    found = weight_finding(GROSS, weigh(pieces), limit, "gross weight")
    assert found.status is not Status.MET


class TestPresets:
    def test_which_there_are(self):
        assert sorted(presets()) == ["ch", "cn", "eu", "nl", "nz-au", "paho", "us"]

    @pytest.mark.parametrize(
        ("preset", "name", "value"),
        [
            ("us", "gross_limit_g", 11_339.81),
            ("us", "load_limit_g", None),
            ("eu", "load_limit_g", 10_000),
            ("eu", "gross_limit_g", None),
            ("eu", "closing_clearance_mm", 30),
            ("nl", "net_limit_g", 8500),
            ("nl", "gross_limit_g", None),
            ("ch", "gross_limit_g", 10_000),
            ("ch", "gross_limit_wrapped_g", 8000),
            ("nz-au", "gross_limit_g", 7000),
            ("cn", "gross_limit_g", 7000),
            ("paho", "gross_limit_g", 5000),
        ],
    )
    def test_value(self, preset, name, value):
        assert preset_policy(preset, ON).number_or_none(name) == value

    @pytest.mark.parametrize("preset", ["ch", "cn", "eu", "nl", "nz-au", "paho", "us"])
    def test_every_value_says_where_it_comes_from(self, preset):
        assert all(entry.source for entry in presets()[preset].on(ON).values())

    def test_before_its_day_the_policy_rules(self):
        assert presets()["eu"].on(date(2019, 12, 31)) == {}

    def test_on_its_day_the_preset_rules(self):
        assert presets()["eu"].on(date(2020, 1, 1))["load_limit_g"].value == 10_000

    def test_source_is_named_in_the_finding(self):
        found = load_finding(TestBasis.weighing, preset_policy("eu", ON))
        assert "prEN 868-8" in found.source


class TestTextilePacks:
    largest = box(508, 304.8, 304.8)

    @pytest.mark.parametrize(
        ("weight", "status"), [(5443.1, Status.MET), (5443.2, Status.NOT_MET),
                               (None, Status.CANNOT_TELL)]
    )  # fmt: skip
    def test_weight(self, weight, status):
        assert textile_weight_finding(weight, policy()).status is status

    @pytest.mark.parametrize(
        ("sides", "status"),
        [
            ((508, 304.8, 304.8), Status.MET),
            ((304.8, 508, 304.8), Status.MET),
            ((508.1, 304.8, 304.8), Status.NOT_MET),
            ((508, 304.9, 304.8), Status.NOT_MET),
            ((508, 304.8, None), Status.CANNOT_TELL),
            ((600, None, None), Status.NOT_MET),
        ],
    )
    def test_size(self, sides, status):
        assert textile_size_finding(box(*sides), policy()).status is status

    @pytest.mark.parametrize(("weight", "status"), [(2721, Status.MET), (2722, Status.NOT_MET)])
    def test_density_of_half_the_largest_pack(self, weight, status):
        """Half the volume may weigh half of 12 lb: 2721.55 g."""
        half = box(254, 304.8, 304.8)
        assert textile_density_finding(half, weight, policy()).status is status

    def test_unknown_size_has_no_density(self):
        assert heaviest_by_density(box(508, None, 300), policy()) is None

    @pytest.mark.parametrize(("pack", "weight"), [(box(508, None, 300), 100), (largest, None)])
    def test_unknown_cannot_be_told(self, pack, weight):
        assert textile_density_finding(pack, weight, policy()).status is Status.CANNOT_TELL

    @pytest.mark.parametrize(
        ("pack", "weight", "missing"),
        [
            (box(508, None, 300), 100, ("pack.width_mm",)),
            (largest, None, ("weight_g",)),
            (box(508, None, 300), None, ("pack.width_mm", "weight_g")),
        ],
    )
    def test_what_is_missing_is_named(self, pack, weight, missing):
        assert textile_density_finding(pack, weight, policy()).missing == missing

    def test_all_three_in_order(self):
        gowns = Instrument(name="gowns", item_class=ItemClass.TEXTILES)
        found = textile_findings([gowns], self.largest, 5000, policy())
        assert [f.rule for f in found] == ["textile size", "textile weight", "textile density"]
