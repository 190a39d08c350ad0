"""Every row of the CDC guideline of 2008 against the shipped rows and the rule.

Source: Rutala WA, Weber DJ, HICPAC. Guideline for Disinfection and Sterilization in
Healthcare Facilities, 2008. CDC. Table 7, minimum cycle times for steam sterilization
cycles: wrapped items, minutes of exposure and of drying.
"""

from __future__ import annotations

from datetime import date

import pytest

from assembly.rules.deciding.choose import decide
from assembly.rules.facts.cycles import Contents, CycleOption, Programme
from assembly.rules.findings import Outcome, Status
from assembly.rules.methods.beside_published import published_minimum_finding
from assembly.rules.methods.published import published_for, published_rows
from assembly.rules.policy.values import default_policy
from catalog.vocabulary import AirRemoval, ItemClass, Material, Method
from tests.rules.given import instrument, question, wrap

POLICY = default_policy(date(2026, 12, 1))
TABLE = "CDC guideline for disinfection and sterilization 2008, Table 7"
GRAVITY, DYNAMIC = AirRemoval.GRAVITY, AirRemoval.DYNAMIC
INSTRUMENTS, TEXTILES, UTENSILS = ItemClass.INSTRUMENTS, ItemClass.TEXTILES, ItemClass.UTENSILS

ROWS = [  # sterilizer, item, °C, exposure, drying from, drying to: CDC 2008, Table 7
    (GRAVITY, INSTRUMENTS, 121, 30, 15, 30),  # CDC 2008, Table 7
    (GRAVITY, INSTRUMENTS, 132, 15, 15, 30),  # CDC 2008, Table 7
    (GRAVITY, TEXTILES, 121, 30, 15, 15),  # CDC 2008, Table 7
    (GRAVITY, TEXTILES, 132, 25, 15, 15),  # CDC 2008, Table 7
    (GRAVITY, UTENSILS, 121, 30, 15, 30),  # CDC 2008, Table 7
    (GRAVITY, UTENSILS, 132, 15, 15, 30),  # CDC 2008, Table 7
    (DYNAMIC, INSTRUMENTS, 132, 4, 20, 30),  # CDC 2008, Table 7
    (DYNAMIC, TEXTILES, 132, 4, 5, 20),  # CDC 2008, Table 7
    (DYNAMIC, UTENSILS, 132, 4, 20, 20),  # CDC 2008, Table 7
]
each_row = pytest.mark.parametrize(
    ("sterilizer", "item", "at", "exposure", "dry_from", "dry_to"), ROWS
)


def status(sterilizer, item, at, exposure, drying) -> Status:
    run = Programme(
        code="P",
        method=Method.STEAM,
        temperature_c=at,
        exposure_min=exposure,
        drying_min=drying,
        air_removal=sterilizer,
    )
    return published_minimum_finding(run, Contents(item_class=item), POLICY).status


@each_row
def test_the_row_is_shipped(sterilizer, item, at, exposure, dry_from, dry_to):
    row = published_for(sterilizer, item, at)
    found = (row.exposure_min, row.drying_from_min, row.drying_to_min, row.source)
    assert found == (exposure, dry_from, dry_to, TABLE)


@each_row
def test_exactly_the_published_times_are_met(sterilizer, item, at, exposure, dry_from, dry_to):
    assert status(sterilizer, item, at, exposure, dry_from) is Status.MET


@each_row
def test_a_minute_less_exposure_is_not_met(sterilizer, item, at, exposure, dry_from, dry_to):
    assert status(sterilizer, item, at, exposure - 1, dry_from) is Status.NOT_MET


@each_row
def test_a_minute_less_drying_is_not_met(sterilizer, item, at, exposure, dry_from, dry_to):
    assert status(sterilizer, item, at, exposure, dry_from - 1) is Status.NOT_MET


@pytest.mark.parametrize("item", list(ItemClass))
def test_nothing_is_published_for_dynamic_air_removal_at_121(item):
    """CDC 2008, Table 7 leaves these three cells empty."""
    assert published_for(DYNAMIC, item, 121) is None


def test_no_further_row_claims_to_be_of_the_table():
    assert len([row for row in published_rows() if row.source == TABLE]) == len(ROWS)


class TestThroughTheWholeDecision:
    """The rows asked of a package: an IFU that leaves drying, or air removal, to the table."""

    def outcome(self, kind, item, at, exposure, drying, *, stated=True) -> Outcome:
        ifu = CycleOption(
            method=Method.STEAM, temperature_c=at, exposure_min=min(exposure, 10),
            exposure_max=60, air_removal=kind if stated else None,
        )  # fmt: skip
        run = Programme(
            code="P", method=Method.STEAM, temperature_c=at, exposure_min=exposure,
            drying_min=drying, air_removal=kind,
        )  # fmt: skip
        thing = instrument(200, 150, 100, 300, item_class=item, cycles=(ifu,))
        sheet = wrap(900, material=Material.TEXTILE)
        return decide(question(thing, sheet, programmes=(run,)), POLICY).outcome

    @each_row
    def test_the_row_itself_is_taken(self, sterilizer, item, at, exposure, dry_from, dry_to):
        found = self.outcome(sterilizer, item, at, exposure, dry_from)
        assert found is Outcome.RECOMMENDED

    @each_row
    def test_a_minute_less_drying_is_not(self, sterilizer, item, at, exposure, dry_from, dry_to):
        assert self.outcome(sterilizer, item, at, exposure, dry_from - 1) is Outcome.NONE

    @pytest.mark.parametrize(("item", "at", "exposure"), [
        (row[1], row[2], row[3]) for row in ROWS if row[0] is GRAVITY
    ])  # fmt: skip
    @pytest.mark.parametrize(("less", "answer"), [(0, Outcome.RECOMMENDED), (1, Outcome.NONE)])
    def test_silent_on_air_removal_gravity_is_held_to_its_row(
        self, item, at, exposure, less, answer
    ):
        found = self.outcome(GRAVITY, item, at, exposure - less, 30, stated=False)
        assert found is answer

    @pytest.mark.parametrize(
        ("kind", "answer"), [(GRAVITY, Outcome.RECOMMENDED), (None, Outcome.UNDECIDED)]
    )
    def test_a_sterilizer_of_unknown_kind_is_not_passed_by_the_row_of_one(self, kind, answer):
        """CDC 2008, Table 7, has a row for 121 °C by gravity and none by dynamic air removal."""
        either = CycleOption(method=Method.STEAM, temperature_c=121, exposure_min=30,
                             drying_min=15, air_removal=AirRemoval.EITHER)  # fmt: skip
        run = Programme(code="P", method=Method.STEAM, temperature_c=121, exposure_min=30,
                        drying_min=15, air_removal=kind)  # fmt: skip
        item = instrument(200, 150, 100, 300, cycles=(either,))
        sheet = wrap(900, material=Material.TEXTILE)
        assert decide(question(item, sheet, programmes=(run,)), POLICY).outcome is answer
