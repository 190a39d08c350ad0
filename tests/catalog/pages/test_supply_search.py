"""The list of supplies narrowed by its search field."""

from __future__ import annotations

import csv
import io

import pytest
from django.test import Client

from tests.factories import catalog as make

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def supplies() -> None:
    make.Pouch(code="P-130", name="Self-seal, short")
    make.Pouch(code="P-200", name="Self-seal, long")
    make.Container(code="C-1", name="Half container")


def found(client: Client, words: str) -> list[str]:
    shown = client.get("/supplies/", {"q": words}).context["kinds"]
    return [row.code for _, lines in shown for row, _ in lines]


@pytest.mark.parametrize(
    ("words", "codes"),
    [("p-130", ["P-130"]), ("]d1P-130\r", ["P-130"]), ("*P-130*", ["P-130"]),
     ("LONG seal", ["P-200"]), ("container half", ["C-1"]), ("pouches", ["P-130", "P-200"])],
)  # fmt: skip
def test_each_word_narrows_it(technician: Client, words: str, codes: list[str]) -> None:
    assert found(technician, words) == codes


def test_nothing_found_is_said(technician: Client) -> None:
    page = technician.get("/supplies/", {"q": "zeppelin"}).content.decode()
    assert "Nothing is called “zeppelin”" in page


def test_the_spreadsheet_is_the_same_list(technician: Client) -> None:
    sent = {"q": "p-130", "as": "csv", "kind": "pouch"}
    text = technician.get("/supplies/", sent).content.decode("utf-8-sig")
    assert [row[0] for row in csv.reader(io.StringIO(text))][1:] == ["P-130"]


def test_a_patients_code_is_not_shown_again(technician: Client) -> None:
    page = technician.get("/supplies/", {"q": "(8018)123456789012345675"}).content.decode()
    assert "123456789012345675" not in page


def test_a_script_gets_the_list_alone(technician: Client) -> None:
    page = technician.get("/supplies/", {"q": "p-130"}, headers={"HX-Request": "true"})
    assert "<main" not in page.content.decode() and "P-130" in page.content.decode()
