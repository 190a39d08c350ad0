"""What a workstation keeps: its label stock and its paper."""

from __future__ import annotations

import pypdfium2
import pytest
from django.test import Client

from tests.factories import bench as at
from tests.factories import catalog as make

pytestmark = pytest.mark.django_db
LETTER_PT, A4_PT = 612, 595
"""Widths of letter (8.5 in) and A4 (210 mm, ISO 216) in points."""


def width(pdf: bytes) -> int:
    return round(pypdfium2.PdfDocument(pdf)[0].get_size()[0])


@pytest.fixture
def label() -> str:
    make.Pouch()
    return f"/instruments/{make.Instrument().item_number}/label.pdf"


def test_labels_print_on_the_stock_that_was_kept(technician: Client, label: str) -> None:
    assert width(technician.get(label).content) == 283  # 100 mm
    technician.post("/papers/keep/", {"stock": "a4-3x8"})
    assert width(technician.get(label).content) == A4_PT


def test_what_an_address_names_comes_first(technician: Client, label: str) -> None:
    technician.post("/papers/keep/", {"stock": "a4-3x8"})
    assert width(technician.get(f"{label}?stock=label-100x50").content) == 283


def test_count_sheets_print_on_the_paper_that_was_kept(technician: Client) -> None:
    sheet = f"/packages/{at.signed().code}/count-sheet.pdf"
    assert width(technician.get(sheet).content) == A4_PT
    technician.post("/papers/keep/", {"paper": "letter"})
    assert width(technician.get(sheet).content) == LETTER_PT


@pytest.mark.parametrize("sent", [{"stock": "papyrus"}, {"paper": "A0"}])
def test_what_is_not_known_is_refused_and_not_kept(
    technician: Client, sent: dict[str, str]
) -> None:
    page = technician.post("/papers/keep/", sent, follow=True)
    assert f"“{next(iter(sent.values()))}” is no" in page.content.decode()
    assert not {"stock", "paper"} & set(technician.cookies)


def test_nothing_is_printed_on_another_stock_than_the_one_kept(
    technician: Client, label: str
) -> None:
    technician.cookies["stock"] = "papyrus"
    page = technician.get(label, follow=True).content.decode()
    assert "“papyrus” is no label stock in use here. Choose this workstation" in page


class TestPositions:
    """The first free position on a sheet is the workstation's, and moves on as it prints."""

    @pytest.fixture
    def sheet(self, technician: Client, label: str) -> str:
        technician.post("/papers/keep/", {"stock": "letter-3x7", "start": "20"})
        return label

    def said_at(self, client: Client, path: str, **headers: str) -> str:
        return str(client.get(path, headers=headers).get("X-Prints-At"))

    def test_what_goes_to_the_printer_moves_it_on_and_over_to_the_next_sheet(
        self, technician: Client, sheet: str
    ) -> None:
        said = [self.said_at(technician, f"{sheet}?copies={n}", **{"X-Printing": "1"})
                for n in (1, 3, 1)]  # fmt: skip
        assert said == ["20 of 21", "21 of 21", "3 of 21"]

    def test_what_is_only_looked_at_does_not(self, technician: Client, sheet: str) -> None:
        technician.get(sheet)
        assert self.said_at(technician, sheet, **{"X-Printing": "1"}) == "20 of 21"

    def test_it_is_corrected_where_a_label_is_looked_at(
        self, technician: Client, sheet: str
    ) -> None:
        preview = sheet.replace("label.pdf", "label/")
        assert "start" not in technician.get(f"{preview}?start=4").context["file"]
        assert self.said_at(technician, sheet, **{"X-Printing": "1"}) == "4 of 21"

    def test_one_that_the_sheet_does_not_have_is_refused(
        self, technician: Client, sheet: str
    ) -> None:
        page = technician.get(f"{sheet}?start=22", follow=True).content.decode()
        assert "“22” is no position on Letter sheet" in page
        kept = technician.post("/papers/keep/", {"stock": "letter-3x7", "start": "0"}, follow=True)
        assert "“0” is no position on a sheet from 1 up." in kept.content.decode()
        assert technician.cookies["free-letter-3x7"].value == "20"

    def test_a_roll_has_none(self, technician: Client, label: str) -> None:
        assert self.said_at(technician, label, **{"X-Printing": "1"}) == "None"


@pytest.mark.parametrize("path", ["/papers/wall/rack.pdf", "/papers/lists/heavy-sets.pdf"])
def test_all_other_papers_are_of_the_paper_kept(technician: Client, path: str) -> None:
    technician.post("/papers/keep/", {"paper": "letter"})
    page = pypdfium2.PdfDocument(technician.get(path).content)[0]
    assert LETTER_PT in (round(side) for side in page.get_size())
