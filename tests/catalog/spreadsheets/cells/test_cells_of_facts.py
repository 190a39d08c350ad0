"""Cells that say what the rules read of an instrument: closed lists, days, parts and notes.

What can hurt: an unknown read as no, a day that was guessed, a size in the wrong unit.
"""

from __future__ import annotations

from datetime import date, datetime, time
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalog.models import Instrument
from catalog.spreadsheets.cells.listed import ITEM_CLASS_WORDS, KIND_WORDS
from catalog.spreadsheets.cells.typed import MAX_NOTES, Place, Reading
from catalog.spreadsheets.columns.instruments import INSTRUMENT_COLUMNS
from catalog.spreadsheets.workbook.cell import CSV_FORMAT, Cell
from catalog.units import UNKNOWN_MARKS
from catalog.vocabulary import ItemClass, Kind

COLUMNS = {column.key: column for column in INSTRUMENT_COLUMNS}
YES_OR_NO = ["hinged", "ratchet", "hollow", "round_section"]
SIZES = ["lumen", "lumen_length", "tip_across", "tip_cover"]


def read(key: str, value: object, number_format: str = "General", unit: str = "") -> Reading:
    cell = Cell(7, "C", value, None, number_format)  # type: ignore[arg-type]
    return COLUMNS[key].reader(cell, Place("List", "Heading", unit or None))


def code(reading: Reading) -> str:
    return reading.problems[0].code if reading.problems else ""


@pytest.mark.parametrize("key", [*YES_OR_NO, "item_class", "ifu_review_on"])
@pytest.mark.parametrize("value", [None, " ", "?", "n/a", "-", "unbekannt", "non connu"])
def test_what_is_not_known_is_neither_yes_nor_no(key: str, value: object) -> None:
    assert read(key, value).value is None


@pytest.mark.parametrize("key", YES_OR_NO)
@pytest.mark.parametrize(
    ("value", "expected"), [("Y", True), ("ja", True), ("oui", True), ("sí", True), ("nein", False)]
)
def test_yes_and_no_are_read_in_four_languages(key: str, value: str, expected: bool) -> None:
    assert read(key, value) == Reading(expected)


@pytest.mark.parametrize("key", SIZES)
@pytest.mark.parametrize(("value", "mm"), [("2.8 mm", "2.8"), ("1/4 in", "6.35"), ("2,5 cm", "25")])
def test_a_size_comes_in_as_millimetres(key: str, value: str, mm: str) -> None:
    assert read(key, value) == Reading(Decimal(mm))


@pytest.mark.parametrize("key", SIZES)
def test_a_size_without_a_unit_is_a_question(key: str) -> None:
    assert (read(key, 3).value, code(read(key, 3))) == (None, "no_unit")


def test_french_gauge_is_no_unit_here() -> None:
    assert code(read("lumen", "8 Fr")) == "unknown_unit"


@pytest.mark.parametrize("key", SIZES)
@pytest.mark.parametrize("value", ["yes", "none", "Y"])
def test_a_word_is_no_size(key: str, value: str) -> None:
    assert (read(key, value).value, code(read(key, value))) == (None, "no_number")


class TestDays:
    @pytest.mark.parametrize(
        ("value", "number_format"),
        [
            ("2026-04-03", "General"),
            (" 2026-04-03 ", CSV_FORMAT),
            ("2026-04-03", "@"),
            (datetime(2026, 4, 3), "yyyy-mm-dd"),
            (datetime(2026, 4, 3, 14, 30), "m/d/yy h:mm"),
            (date(2026, 4, 3), "dd.mm.yyyy"),
        ],
    )
    def test_a_sure_day_is_read(self, value: object, number_format: str) -> None:
        assert read("ifu_review_on", value, number_format) == Reading(date(2026, 4, 3))

    @pytest.mark.parametrize(
        "value", ["03/04/2026", "3.4.2026", "03-04-2026", "3/4/26", "25/12/26", "04. 03. 2026"]
    )
    def test_a_day_that_may_be_two_is_never_guessed(self, value: str) -> None:
        reading = read("ifu_review_on", value)
        assert (reading.value, code(reading)) == (None, "ambiguous")

    def test_both_days_that_it_may_be_are_named(self) -> None:
        message = read("ifu_review_on", "03/04/2026").problems[0].message
        assert "2026-03-04 or 2026-04-03" in message

    @pytest.mark.parametrize(
        "value",
        ["25/12/2026", "2026-4-3", "2026", "2026-02-30", "2026-04", "20260403", "3 April 2026",
         46115, 46115.5, True, time(4, 5), "soon"],
    )  # fmt: skip
    def test_what_is_no_day_is_a_problem(self, value: object) -> None:
        reading = read("ifu_review_on", value)
        assert (reading.value, code(reading)) == (None, "not_a_date")

    def test_the_way_to_write_it_is_said(self) -> None:
        assert "2026-12-25" in read("ifu_review_on", "25/12/2026").problems[0].message

    def test_a_day_that_the_cell_does_not_show_was_not_typed(self) -> None:
        reading = read("ifu_review_on", datetime(2026, 4, 1), "mmm-yy")
        assert (reading.value, code(reading)) == (None, "not_a_date")

    def test_a_letter_in_brackets_shows_no_day(self) -> None:
        assert code(read("ifu_review_on", datetime(2026, 4, 1), '[Red]mmm-yy"d"')) == "not_a_date"

    @pytest.mark.parametrize(
        ("value", "expected"),
        [("1999-12-31", "implausible"), ("2000-01-01", ""), ("2099-12-31", ""),
         ("2100-01-01", "implausible"), ("1900-02-28", "implausible")],
    )  # fmt: skip
    def test_a_day_far_from_ours_waits(self, value: str, expected: str) -> None:
        assert code(read("ifu_review_on", value)) == expected

    @given(day=st.dates(date(2000, 1, 1), date(2099, 12, 31)))
    def test_any_day_is_read_as_it_is_written(self, day: date) -> None:
        assert read("ifu_review_on", day.isoformat()).value == day

    @given(day=st.dates(date(2000, 1, 1), date(2099, 12, 31)), mark=st.sampled_from("/.-"))
    def test_no_other_order_is_ever_read(self, day: date, mark: str) -> None:
        typed = f"{day:%d}{mark}{day:%m}{mark}{day:%Y}"
        assert read("ifu_review_on", typed).value is None


class TestKindsOfPackage:
    @pytest.mark.parametrize(
        ("value", "expected"),
        [
            ("pouch", ("pouch",)),
            ("Roll, Pouch", ("pouch", "roll")),
            ("pouches and rolls", ("pouch", "roll")),
            ("Beutel; Container", ("pouch", "container")),
            ("sachets\nconteneurs", ("pouch", "container")),
            ("bolsas y rollos", ("pouch", "roll")),
            ("wrap / wrap", ("wrap",)),
            ("none", ()),
            ("keine", ()),
            (None, ()),
        ],
    )
    def test_a_list_is_read(self, value: object, expected: tuple[str, ...]) -> None:
        assert read("forbids", value) == Reading(expected)

    @pytest.mark.parametrize("value", ["paper bag", "pouch, tin", "none, pouch", "yes", "all"])
    def test_another_word_is_a_problem_that_names_what_is_accepted(self, value: str) -> None:
        (found,) = read("forbids", value).problems
        assert found.code == "not_in_list" and "pouch, roll, wrap, container" in found.message

    @pytest.mark.parametrize("mark", ["?", "n/a", "unbekannt"])
    def test_not_known_is_not_none_forbidden(self, mark: str) -> None:
        assert (read("forbids", mark).value, code(read("forbids", mark))) == (None, "unknown_value")

    def test_the_words_lead_to_the_kinds_of_the_catalog(self) -> None:
        assert list(dict.fromkeys(KIND_WORDS.values())) == list(Kind)

    def test_each_kind_goes_by_its_own_name(self) -> None:
        assert [KIND_WORDS[kind] for kind in Kind] == list(Kind)


class TestKindsOfItem:
    @pytest.mark.parametrize(
        ("value", "expected"),
        [
            ("Instrument", "instruments"),
            ("instrumental", "instruments"),
            ("Textile packs", "textile packs"),
            ("Wäsche", "textile packs"),
            ("linge", "textile packs"),
            ("Ustensiles", "utensils"),
            ("utensilios", "utensils"),
            ("Utensil (basin, bowl, cup)", "utensils"),
        ],
    )
    def test_a_kind_is_read(self, value: str, expected: str) -> None:
        assert read("item_class", value) == Reading(expected)

    @pytest.mark.parametrize("value", ["IIa", "forceps", "yes", 2])
    def test_another_word_is_a_problem(self, value: object) -> None:
        assert code(read("item_class", value)) == "not_in_list"

    def test_the_words_lead_to_the_classes_of_the_catalog(self) -> None:
        assert list(dict.fromkeys(ITEM_CLASS_WORDS.values())) == list(ItemClass)

    def test_each_class_goes_by_its_own_name(self) -> None:
        values = list(ItemClass)
        assert [ITEM_CLASS_WORDS[value] for value in values] == values


class TestParts:
    @pytest.mark.parametrize(
        ("value", "expected"),
        [
            ("inner tube; stopcock", "inner tube; stopcock"),
            ("Y", "yes"),
            ("ja", "yes"),
            (True, "yes"),
            ("N", ""),
            ("none", ""),
            ("keine", ""),
            (False, ""),
            (None, None),
        ],
    )
    def test_parts_are_read(self, value: object, expected: str) -> None:
        assert read("parts_apart", value) == Reading(expected)

    @pytest.mark.parametrize("mark", sorted(UNKNOWN_MARKS))
    def test_not_known_is_never_taken_for_a_part(self, mark: str) -> None:
        reading = read("parts_apart", mark)
        assert (reading.value, code(reading)) == (None, "unknown_value")


class TestNotes:
    def test_lines_stay_lines(self) -> None:
        assert read("notes", " Ask Bea \r\n\r\nbefore  use\n") == Reading("Ask Bea\n\nbefore use")

    @pytest.mark.parametrize(
        ("value", "expected"),
        [
            (datetime(2026, 4, 3), "2026-04-03"),
            (12.0, "12"),
            (True, "yes"),
            (time(4, 5), "04:05:00"),
        ],
    )
    def test_whatever_is_noted_is_taken(self, value: object, expected: str) -> None:
        assert read("notes", value) == Reading(expected)

    def test_the_longest_note(self) -> None:
        assert read("notes", "x" * MAX_NOTES) == Reading("x" * MAX_NOTES)

    def test_a_longer_one_is_refused(self) -> None:
        assert code(read("notes", "x" * (MAX_NOTES + 1))) == "too_long"


TEXTS = ["item_number", "name", "group", "maker", "maker_catalog_number", "protector",
         "parts_apart", "ifu_reference", "ifu_revision"]  # fmt: skip


def most(key: str) -> int:
    return Instrument._meta.get_field(key).max_length or 0


@pytest.mark.parametrize("key", TEXTS)
def test_a_text_as_long_as_the_catalog_holds_is_read(key: str) -> None:
    assert read(key, "a" * most(key)) == Reading("a" * most(key))


@pytest.mark.parametrize("key", TEXTS)
def test_a_longer_text_is_refused_before_the_database_does(key: str) -> None:
    assert code(read(key, "a" * (most(key) + 1))) == "too_long"
