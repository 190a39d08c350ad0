"""Every fact of an instrument leaves in the whole catalog's workbook and comes back."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from django.test import Client
from hypothesis import given
from hypothesis import strategies as st

from assembly.judging.facts_from_catalog import instrument_facts
from catalog.models import Change, CycleOption, Instrument, InstrumentSet, Line
from catalog.pages.workbook import instruments_sheet, sheet_of
from catalog.spreadsheets.batches.applying import check_file, known_values
from catalog.spreadsheets.cells.listed import NO_WORDS, NONE_WORDS, YES_WORDS, folded_word
from catalog.spreadsheets.cells.report import Report
from catalog.spreadsheets.cells.typed import MAX_NOTES
from catalog.spreadsheets.columns.instruments import INSTRUMENT_COLUMNS
from catalog.spreadsheets.workbook.reading import read_workbook
from catalog.spreadsheets.workbook.writing import as_csv
from catalog.spreadsheets.workbook.writing_xlsx import as_xlsx
from catalog.units import UNKNOWN_MARKS
from catalog.vocabulary import ItemClass, Kind
from tests.catalog.spreadsheets.batches.test_exports import run
from tests.catalog.spreadsheets.workbooks import check_instruments
from tests.factories import catalog as make

OUR_OWN = {"id", "photo", "retired"}
"""Fields that are no facts of the instrument."""
EVERY_FACT: dict[str, Any] = {
    "item_number": "T-1",
    "name": "Suction tube",
    "also_known_as": "sucker; Frazier",
    "group": "Suction",
    "maker": "Kirkfell",
    "maker_catalog_number": "3-4",
    "length_mm": Decimal("190.5"),
    "width_mm": Decimal("20.25"),
    "height_mm": Decimal("12.7"),
    "weight_g": Decimal("35.5"),
    "tip": "blunt",
    "tip_across_mm": Decimal("4.125"),
    "tip_cover_mm": Decimal("15.001"),
    "protector": "vented, small",
    "hinged": False,
    "item_class": "utensils",
    "ratchet": True,
    "hollow": True,
    "implant": True,
    "parts_apart": "inner tube; stopcock",
    "round_section": True,
    "lumen_mm": Decimal("2.667"),
    "lumen_length_mm": Decimal("185.5"),
    "lumen_material": "steel",
    "channels": 2,
    "form": "tube",
    "width_open_mm": Decimal("30.5"),
    "lies_only_as_given": True,
    "forbids": ["wrap", "pouch"],
    "ifu_reference": "KI-12, chapter 3",
    "ifu_revision": "2020-01",
    "ifu_review_on": date(2027, 3, 4),
    "spares_on_hand": 0,
    "notes": "Ask Bea.\r\n\r\n=1+1 is no formula.",
}


def test_every_field_is_set_in_this_test() -> None:
    fields = {field.name for field in Instrument._meta.concrete_fields}
    assert set(EVERY_FACT) == fields - OUR_OWN


def test_every_field_has_a_column() -> None:
    fields = {field.name for field in Instrument._meta.concrete_fields}
    assert {column.name for column in INSTRUMENT_COLUMNS} - {"methods", "cycle"} == fields - OUR_OWN


def test_no_heading_belongs_to_two_columns() -> None:
    headings = [heading for column in INSTRUMENT_COLUMNS for heading in column.headings]
    assert len(headings) == len(set(headings))


@pytest.mark.django_db
class TestEveryFact:
    @pytest.fixture
    def file(self, coordinator: Client, tmp_path: Path) -> Path:
        make.Instrument(**EVERY_FACT)
        file = tmp_path / "catalog.xlsx"
        file.write_bytes(coordinator.get("/whole-catalog.xlsx").content)
        return file

    def test_it_comes_back_without_a_change(self, file: Path) -> None:
        assert check_file(file, "instruments").counts["unchanged"] == 1

    def test_reading_it_in_writes_nothing(self, file: Path) -> None:
        run(file, "--kind", "instruments", "--commit")
        assert not Change.objects.exists()

    def test_it_fills_an_empty_catalog(self, file: Path) -> None:
        Instrument.objects.all().delete()
        run(file, "--kind", "instruments", "--commit")
        row = Instrument.objects.get()
        wanted = {**EVERY_FACT, "forbids": ["pouch", "wrap"],
                  "notes": "Ask Bea.\n\n=1+1 is no formula."}  # fmt: skip
        assert {name: getattr(row, name) for name in EVERY_FACT} == wanted

    def test_the_rules_are_told_the_same(self, file: Path) -> None:
        before = instrument_facts(Instrument.objects.get())
        Instrument.objects.all().delete()
        run(file, "--kind", "instruments", "--commit")
        assert instrument_facts(Instrument.objects.get()) == before

    def test_into_a_bare_instrument_every_fact_is_a_change(self, file: Path) -> None:
        Instrument.objects.all().delete()
        make.Instrument(item_number="T-1", name="Tube", length_mm=None, width_mm=None,
                        height_mm=None, weight_g=None, tip="", protector=None,
                        hinged=None)  # fmt: skip
        (row,) = check_file(file, "instruments").rows
        assert {each.field for each in row.changes} == set(EVERY_FACT) - {"item_number"}


@pytest.mark.django_db
class TestWhatIsNotSaid:
    """An empty cell, or a mark for not known, beside a catalog that knows."""

    FACTS = [column for column in INSTRUMENT_COLUMNS
             if column.name not in ("item_number", "name", "methods", "cycle")]  # fmt: skip

    @pytest.mark.parametrize("cell", ["", "?"])
    @pytest.mark.parametrize(
        "column",
        [each for each in FACTS if each.name in
         {"ratchet", "hollow", "parts_apart", "round_section", "lumen_mm", "lumen_length_mm",
          "tip_across_mm", "tip_cover_mm", "item_class", "forbids", "ifu_review_on"}],
        ids=lambda each: each.key,
    )  # fmt: skip
    def test_nothing_is_erased(self, column: Any, cell: str, tmp_path: Path) -> None:
        make.Instrument(**EVERY_FACT)
        file = tmp_path / "list.csv"
        file.write_text(f"Item #,Name,{column.title}\nT-1,Suction tube,{cell}\n", encoding="utf-8")
        run(file, "--kind", "instruments", "--commit")
        row = Instrument.objects.get()
        assert getattr(row, column.name) == EVERY_FACT[column.name]

    def test_a_new_instrument_of_empty_cells_is_what_an_empty_form_makes(
        self, tmp_path: Path
    ) -> None:
        titles = ",".join(column.title for column in self.FACTS)
        file = tmp_path / "list.csv"
        line = "T-9,Probe" + "," * len(self.FACTS)
        file.write_text(f"Item #,Name,{titles}\n{line}\n", encoding="utf-8")
        run(file, "--kind", "instruments", "--commit")
        made, plain = Instrument.objects.get(), Instrument(item_number="T-9", name="Probe")
        assert {n: getattr(made, n) for n in EVERY_FACT} == {
            n: getattr(plain, n) for n in EVERY_FACT
        }

    def test_none_forbidden_is_said_and_clears(self, tmp_path: Path) -> None:
        make.Instrument(**EVERY_FACT)
        file = tmp_path / "list.csv"
        file.write_text("Item #,Name,IFU forbids\nT-1,Suction tube,none\n", encoding="utf-8")
        run(file, "--kind", "instruments", "--commit")
        assert Instrument.objects.get().forbids == []

    def test_empty_cells_of_what_not_every_instrument_has_are_no_question(
        self, tmp_path: Path
    ) -> None:
        file = tmp_path / "list.csv"
        file.write_text("Item #,Name,Lumen (mm)\nT-1,Probe,\n", encoding="utf-8")
        assert run(file, "--kind", "instruments")["counts"]["new"] == 1


ERRORS = {"#n/a", "#ref!", "#value!", "#name?", "#div/0!", "#null!", "#num!", "#spill!", "#calc!"}
SAYS_SOMETHING_ELSE = UNKNOWN_MARKS | YES_WORDS | NO_WORDS | NONE_WORDS | ERRORS
"""Texts that a cell of parts, or any cell, does not take for a text."""


def is_a_text(text: str) -> bool:
    word = folded_word(" ".join(text.split()))
    return not {word, f"{word}."} & SAYS_SOMETHING_ELSE


LINE = st.characters(exclude_categories=["Cc", "Cs", "Cn"], exclude_characters="\ufeff")
ANY_MARK = st.one_of(LINE, st.sampled_from("\n\r\t=+-@'\x0b\x1f\u2028\x85"))


def texts(most: int, marks: st.SearchStrategy[str] = LINE) -> st.SearchStrategy[str]:
    return st.text(marks, max_size=most).filter(is_a_text)


def sizes(least: int, most: int) -> st.SearchStrategy[Decimal | None]:
    """Sizes to a thousandth that nobody would ask about; None is unknown."""
    return st.one_of(st.none(), st.integers(least, most).map(lambda n: Decimal(n) / 1000))


FACTS = st.fixed_dictionaries(
    {
        "ratchet": st.sampled_from([None, True, False]),
        "hollow": st.sampled_from([None, True, False]),
        "round_section": st.booleans(),
        "parts_apart": texts(200),
        "lumen_mm": sizes(100, 100_000),
        "lumen_length_mm": sizes(1_000, 4_000_000),
        "tip_across_mm": sizes(100, 200_000),
        "tip_cover_mm": sizes(500, 400_000),
        "item_class": st.sampled_from([str(one) for one in ItemClass]),
        "forbids": st.lists(st.sampled_from([str(kind) for kind in Kind]), unique=True),
        "ifu_reference": texts(120),
        "ifu_review_on": st.one_of(st.none(), st.dates(date(2000, 1, 1), date(2099, 12, 31))),
        "notes": texts(MAX_NOTES, ANY_MARK),
    }
)


def out_and_in(facts: dict[str, Any], form: str, *, known: bool) -> Report:
    """One instrument written as the whole catalog is, and checked against itself or nothing."""
    row = Instrument(pk=1, item_number="T-1", name="Probe", **facts)
    row._prefetched_objects_cache = {"cycles": CycleOption.objects.none()}  # type: ignore[attr-defined]
    sheet = sheet_of([row], {})
    data = b"".join(as_xlsx([sheet]) if form == "xlsx" else as_csv(sheet))
    values = {"T-1": known_values(row)} if known else {}
    return check_instruments(read_workbook(data, f"list.{form}"), values)


@pytest.mark.parametrize("form", ["xlsx", "csv"])
@given(facts=FACTS)
def test_any_facts_come_back_without_a_change(form: str, facts: dict[str, Any]) -> None:
    (row,) = out_and_in(facts, form, known=True).rows
    assert (row.changes, [p.code for p in row.problems if p.effect in ("refuses", "waits")]) == (
        (), [],
    )  # fmt: skip


@pytest.mark.parametrize("form", ["xlsx", "csv"])
@given(facts=FACTS)
def test_any_facts_are_read_as_they_were(form: str, facts: dict[str, Any]) -> None:
    (row,) = out_and_in(facts, form, known=False).rows
    exact = set(facts) - {"parts_apart", "ifu_reference", "notes", "forbids"}
    assert {name: row.values[name] for name in exact} == {name: facts[name] for name in exact}


def test_the_workbook_has_the_headings_of_every_column() -> None:
    assert len(sheet_of([], {}).headings) == len(INSTRUMENT_COLUMNS) + 1


@pytest.mark.django_db
def test_notes_too_long_to_be_read_again_stay_at_home() -> None:
    make.Instrument(notes="x" * (MAX_NOTES + 1))
    (row,) = instruments_sheet().rows
    assert "x" * (MAX_NOTES + 1) not in row


@pytest.mark.django_db
class TestEveryLine:
    """A count sheet out and in again: what a line may go without, what stands in, its note."""

    @pytest.fixture
    def file(self, coordinator: Client, tmp_path: Path) -> Path:
        spare = make.Instrument(item_number="HF-2", name="Probe, long")
        line = make.Line(
            instrument=make.Instrument(item_number="HF-1", name="Probe"),
            may_go_without=True, note="Handle with care.",
        )  # fmt: skip
        line.substitutes.add(spare)
        file = tmp_path / "catalog.xlsx"
        file.write_bytes(coordinator.get("/whole-catalog.xlsx").content)
        return file

    def test_it_comes_back_without_a_change(self, file: Path) -> None:
        assert check_file(file, "sets").counts["unchanged"] == 1

    def test_it_fills_a_catalog_without_sets(self, file: Path) -> None:
        InstrumentSet.objects.all().delete()
        run(file, "--kind", "sets", "--commit")
        line = Line.objects.get()
        stand_ins = [each.item_number for each in line.substitutes.all()]
        found = (line.instrument.item_number, line.may_go_without, line.note, stand_ins)
        assert found == ("HF-1", True, "Handle with care.", ["HF-2"])

    def test_a_substitute_that_nobody_has_makes_the_line_wait(self, file: Path) -> None:
        Instrument.objects.filter(item_number="HF-2").update(retired=True)
        report = check_file(file, "sets")
        assert [each.code for each in report.problems] == ["unknown_substitute"]
        assert report.rows[0].waits
