"""``manage.py split``: a set on record, in words and as JSON."""

from __future__ import annotations

import json
from io import StringIO

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError

from catalog.models import InstrumentSet
from tests.factories import catalog as make

pytestmark = pytest.mark.django_db


def said(*arguments: str) -> str:
    out = StringIO()
    call_command("split", *arguments, stdout=out)
    return out.getvalue()


@pytest.fixture
def heavy() -> InstrumentSet:
    """10,000.5 g of instruments in a container that may hold 11,300 - 3,200 = 8,100 g."""
    sheet = make.CountSheet()
    for weight in ("4000.1", "3000.2", "3000.2"):
        instrument = make.Instrument(weight_g=weight)
        make.Line(count_sheet=sheet, instrument=instrument, quantity=1)
    found: InstrumentSet = sheet.instrument_set
    return found


def test_the_trays_as_json(heavy: InstrumentSet) -> None:
    told = json.loads(said(heavy.code.lower(), "--json"))
    assert (told["set"], told["proved"]) == (heavy.code, True)
    assert [(t["gross_g"], t["limit_g"]) for t in told["trays"]] == [
        (9200.4, 11300.0), (7200.1, 11300.0)]  # fmt: skip
    assert [len(tray["lines"]) for tray in told["trays"]] == [2, 1]


def test_the_trays_in_words(heavy: InstrumentSet) -> None:
    words = said(heavy.code)
    assert "Proved: no fewer than 2 trays hold it." in words
    assert "at most 11.30 kg (rated weight: the packaging maker's IFU)" in words
    assert "A: 9.20 kg, 2 pieces, no cycle" not in words and "A: 9.20 kg, 2 pieces" in words


def test_a_set_that_is_not_there_is_named() -> None:
    with pytest.raises(CommandError, match="No set has the code NO-1"):
        said("NO-1")


def test_a_set_without_an_approved_sheet_says_what_to_do(heavy: InstrumentSet) -> None:
    heavy.count_sheets.update(state="draft")
    with pytest.raises(CommandError, match="approve one first"):
        said(heavy.code)


def test_layers_below_one_are_refused(heavy: InstrumentSet) -> None:
    with pytest.raises(CommandError, match="--layers: read 0"):
        said(heavy.code, "--layers", "0")
