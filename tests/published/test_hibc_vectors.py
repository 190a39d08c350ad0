"""HIBC codes printed in public documents: their check characters and what they say."""

from __future__ import annotations

from datetime import date

import pytest

from catalog.scans.hibc import check_character
from catalog.scans.scanning import Scan, read_scan
from tests.catalog.scans.test_scanning import value_of

TODAY = date(2026, 1, 1)
ALL_FIELDS = "+A99912345/$$52001510X3/16D20111212/S77DE1G45"
LONG = "+H123PARTNO1234567890120/$$420020216LOT123456789012345/SXYZ456789012345678/16D20130202"


def read(body: str) -> Scan:
    """The text with our check character: for examples printed without a true one."""
    return read_scan(f"{body}{check_character(body)}", today=TODAY)


@pytest.mark.parametrize(
    ("text", "check"),
    [
        ("+A123BJC5D6E71", "G"),  # easymanua.ls, scanner manual DS9908, p. 335
        ("+A1234BJC5D6E71", "K"),  # esatclear.ie/~rolandehall, HIBC page
        ("07000503", "F"),  # the same page: the rule on a text that is no HIBC
        ("+A123ABCDEFGHI1234567891", "E"),  # idautomation.com, HIBC and UDI page
        # The examples of FDA and HL7 print C, which is a placeholder; the rule gives H.
        (LONG, "H"),
    ],
)
def test_a_published_check_character_fits(text: str, check: str) -> None:
    assert check_character(text) == check


def test_primary() -> None:
    # easymanua.ls, scanner manual DS9908, p. 335
    scan = read_scan("*+A123BJC5D6E71G*", today=TODAY)
    assert [wanted.value for wanted in scan.identifiers] == ["A123BJC5D6E71"]


@pytest.mark.parametrize(
    ("key", "value"),
    # README of the public Python package "hibc"
    [("labeler", "A999"), ("product", "1234"), ("unit", "5"), ("lot", "10X3"),
     ("serial", "77DE1G45"), ("made", "20111212"), ("expiry", "20015")],
)  # fmt: skip
def test_primary_and_secondary_in_one(key: str, value: str) -> None:
    assert value_of(read(ALL_FIELDS), key) == value


def test_day_of_the_year() -> None:
    # README of the public Python package "hibc": 20015 is 15 January 2020
    days = {element.key: element.day for element in read(ALL_FIELDS).elements}
    assert (days["expiry"], days["made"]) == (date(2020, 1, 15), date(2011, 12, 12))


@pytest.mark.parametrize(
    ("key", "value"),
    # FDA, UDI formats by FDA-accredited issuing agency 1.3; HL7 v2 text
    [("lot", "LOT123456789012345"), ("serial", "XYZ456789012345678"), ("expiry", "20020216")],
)
def test_long_example(key: str, value: str) -> None:
    assert value_of(read(LONG), key) == value


def test_date_with_an_hour() -> None:
    # FDA, UDI formats 1.3: flag 4, 2 February 2020, hour 16
    assert {element.day for element in read(LONG).elements if element.key == "expiry"} == {
        date(2020, 2, 2)
    }
