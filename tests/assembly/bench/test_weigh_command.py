"""``manage.py weigh``: it says what a reading tells of a set, and changes nothing."""

from __future__ import annotations

import json
from io import StringIO

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError

from tests.factories import catalog as make

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def a_set() -> None:
    """Two of 20 g, one of 120 g, one that nobody weighed."""
    sheet = make.CountSheet(instrument_set__code="TS-1", state="current")
    for order, (name, each, many) in enumerate((("A", 20, 2), ("E", 120, 1), ("Q", None, 1))):
        instrument = make.Instrument(name=name, weight_g=each)
        make.Line(count_sheet=sheet, order=order, instrument=instrument, quantity=many)


def said(*arguments: str) -> str:
    out = StringIO()
    call_command("weigh", *arguments, stdout=out)
    return out.getvalue()


def test_what_is_missing_is_named_after_an_alarm() -> None:
    told = said("TS-1", "--reading", "ST,GS,+ 4879.9 g", "--baseline", "5000 g")
    assert told.startswith("Recount: -120.1 g from what it weighs complete")
    assert "1 × E missing" in told and "Weight not known, so never named: Q." in told
    assert told.endswith("The count stands: the scale only asks.\n")


def test_as_json() -> None:
    told = json.loads(said("ts-1", "--reading", "5000.4", "--baseline", "5000", "--json"))
    assert (told["alarm"], told["difference_g"], told["unweighed"]) == (False, 0.4, ["Q"])


@pytest.mark.parametrize(
    ("arguments", "why"),
    [
        (["TS-9", "--reading", "1 g"], "No set with a count sheet in force bears the code TS-9"),
        (["TS-1", "--reading", "US,+1 g", "--baseline", "1 g"], "--reading: .*not still"),
        (["TS-1", "--reading", "1 g", "--baseline", "ten"], "--baseline: .*no number"),
        (["TS-1", "--reading", "1 g"], "No baseline: nothing to hold the reading against"),
        (["TS-1", "--reading", "1 g", "--tare", "1 g"], "not good enough while a weight is unkn"),
    ],
)
def test_what_cannot_be_told_says_why(arguments: list[str], why: str) -> None:
    with pytest.raises(CommandError, match=why):
        said(*arguments)
