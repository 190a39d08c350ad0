"""Labels of shelf places: on a sheet and on a roll, and scanned again they are the place."""

from __future__ import annotations

import pytest
from django.test import Client

from assembly.shelf_pages.scanning import AWAY, scan
from tests.factories import bench as at
from tests.factories import requests as ask
from tests.reports.drawing.labels.second_readers import data_matrix_texts
from tests.reports.examples import rendered

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize(("stock", "dpi"), [("roll-70x35", 300), ("a4-3x8", 203)])
def test_its_label_is_read_by_a_second_reader_and_is_the_place(
    technician: Client, stock: str, dpi: int
) -> None:
    place = ask.a_place("SHELF-12")
    pdf = technician.get(f"/shelf/places/labels.pdf?stock={stock}&place=SHELF-12").content
    [text] = data_matrix_texts(rendered(pdf, dpi))
    assert scan(at.person(), text, AWAY, at.key()).place == place


def test_all_places_print_in_their_order(technician: Client) -> None:
    for code in ("B2", "A1"):
        ask.a_place(code)
    page = technician.get("/shelf/places/labels/?stock=a4-3x8").content.decode()
    assert page.index("<li>A1</li>") < page.index("<li>B2</li>")


def test_a_place_that_is_none_prints_nothing(technician: Client) -> None:
    assert technician.get("/shelf/places/labels.pdf?place=Z9").status_code == 422
