"""``manage.py weigh``: it says what a reading tells of a set, and changes nothing."""

from __future__ import annotations

import json
from datetime import date
from io import StringIO

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError

from assembly.consequences.policy_actions import override_value
from catalog.actions import Actor
from catalog.models import Instrument
from tests.factories import bench as at
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
    assert told.startswith(
        "Recount: 120.1 g lighter than it should be. The scale explains 4.9 g at most."
    )
    assert "1 × E missing" in told and "Weight not known, so never named: Q." in told
    assert "The count stands: the scale only asks." in told


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


def test_against_the_baseline_on_record_by_its_number() -> None:
    of = at.a_set("TS-2")
    at.a_baseline(of, "2000", number=2)
    assert said("TS-2", "--reading", "2000.4 g", "--number", "2").startswith("Weighs as it should")
    with pytest.raises(CommandError, match="No baseline"):
        said("TS-2", "--reading", "2000.4 g")


def test_against_the_weights_on_record_where_the_policy_has_copies_hardly_differ() -> None:
    Instrument.objects.filter(name="Q").update(weight_g=30)
    values = {"weigh_spread": 0.004, "scale_noise_g": 0.0}
    for name, value in values.items():
        override_value(Actor("bea", reason="x"), name, value, since=date(2026, 1, 1), source="SOP")
    told = json.loads(said("TS-1", "--reading", "1190 g", "--tare", "1 kg", "--json"))
    assert (told["should_be_g"], told["alarm"]) == (1190, False)
