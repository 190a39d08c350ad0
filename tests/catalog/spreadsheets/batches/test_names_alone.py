"""A set of which only the names are known, all the way into the catalog and back out of it."""

from __future__ import annotations

from pathlib import Path

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from catalog.models import CountSheet, Instrument, InstrumentSet, SpreadsheetBatch
from catalog.spreadsheets.batches.writing import in_the_way, revert
from tests.catalog.spreadsheets.batches.test_import_command import run
from tests.catalog.spreadsheets.batches.test_pages import as_proposed, last, page, upload
from tests.factories import catalog as make

pytestmark = pytest.mark.django_db

NAMES = 'NAME,CATEGORY\n"Allis clamp 6""",\nMosquito,\nTowel clip,\n'
ANSWERS = ("--quantity=1", "--set-number=Hernia set=S-7", "--numbers-from=HF-1043")


@pytest.fixture
def contents(tmp_path: Path) -> Path:
    make.Instrument(item_number="HF-1042", name="Mosquito")
    file = tmp_path / "Contents - Hernia set.csv"
    file.write_text(NAMES)
    return file


def test_new_instruments_go_in_with_a_draft_and_no_measured_length(contents: Path) -> None:
    run(contents, *ANSWERS, "--commit")
    sheet = CountSheet.objects.get(instrument_set__code="S-7")
    lines = list(sheet.lines.values_list("instrument__item_number", "quantity"))
    assert lines == [("HF-1043", 1), ("HF-1042", 1), ("HF-1044", 1)]
    assert sheet.state == CountSheet.State.DRAFT
    new = Instrument.objects.get(item_number="HF-1043")
    assert (new.length_mm, new.notes) == (
        None, "Length by its name 152.4 mm: still to be measured.",
    )  # fmt: skip


def test_nothing_goes_in_while_a_question_is_open(contents: Path) -> None:
    run(contents, *ANSWERS[:2], "--commit")
    assert not Instrument.objects.filter(name="Towel clip").exists()


def test_it_is_taken_back_with_its_instruments(contents: Path) -> None:
    run(contents, *ANSWERS, "--commit")
    batch = SpreadsheetBatch.objects.get()
    assert in_the_way(batch) == []
    revert(batch)
    assert not InstrumentSet.objects.exists()
    assert [one.item_number for one in Instrument.objects.all()] == ["HF-1042"]


def test_an_instrument_that_another_set_counts_is_in_the_way(contents: Path) -> None:
    run(contents, *ANSWERS, "--commit")
    make.Line(instrument=Instrument.objects.get(item_number="HF-1044"))
    assert "HF-1044" in " ".join(in_the_way(SpreadsheetBatch.objects.get()))


class TestOnThePage:
    """One press takes all that is proposed, the ordinary Apply puts it in."""

    def answer(self, client: Client) -> None:
        questions = last().report["questions"]
        fields = {
            "option": [each["option"] for each in questions],
            "answer": [each["choices"][0]["answer"] for each in questions],
        }
        where = f"/spreadsheets/{last().pk}/columns/"
        client.post(where, {**as_proposed(last()), **fields})
        assert last().report["questions"] == []
        client.post(where, as_proposed(last()))

    def test_a_list_of_names(self, coordinator: Client) -> None:
        make.Instrument(item_number="HF-1042", name="Mosquito")
        file = SimpleUploadedFile("list.csv", NAMES.encode())
        coordinator.post("/spreadsheets/", {"file": file, "kind": "instruments"})
        self.answer(coordinator)
        assert "HF-1043 to HF-1044 are proposed for 2 new" in page(coordinator, last())
        coordinator.post(f"/spreadsheets/{last().pk}/apply/", {"whole": "yes"})
        assert dict(Instrument.objects.values_list("item_number", "name")) == {
            "HF-1042": "Mosquito", "HF-1043": 'Allis clamp 6"', "HF-1044": "Towel clip",
        }  # fmt: skip

    def test_the_contents_of_a_set(self, coordinator: Client) -> None:
        upload(coordinator, NAMES.encode(), "Contents - Hernia set.csv")
        asked = [each["option"].split()[0] for each in last().report["questions"]]
        assert asked == ["--quantity", "--set-number", "--numbers-from"]
        self.answer(coordinator)
        coordinator.post(f"/spreadsheets/{last().pk}/apply/", {"whole": "yes"})
        sheet = CountSheet.objects.get(instrument_set__code="SET-01")
        assert (sheet.state, sheet.lines.count()) == ("draft", 3)

    def test_the_contents_of_a_set_of_which_some_are_known(self, coordinator: Client) -> None:
        """By a nickname; the name of one that is retired is no name that a line can mean."""
        make.Instrument(item_number="HF-1041", name="Halsted forceps", also_known_as="mosquito")
        make.Instrument(item_number="HF-1042", name="Towel clip", retired=True)
        upload(coordinator, NAMES.encode(), "Contents - Hernia set.csv")
        asked = last().report["questions"][-1]
        assert asked["about"].startswith("2 instruments have no item number")
        assert asked["choices"][0]["shows"] == ['HF-1043 Allis clamp 6"', "HF-1044 Towel clip"]
        self.answer(coordinator)
        assert "HF-1043 to HF-1044 are proposed for 2 new" in page(coordinator, last())
