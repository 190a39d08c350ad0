"""Many sets at once: the records of the single verbs, and a step that does not grow with them."""

from __future__ import annotations

from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from catalog import actions
from catalog.actions.many_sets import ManySets
from catalog.chain.guards import let_through
from catalog.models import Change, CountSheet, Instrument, InstrumentSet
from tests.factories import catalog as make

pytestmark = pytest.mark.django_db

LENA = actions.Actor("Lena", batch="spreadsheet 7")
HEADING = {"name": "Small set", "service": "Eye", "packed_in": ""}


def line(instrument: Instrument, **more: Any) -> dict[str, Any]:
    return {"order": 1, "section": "Tray", "instrument": instrument, "quantity": 2, **more}


def records() -> list[tuple[Any, ...]]:
    fields = ("verb", "kind", "object_key", "object_name", "before", "after", "actor", "batch")
    return list(Change.objects.order_by("pk").values_list(*fields))


def one_by_one(code: str, lines: list[dict[str, Any]]) -> None:
    one = actions.add_set(LENA, {"code": code, **HEADING})
    sheet = actions.add_count_sheet(LENA, one, 1, lines, ["row 9: left out"])
    actions.approve_count_sheet(LENA, sheet)


def at_once(*codes: str, lines: list[dict[str, Any]]) -> None:
    many = ManySets(LENA)
    for code in codes:
        one = many.add({"code": code, **HEADING})
        many.approve(many.add_count_sheet(one, 1, lines, ["row 9: left out"]))
    many.ready()
    many.write()


def as_written(code: str) -> tuple[Any, ...]:
    """All that a set and its count sheet hold but keys."""
    sheet = CountSheet.objects.get(instrument_set__code=code)
    heading = InstrumentSet.objects.values("name", "service", "packed_in").get(code=code)
    lines = sheet.lines.values_list(
        "order", "section", "instrument", "quantity", "may_go_without", "note", "substitutes"
    )
    return heading, sheet.state, sheet.approved_by, sheet.approved_on, sheet.left_out, [*lines]


def test_what_is_written_is_what_the_single_verbs_write() -> None:
    probe, hook = make.Instrument(), make.Instrument()
    lines = [line(probe, note="curved", substitutes=[hook]), line(hook, order=2, quantity=1)]
    one_by_one("S-1", lines)
    single, written = records(), as_written("S-1")
    with let_through():
        Change.objects.all().delete()
    InstrumentSet.objects.all().delete()
    at_once("S-1", lines=lines)
    assert (records(), as_written("S-1")) == (single, written)


def test_an_instrument_of_the_same_step_is_found_by_its_number() -> None:
    new = Instrument(item_number="N-1", name="Probe")
    many = ManySets(LENA)
    many.add_count_sheet(many.add({"code": "S-1", **HEADING}), 1, [line(new)], [])
    make.Instrument(item_number="N-1", name="Probe")
    many.ready()
    many.write()
    assert CountSheet.objects.get().lines.get().instrument.item_number == "N-1"


def test_many_sets_take_no_more_statements_than_few() -> None:
    """The lock of SQLite is held while they run."""
    lines, took = [line(make.Instrument())], []
    for codes in (["A-1", "A-2"], [f"B-{n}" for n in range(40)]):
        with CaptureQueriesContext(connection) as asked:
            at_once(*codes, lines=lines)
        took.append(len(asked))
    assert took[0] == took[1]
