"""Scans as scanners really send them: marks off, separators lost or replaced, keys wrong."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from catalog.scans.elements import IdentifierKind
from catalog.scans.hibc import check_character
from catalog.scans.scanning import Kind, Scan, read_scan, stand_in_problem

TODAY = date(2026, 1, 1)
GTIN = "0100643169001763"
TYPED = st.text(st.sampled_from("\x1d]+$/(){}0123456789ABdC12|~^ *_\r\n٣"), max_size=60)


def read(raw: str, stand_in: str | None = None) -> Scan:
    return read_scan(raw, stand_in, today=TODAY)


def value_of(scan: Scan, key: str) -> str | None:
    """The value of one element ("01", "21", "lot"), None when the code has none."""
    return next((item.value for item in scan.elements if item.key == key), None)


def wanted(raw: str) -> list[tuple[str, str]]:
    return [(item.kind.value, item.value) for item in read(raw).identifiers]


def hibc(body: str) -> Scan:
    return read(f"{body}{check_character(body)}")


@given(st.text() | TYPED, st.none() | st.text(max_size=3))
@example("]d2", None)
@example("+$", None)
@example("+$0", None)
@example("*", None)
@example("\x1d", "\x1d")
@example("(01)", "")
def test_no_text_makes_it_fail(raw: str, stand_in: str | None) -> None:
    assert read_scan(raw, stand_in).kind in Kind


@given(st.text() | TYPED)
def test_what_may_not_be_used_is_not_looked_up(raw: str) -> None:
    scan = read(raw)
    assert not (scan.problem and scan.identifiers)


@given(st.text() | TYPED)
def test_a_scan_says_what_it_read_or_why_not(raw: str) -> None:
    scan = read(raw)
    assert scan.problem or scan.identifiers or scan.elements


@given(TYPED.map(lambda tail: f"]d28018{'123456789012345675'}{tail}"))
def test_nothing_of_a_patients_code_is_kept(raw: str) -> None:
    scan = read(raw)
    assert (scan.text, scan.elements, scan.identifiers) == ("", (), ())


@pytest.mark.parametrize(
    "raw",
    ["]d28018106141412345678908", "]C18017106141412345678908\x1d8018106141412345678908",
     "(8018)106141412345678908", "8018106141412345678908", "]d18018106141412345678908",
     "]d24129501101020917\x1d4219\x1d8018106141412345678908"],
)  # fmt: skip
def test_a_patients_code_is_refused_in_every_form(raw: str) -> None:
    assert "patient" in (read(raw).problem or "")


class TestSeparators:
    @pytest.mark.parametrize("separator", ["\x1d", "^]", "{GS}", "\u241d", "\x1d\x1d"])
    def test_it_is_understood_however_it_is_written(self, separator: str) -> None:
        scan = read(f"]d2{GTIN}10A213B1{separator}211234")
        assert (value_of(scan, "10"), value_of(scan, "21")) == ("A213B1", "1234")

    @pytest.mark.parametrize("stand_in", ["|", "~", "@@"])
    def test_the_departments_stand_in_is_understood(self, stand_in: str) -> None:
        assert value_of(read(f"]d2{GTIN}10A213B1{stand_in}211234", stand_in), "21") == "1234"

    def test_a_stand_in_that_nobody_told_of_is_named(self) -> None:
        assert "SCANNER_SEPARATOR" in (read(f"]d2{GTIN}10A213B1|211234").problem or "")

    def test_a_stand_in_that_may_stand_in_a_value_is_not_used(self) -> None:
        assert value_of(read(f"]d2{GTIN}10A%B", "%"), "10") == "A%B"

    def test_an_own_text_keeps_the_stand_in(self) -> None:
        assert read("HF|1042", "|").text == "HF|1042"

    @pytest.mark.parametrize("raw", [f"]d2{GTIN}\x1d10A1", f"]d2{GTIN}10A1\x1d"])
    def test_one_too_many_does_no_harm(self, raw: str) -> None:
        assert value_of(read(raw), "10") == "A1"

    def test_one_sent_for_the_first_mark_says_gs1(self) -> None:
        assert read(f"\x1d{GTIN}10A1").kind is Kind.GS1

    def test_no_warning_where_the_scanner_sends_separators(self) -> None:
        assert read(f"]d2{GTIN}10A213B1\x1d21A101").warnings == ()

    def test_no_warning_where_nothing_can_hide(self) -> None:
        assert read(f"]d2{GTIN}17260712{'21'}21A11F4855").warnings == ()

    def test_a_value_too_long_asks_for_the_separator(self) -> None:
        assert "separator may be missing" in (
            read(f"]d2{GTIN}10ABCDEFGHIJKLMNO21123456").problem or ""
        )


class TestWithoutTheMark:
    def test_a_gtin_element_says_gs1(self) -> None:
        assert read(f"{GTIN}21A1").kind is Kind.GS1

    def test_a_wrong_check_digit_makes_it_an_own_text_with_a_doubt(self) -> None:
        scan = read("010064316900176021A1")
        assert scan.kind is Kind.OWN and "check digit" in scan.warnings[0]

    @pytest.mark.parametrize(
        ("digits", "gtin"),
        # GS1 DataMatrix guideline's example (from memory) and its UPC-like shortening
        [("9501101530003", "09501101530003"), ("09501101530003", "09501101530003")],
    )
    def test_bare_digits_with_a_good_check_digit_are_a_gtin(self, digits: str, gtin: str) -> None:
        assert wanted(digits) == [("text", digits), ("gtin", gtin)]

    def test_bare_digits_with_a_wrong_one_are_an_own_number(self) -> None:
        assert wanted("9501101530004") == [("text", "9501101530004")]

    def test_figures_of_another_script_are_no_gtin(self) -> None:
        assert read("٩٥٠١١٠١٥").kind is Kind.OWN

    @pytest.mark.parametrize("raw", ["HF-1042", "]C0HF-1042", "]d1HF-1042\r\n", " HF-1042 "])
    def test_an_own_number_is_looked_up_as_it_is(self, raw: str) -> None:
        assert wanted(raw) == [("text", "HF-1042")]


class TestMarks:
    def test_an_ean_symbol_is_a_gtin_only(self) -> None:
        assert wanted("]E09501101530003") == [("gtin", "09501101530003")]

    def test_an_ean_symbol_with_a_wrong_check_digit_is_refused(self) -> None:
        assert "check digit" in (read("]E09501101530004").problem or "")

    def test_the_mark_is_kept(self) -> None:
        assert read(f"]d2{GTIN}").symbology == "]d2"


class TestGs1:
    def test_a_single_piece_is_looked_up_before_its_model(self) -> None:
        assert wanted(f"]d2{GTIN}21A1") == [
            (IdentifierKind.GTIN_SERIAL, "00643169001763 A1"),
            (IdentifierKind.GTIN, "00643169001763"),
        ]

    def test_a_returnable_asset_is_looked_up_single_first(self) -> None:
        values = [value for _, value in wanted("]d28003006141411234525678")]
        assert values == ["0614141123452 5678", "0614141123452"]

    def test_brackets_inside_a_value_stay(self) -> None:
        assert value_of(read("(01)00643169001763(10)A(1)B"), "10") == "A(1)B"

    def test_brackets_inside_a_scanned_value_stay(self) -> None:
        assert value_of(read(f"]d2{GTIN}10A(21)B"), "10") == "A(21)B"

    def test_day_00_is_the_end_of_the_month_and_its_figures_stay(self) -> None:
        expiry = read(f"]d2{GTIN}17150700").elements[1]
        assert (expiry.value, expiry.day, expiry.day_stated) == (
            "150700", date(2015, 7, 31), False)  # fmt: skip

    def test_a_day_that_is_none_is_warned_of(self) -> None:
        assert "not a date" in read(f"]d2{GTIN}17151350").warnings[0]

    @pytest.mark.parametrize(
        "raw",
        ["]d20100643169001760", "]d28003006141411234535678", "]d2410" + "9501101020918",
         f"]d2{GTIN}10A B", f"]d2{GTIN}10A#B", "]d2010064316900176", f"]d2{GTIN}10"],
    )  # fmt: skip
    def test_a_value_against_the_rules_is_refused(self, raw: str) -> None:
        assert read(raw).problem

    @pytest.mark.parametrize(
        ("raw", "said"),
        [("]d210A1", "stands without"), ("]d2211", "stands without"),
         (f"]d2{GTIN}3712", "must not stand with"),
         ("]d28004061414132\x1d90A", "should stand alone")],
    )  # fmt: skip
    def test_elements_that_lack_their_partner_are_warned_of(self, raw: str, said: str) -> None:
        assert any(said in warning for warning in read(raw).warnings)

    def test_an_unknown_identifier_leaves_what_stands_before_it(self) -> None:
        scan = read(f"]d2{GTIN}5512")
        assert value_of(scan, "01") and "Not read from" in scan.warnings[0]

    def test_nothing_but_an_unknown_identifier_is_refused(self) -> None:
        assert read("]d25512").problem

    @pytest.mark.parametrize(
        ("figures", "year"), [("76", 2076), ("77", 1977), ("75", 2075), ("00", 2000)]
    )
    def test_the_century_is_within_fifty_years(self, figures: str, year: int) -> None:
        day = read(f"]d2{GTIN}17{figures}0115").elements[1].day
        assert day and day.year == year


class TestHibc:
    @pytest.mark.parametrize(
        ("secondary", "expiry", "lot"),
        # Date flags: from memory, but for 5 (README of the public Python package "hibc")
        [("$$0127LOT", date(2027, 1, 31), "LOT"), ("$$2013127LOT", date(2027, 1, 31), "LOT"),
         ("$$3270131LOT", date(2027, 1, 31), "LOT"), ("$$427013116LOT", date(2027, 1, 31), "LOT"),
         ("$$527031LOT", date(2027, 1, 31), "LOT"), ("$$62703116LOT", date(2027, 1, 31), "LOT"),
         ("27031LOT", date(2027, 1, 31), "LOT"), ("$$8050127LOT", date(2027, 1, 31), "LOT")],
    )  # fmt: skip
    def test_every_date_flag(self, secondary: str, expiry: date, lot: str) -> None:
        scan = hibc(f"+A123BJC5D6E71/{secondary}")
        days = {element.key: element.day for element in scan.elements}
        assert (days["expiry"], value_of(scan, "lot")) == (expiry, lot)

    def test_no_date(self) -> None:
        assert value_of(hibc("+A123BJC5D6E71/$$7LOT"), "lot") == "LOT"

    def test_a_serial_after_its_flag(self) -> None:
        assert value_of(hibc("+A123BJC5D6E71/$$+3270131SER"), "serial") == "SER"

    def test_a_month_that_is_none_is_warned_of(self) -> None:
        assert "not a date" in hibc("+A123BJC5D6E71/$$1327LOT").warnings[0]

    def test_a_part_nobody_knows_is_named(self) -> None:
        assert hibc("+A123BJC5D6E71/XYZ").warnings == ("Not read: “XYZ”.",)

    def test_a_wrong_check_character_points_to_the_keyboard_layout(self) -> None:
        assert "keyboard layout" in (read("+A123BJC5D6E71H").problem or "")

    def test_caps_lock_is_seen(self) -> None:
        scan = read("+a123bjc5d6e71g")
        assert scan.identifiers and "Caps Lock" in scan.warnings[0]

    def test_the_second_part_alone_asks_for_the_first(self) -> None:
        scan = hibc("+$$52001510X3G")
        assert "first part" in (scan.problem or "") and value_of(scan, "lot") == "10X3"

    @pytest.mark.parametrize("end", [" ", "_"])
    def test_a_space_as_check_character_is_kept(self, end: str) -> None:
        body = next(f"+A123B{n}1" for n in range(100) if check_character(f"+A123B{n}1") == " ")
        assert read(f"{body}{end}\r").problem is None

    def test_printed_asterisks_are_no_data(self) -> None:
        assert wanted("*+A123BJC5D6E71G*") == [("hibc", "A123BJC5D6E71")]


@pytest.mark.parametrize("raw", ["", "\r\n", "A\x07B", "A" * 201, "A" * 10_000, "[)>\x1e06\x1dA"])
def test_what_is_no_code_says_so(raw: str) -> None:
    scan = read(raw)
    assert scan.kind is Kind.UNKNOWN and scan.problem


@pytest.mark.parametrize(
    ("stand_in", "fit"), [("|", True), ("{GS}", True), ("GS", False), ("-", False), ("", False),
                          (" ", False)]
)  # fmt: skip
def test_which_stand_ins_are_fit(stand_in: str, fit: bool) -> None:
    assert (stand_in_problem(stand_in) is None) == fit
