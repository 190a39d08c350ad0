"""GS1 codes printed in public documents, read as those documents read them."""

from __future__ import annotations

from datetime import date

import pytest

from catalog.scans.elements import IdentifierKind
from catalog.scans.gs1 import check_digit_fits
from catalog.scans.scanning import Kind, Scan, read_scan

TODAY = date(2026, 1, 1)
FDA = {"01": "51022222233336", "11": "141231", "17": "150707", "10": "A213B1", "21": "1234"}


def read(raw: str) -> Scan:
    return read_scan(raw, today=TODAY)


def values(raw: str) -> dict[str, str]:
    scan = read(raw)
    assert scan.problem is None
    return {element.key: element.value for element in scan.elements}


CHECK_DIGITS = [
    "6291041500213",  # GS1 Hong Kong, worked example: gs1hk.org/CheckDigitCalculator_en.htm
    "8904000210037",  # GS1 India, worked example: gs1india.org/SERV/checkdgt.htm
    "51022222233336",  # FDA, UDI formats by FDA-accredited issuing agency 1.3, 27 Jan 2017
    "09501101530003",  # GS1 DataMatrix guideline, example (from memory)
    "00643169001763",  # HL7 v2 PRT-16, UDI example
    "03453120000011",  # morovia.com, kb 10644, GS1 DataMatrix
    "12312312312333",  # GS1 syntax engine's test data
    "9501101020917",  # location, morovia.com, kb 10644
    "106141412345678908",  # shipping container (from memory)
]


@pytest.mark.parametrize("digits", CHECK_DIGITS)
def test_a_published_check_digit_fits(digits: str) -> None:
    assert check_digit_fits(digits)


@pytest.mark.parametrize("digits", CHECK_DIGITS)
def test_the_same_with_another_last_digit_does_not_fit(digits: str) -> None:
    assert not check_digit_fits(f"{digits[:-1]}{(int(digits[-1]) + 1) % 10}")


def test_neighbours_that_differ_by_five_may_change_places_unseen() -> None:
    # Arithmetic: 3a + b and 3b + a are equal modulo 10 when a - b is 5. "16" became "61".
    assert check_digit_fits("00643169001763") and check_digit_fits("00643619001763")


@pytest.mark.parametrize(
    "raw",
    # FDA, UDI formats by FDA-accredited issuing agency 1.3, 27 Jan 2017 (G1)
    ["(01)51022222233336(11)141231(17)150707(10)A213B1(21)1234",
     "]d20151022222233336111412311715070710A213B1\x1d211234"],
)  # fmt: skip
def test_fda_example(raw: str) -> None:
    assert values(raw) == FDA


def test_fda_example_dates() -> None:
    # FDA, UDI formats 1.3: made 2014-12-31, expires 2015-07-07
    days = {element.key: element.day for element in read(
        "]d20151022222233336111412311715070710A213B1\x1d211234").elements}  # fmt: skip
    assert (days["11"], days["17"]) == (date(2014, 12, 31), date(2015, 7, 7))


@pytest.mark.parametrize(
    "raw",
    # HL7 v2.x, PRT-16, UDI example: the serial begins with "21" (G2)
    ["(01)00643169001763(17)160712(21)21A11F4855", "0100643169001763171607122121A11F4855"],
)
def test_hl7_example(raw: str) -> None:
    assert values(raw) == {"01": "00643169001763", "17": "160712", "21": "21A11F4855"}


@pytest.mark.parametrize(
    "raw",
    # morovia.com, kb 10644, GS1 DataMatrix (G3)
    ["(01)03453120000011(17)120508(10)ABCD1234(410)9501101020917",
     "]d2010345312000001117120508" + "10ABCD1234\x1d4109501101020917"],
)  # fmt: skip
def test_article_example(raw: str) -> None:
    assert values(raw) == {
        "01": "03453120000011", "17": "120508", "10": "ABCD1234", "410": "9501101020917",
    }  # fmt: skip


@pytest.mark.parametrize("mark", ["]C1", "]d2", "]Q3"])
def test_syntax_engine_example(mark: str) -> None:
    # GS1 syntax engine's tests, commit 50657db (G4)
    read_values = values(f"{mark}011231231231233310ABC123\x1d99TESTING")
    assert read_values == {"01": "12312312312333", "10": "ABC123", "99": "TESTING"}


def test_syntax_engine_composite() -> None:
    # GS1 syntax engine's tests, commit 50657db (G5)
    read_values = values("]e00112312312312333\x1d98COMPOSITE\x1d97XYZ")
    assert read_values == {"01": "12312312312333", "98": "COMPOSITE", "97": "XYZ"}


def test_one_identifier_with_two_values_is_refused() -> None:
    # GS1 syntax engine, gs1encoders.c:1840 (G6)
    assert "twice" in (read("]C199ABC\x1d99XYZ").problem or "")


def test_returnable_asset() -> None:
    # EPC tag data: urn:epc:id:grai:0614141.12345.5678 (G7)
    wanted = read("(8003)006141411234525678").identifiers[0]
    assert (wanted.kind, wanted.value) == (IdentifierKind.GRAI, "0614141123452 5678")


def test_individual_asset_keeps_slash_and_small_letters() -> None:
    # EPC tag data: GIAI 061414132a/b (G8)
    wanted = read("(8004)061414132a/b").identifiers[0]
    assert (wanted.kind, wanted.value) == (IdentifierKind.GIAI, "061414132a/b")


@pytest.mark.parametrize("raw", ["]d1HF-1042", "]d1+A123BJC5D6E71G"])
def test_a_symbol_without_the_gs1_mark_is_not_gs1(raw: str) -> None:
    # GS1 syntax engine, scandata.c: ]d1 is a plain Data Matrix (G9)
    assert read(raw).kind in (Kind.OWN, Kind.HIBC)


def test_a_lost_separator_is_not_guessed() -> None:
    # FDA's example as a scanner sends it that drops the separator (G10): undecidable
    assert values("015102222223333610A213B1211234")["10"] == "A213B1211234"


def test_a_lost_separator_is_warned_of() -> None:
    # As above (G10)
    (warning,) = read("015102222223333610A213B1211234").warnings
    assert warning.startswith("Separator missing?")
