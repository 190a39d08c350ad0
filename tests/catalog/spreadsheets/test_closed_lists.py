"""Protectors and filters are of closed lists: on import, and for what was written before."""

from __future__ import annotations

from importlib import import_module

import pytest
from django.apps import apps

from catalog.models import Container, Protector
from catalog.spreadsheets.cells.report import Verdict
from tests.catalog.spreadsheets.workbooks import book, check_instruments
from tests.factories import catalog as make

HEAD = ["Item #", "Name", "Tip protector"]
STOCKED = ("vented, small", "TP-S")


def row(text: str, known: dict[str, dict[str, object]] | None = None):  # type: ignore[no-untyped-def]
    sheet = book(("List", [HEAD, ["HF-1", "Hook", text]]))
    return check_instruments(sheet, known or {}, protectors=STOCKED).rows[0]


@pytest.mark.parametrize(
    "text",
    ["ohne", "sans", "nein", "not required", "none needed", "without", "see IFU", "yes", "x",
     "latex tube", "gauze"],
)  # fmt: skip
def test_a_protector_that_is_none_of_the_stocked_is_doubtful(text: str) -> None:
    found = row(text)
    assert [one.code for one in found.problems] == ["not_stocked"]
    assert (found.verdict, found.values["protector"]) == (Verdict.DOUBTFUL, text)


@pytest.mark.parametrize("text", ["vented, small", "Vented,  Small", "tp-s", "none"])
def test_a_stocked_one_or_none_is_not(text: str) -> None:
    assert row(text).problems == ()


def test_what_is_on_record_already_is_not_asked_again() -> None:
    known: dict[str, dict[str, object]] = {"HF-1": {"name": "Hook", "protector": "gauze"}}
    assert row("gauze", known).problems == ()


CLOSED = import_module("catalog.migrations.0006_closed_lists")


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("words", "material"),
    [("Round PAPER filter", "paper"), ("cellulose", "paper"), ("Papier", ""), ("PTFE", "")],
)
def test_a_filter_in_words_becomes_paper_where_it_says_so(words: str, material: str) -> None:
    one = make.Container(filter=words, filter_material="")
    CLOSED.close_lists(apps, None)
    assert Container.objects.get(pk=one.pk).filter_material == material


@pytest.mark.django_db
def test_a_filter_material_on_record_stays() -> None:
    one = make.Container(filter="paper holder", filter_material="ptfe")
    CLOSED.close_lists(apps, None)
    assert Container.objects.get(pk=one.pk).filter_material == "ptfe"


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("words", "material"),
    [
        ("Silicone, blue", "silicone"),
        ("latex", "latex"),
        ("latex-free silicone", ""),
        ("rubber", ""),
    ],
)
def test_a_material_of_a_protector_that_is_not_certain_becomes_unknown(
    words: str, material: str
) -> None:
    one = Protector.objects.create(code="TP", name="tip", material=words)
    CLOSED.close_lists(apps, None)
    assert Protector.objects.get(pk=one.pk).material == material
