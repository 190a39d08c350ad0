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


def test_a_cookie_that_names_nothing_is_ignored(technician: Client, label: str) -> None:
    technician.cookies["stock"] = "papyrus"
    assert width(technician.get(label).content) == 283
