"""What is in your hand: packages, numbers, sets, names, and nothing."""

from __future__ import annotations

import pytest

from catalog.lookup.finding import find
from catalog.models import Instrument
from tests.factories import bench as at
from tests.factories import catalog as make

pytestmark = pytest.mark.django_db


def test_an_item_number_is_its_instrument() -> None:
    instrument = make.Instrument(item_number="T-1")
    make.Instrument(item_number="T-11")
    assert find(" t-1 ").one == instrument


def test_a_set_code_is_its_set() -> None:
    instrument_set = make.InstrumentSet(code="TS-1")
    assert find("ts-1").one == instrument_set


def test_a_package_label_is_its_package() -> None:
    package = at.signed()
    assert find(package.code).one == package


def test_a_misread_label_says_so_and_finds_nothing() -> None:
    code = at.signed().code
    found = find(code[:-1] + ("0" if code[-1] != "0" else "1"))
    assert (found.one, "misread" in found.problem) == (None, True)


def test_a_nickname_of_one_is_that_one() -> None:
    instrument = make.Instrument(also_known_as="peanut; pickups", name="Tissue forceps")
    assert find("peanut").one == instrument


def test_a_nickname_that_another_name_contains_lists_both_its_own_first() -> None:
    make.Instrument(item_number="T-1", name="Holder for a peanut swab")
    make.Instrument(item_number="T-2", also_known_as="peanut; pickups", name="Tissue forceps")
    found = find("peanut")
    assert (found.one, [one.item_number for one in found.instruments]) == (None, ["T-2", "T-1"])


def test_several_are_offered() -> None:
    make.Instrument.create_batch(2, name="Kelly forceps")
    found = find("kelly")
    assert (found.one, len(found.instruments)) == (None, 2)


def test_a_number_that_is_a_set_code_too_offers_both() -> None:
    make.Instrument(item_number="T-1")
    make.InstrumentSet(code="T-1")
    found = find("T-1")
    assert (found.one, len(found.instruments), len(found.sets)) == (None, 1, 1)


def test_a_retired_instrument_is_not_found() -> None:
    make.Instrument(item_number="T-9", retired=True)
    assert find("T-9").nothing


def test_nothing_says_what_to_try() -> None:
    assert "Nothing is called" in find("zzz").problem


def test_no_words_are_no_question() -> None:
    assert find("  ").problem == ""


class TestMakersCodes:
    """What stands on the instrument itself, as a scanner sends it."""

    GTIN = "09501101530003"

    @pytest.fixture
    def marked(self) -> Instrument:
        from catalog.actions import Actor, add_identifier
        from catalog.scans.scanning import read_scan

        instrument = make.Instrument(item_number="T-1")
        wanted = read_scan(f"(01){self.GTIN}").identifiers[0]
        add_identifier(Actor("bea"), instrument, wanted, "on the instrument")
        return instrument

    def test_a_gs1_code_with_lot_and_separator_opens_its_instrument(
        self, marked: Instrument
    ) -> None:
        assert find(f"]d201{self.GTIN}10A213B1\x1d211234").one == marked

    def test_a_bare_number_opens_its_instrument(self, marked: Instrument) -> None:
        assert find(self.GTIN).one == marked

    def test_a_code_that_nobody_put_on_record_says_so(self) -> None:
        assert "No instrument bears this code" in find(f"01{self.GTIN}").problem

    def test_a_patients_code_is_refused_and_not_repeated(self) -> None:
        found = find("(8018)123456789012345675")
        assert found.problem and "12345678901234567" not in found.words + found.problem
