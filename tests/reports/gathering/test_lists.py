"""Lists: the same rows in every form, nothing that a spreadsheet program would run."""

from __future__ import annotations

import csv
import io
import re
from dataclasses import replace
from datetime import UTC, date, datetime

import pytest
from django.core.cache import caches
from django.utils import timezone
from hypothesis import given
from hypothesis import strategies as st
from openpyxl import load_workbook

from assembly.consequences.policy_actions import override_value
from assembly.models import IfuComparison
from assembly.rules.facts.declared import declared
from assembly.rules.facts.instruments import Instrument as Facts
from catalog import actions
from catalog.models import Instrument
from catalog.vocabulary import Form
from reports.drawing.lists import draw_list
from reports.gathering.list_files import FORMS, KINDS, by_key
from reports.gathering.lists_from_catalog import (
    REVISION,
    _missing,
    list_document,
    revision_month,
)
from reports.pages import list_views
from tests.conftest import FEWER
from tests.factories import catalog as make
from tests.reports.drawing.card_examples import listing
from tests.reports.examples import page_texts, squeezed

EVIL = ("=1+1", "+49", "-3", "@x")


def rows_of_csv(document) -> list[list[str]]:
    text = b"".join(FORMS["csv"][1](document, "A4")).decode("utf-8-sig")
    return list(csv.reader(io.StringIO(text)))


def rows_of_xlsx(document) -> list[list[object]]:
    sheet = load_workbook(io.BytesIO(b"".join(FORMS["xlsx"][1](document, "A4")))).active
    return [[cell.value for cell in row] for row in sheet.iter_rows()]


@pytest.mark.parametrize("read", [rows_of_csv, rows_of_xlsx])
def test_a_file_has_the_headings_and_every_row(read):
    document = listing(3)
    assert read(document) == [list(document.headings), *(list(row) for row in document.rows)]


def test_a_pdf_has_every_row_in_order():
    text = " ".join(page_texts(draw_list(listing(150))))
    assert re.findall(r"TS-\d{3}", text) == [f"TS-{n:03}" for n in range(1, 151)]


def test_each_page_has_the_heading_row_and_its_number():
    texts = page_texts(draw_list(listing(150)))
    numbers = [f"Page {n} of {len(texts)}" for n in range(1, len(texts) + 1)]
    assert len(texts) > 2
    assert all("Set Name Weight" in t and n in t for t, n in zip(texts, numbers, strict=True))


def test_an_empty_list_says_so():
    assert squeezed("Nothing to list.") in squeezed(page_texts(draw_list(listing(0)))[0])


@pytest.mark.parametrize("cell", EVIL)
def test_a_formula_is_kept_from_running(cell):
    document = replace(listing(1), rows=((cell, "a", "b"),))
    assert rows_of_csv(document)[1][0] == f"'{cell}"


@FEWER
@given(st.lists(st.text(max_size=40), min_size=2, max_size=10))
def test_any_text_becomes_a_workbook_and_no_formula(texts):
    document = replace(listing(1), rows=tuple((text, "a", "b") for text in texts))
    sheet = load_workbook(io.BytesIO(b"".join(FORMS["xlsx"][1](document, "A4")))).active
    cells = [sheet.cell(row, 1) for row in range(2, len(texts) + 2)]
    assert {cell.data_type for cell in cells if cell.value is not None} <= {"s"}


@given(st.text(max_size=40))
def test_no_cell_starts_like_a_formula(text):
    document = replace(listing(1), rows=((text, "a", "b"),))
    assert not rows_of_csv(document)[1][0].startswith(("=", "+", "-", "@", "\t", "\r", "\n"))


@pytest.mark.django_db
@pytest.mark.parametrize("form", ["xlsx", "csv"])
def test_a_name_with_an_unprintable_sign_stops_no_file(form, technician):
    make.Instrument(name="Sc\x0bal\ufffepel")
    data = technician.get(f"/papers/lists/ifus.{form}").content
    assert data[:2] == b"PK" if form == "xlsx" else b"Scalpel" in data


def test_a_row_of_the_wrong_length_is_refused():
    with pytest.raises(ValueError, match="row 1"):
        replace(listing(1), rows=(("TS-001",),))


def test_two_lists_of_one_key_are_refused():
    with pytest.raises(ValueError, match="heavy-sets"):
        by_key([*KINDS.values(), replace(KINDS["heavy-sets"])])


@pytest.mark.parametrize(
    ("words", "month"),
    [("2023-04", date(2023, 4, 1)), ("04/2023", date(2023, 1, 1)), ("Rev C 2019.11",
     date(2019, 11, 1)), ("C", None), ("", None), ("20231", None)],
)  # fmt: skip
def test_the_month_of_a_revision_is_read_or_not_told(words, month):
    assert revision_month(words) == month


def test_a_month_that_is_none_is_not_taken():
    assert REVISION.search("2023-13")[2] is None


@pytest.mark.django_db
class TestFromCatalog:
    def rows(self, key: str) -> list[tuple[str, ...]]:
        return list(list_document(KINDS[key], "a person").rows)

    def a_set(self, weight: int | None, quantity: int) -> None:
        sheet = make.CountSheet(instrument_set__code="TS-9", instrument_set__name="Tried")
        make.Line(count_sheet=sheet, instrument=make.Instrument(weight_g=weight),
                  quantity=quantity)  # fmt: skip

    # gross limit 11,339.81 g (ANSI/AAMI ST77 4.3.5), container tare 3,200 g, near from 0.9
    @pytest.mark.parametrize(
        ("weight", "quantity", "listed"), [(70, 100, False), (71, 100, True), (90, 100, True)]
    )
    def test_a_set_is_listed_from_the_near_share_on(self, weight, quantity, listed):
        self.a_set(weight, quantity)
        assert bool(self.rows("heavy-sets")) == listed

    def test_a_set_of_unknown_weight_is_undecided_and_says_why(self):
        self.a_set(None, 1)
        (row,) = self.rows("undecided-sets")
        assert row[0] == "TS-9" and "weight" in row[3].casefold()

    def test_each_missing_fact_is_named(self):
        make.Instrument(item_number="T-7", weight_g=None, hinged=None)
        assert self.rows("missing-facts")[0][2] == "weight, hinged or not"

    def test_no_protector_needed_is_no_missing_fact(self):
        make.Instrument(protector="", hinged=False)
        assert self.rows("missing-facts") == []

    def test_of_a_hinged_one_the_width_open_is_asked_for(self):
        one = make.Instrument(protector="", hinged=True)
        assert self.rows("missing-facts") == [(one.item_number, one.name, "width, open")]

    def test_the_database_finds_those_of_which_the_rules_miss_something(self):
        """One of each: known, one fact missing, and all that a width open and a cycle hang on."""
        columns = {field.name for field in Instrument._meta.fields}
        lacks = (one.name for one in declared(Facts) if one.missing and one.name in columns)
        kinds = [{}, {"tip": ""}, {"retired": True, "weight_g": None}, *({n: None} for n in lacks)]
        kinds += [
            {"hinged": hinged, "form": form, "width_open_mm": wide}
            for hinged in (None, True, False) for form in ("", Form.RINGS) for wide in (None, 50)
        ]  # fmt: skip
        made = [make.Instrument(**values) for values in kinds]
        without, untimed = make.Instrument(hinged=False), make.Instrument(hinged=False)
        without.cycles.all().delete()
        untimed.cycles.update(exposure_min=None)
        in_use = [one for one in (*made, without, untimed) if not one.retired]
        missing = {one.item_number for one in in_use if _missing(one)}
        assert {row[0] for row in self.rows("missing-facts")} == missing
        assert 0 < len(missing) < len(in_use) and len(made) > 20

    def test_ifus_of_no_known_age_come_first_then_the_oldest(self):
        """By the day of the last comparison where there was one, else by the revision."""
        now = timezone.now()
        for number, revision in (("A", "2011-03"), ("B", ""), ("C", "2009"), ("D", f"{now:%Y-%m}"),
                                 ("E", "Rev. C"), ("F", "2001-01"), ("G", "2001-01")):  # fmt: skip
            make.Instrument(item_number=number, ifu_revision=revision)
        for number, at in (("F", datetime(2010, 5, 1, 12, tzinfo=UTC)), ("G", now)):
            whose = Instrument.objects.get(item_number=number)
            IfuComparison.objects.create(key=number, instrument=whose, by="Bea", at=at)
        assert [row[0] for row in self.rows("ifus")] == ["B", "E", "C", "F", "A"]

    def test_a_page_has_its_part_in_the_order_that_was_asked_for(self, technician, monkeypatch):
        monkeypatch.setattr(list_views, "ROWS_A_PAGE", 2)
        for number in ("A", "B", "C"):
            make.Instrument(item_number=number, ifu_revision="")
        page = technician.get("/papers/lists/ifus/?sort=-c0&page=2").content.decode()
        assert re.findall("/instruments/(.)/", page) == ["A"] and "3 to 3 of 3" in page

    @pytest.mark.parametrize(
        ("revision", "why"),
        [("2001-01", "months old"), ("", "no revision on record"), ("C", "cannot be told")],
    )
    def test_an_ifu_to_review_says_why(self, revision, why):
        make.Instrument(ifu_revision=revision)
        assert why in self.rows("ifus")[0][4]

    def test_a_recent_ifu_is_not_listed(self):
        make.Instrument(ifu_revision=f"{date.today():%Y-%m}")
        assert self.rows("ifus") == []

    @pytest.mark.parametrize("form", FORMS)
    def test_every_list_is_written_in_every_form(self, form):
        self.a_set(None, 1)
        write = FORMS[form][1]
        assert all(write(list_document(one, "a person"), "A4") for one in KINDS.values())


def test_no_odd_row_takes_a_list_away():
    """A sign that no typeface has, a long word, a cell that is longer than a page."""
    long = " ".join(f"n{number}" for number in range(4000))
    document = replace(listing(), rows=(
        ("HF-1", "Scissors \u16a0", "x"), ("HF-2", "y" * 400, "x"), ("HF-3", long, "x"),
        ("HF-4", "Probe", "x"),
    ))  # fmt: skip
    said = " ".join(page_texts(draw_list(document)))
    assert "Scissors [?]" in said
    assert said.count("y") >= 400
    assert all(f"n{number} " in said for number in range(4000))
    assert "HF-4 Probe" in said


@pytest.fixture
def kept(settings):
    here = {"BACKEND": "django.core.cache.backends.locmem.LocMemCache", "LOCATION": "lists"}
    settings.CACHES = {**settings.CACHES, "lists": here}
    caches["lists"].clear()
    yield
    caches["lists"].clear()


def counted_list():
    asked = []

    def rows():
        asked.append(1)
        return [("TS-1", "Set", "1 kg")]

    return asked, replace(listing().kind, rows=rows, costly=True)


@pytest.mark.django_db
def test_a_costly_list_is_kept_while_nothing_changes(kept):
    asked, costly = counted_list()
    list_document(costly, "Ada")
    list_document(costly, "Bea")
    assert len(asked) == 1


@pytest.mark.django_db
def test_a_change_of_the_catalog_makes_it_anew(kept):
    asked, costly = counted_list()
    list_document(costly, "Ada")
    actions.change_instrument(actions.Actor("Bea"), make.Instrument(), {"weight_g": 44})
    list_document(costly, "Ada")
    assert len(asked) == 2


@pytest.mark.django_db
def test_a_value_of_the_policy_makes_it_anew(kept):
    asked, costly = counted_list()
    list_document(costly, "Ada")
    override_value(actions.Actor("Bea", reason="tried"), "near_limit_share", 0.5,
                   since=date(2020, 1, 2), source="our manual")  # fmt: skip
    list_document(costly, "Ada")
    assert len(asked) == 2
