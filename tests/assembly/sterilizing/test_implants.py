"""A load with an implant that is on record waits for its biological indicator.

Source: CDC guidance on implants, from memory: a biological indicator in every load with an implant,
read before the implant is used.
"""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone

from assembly.ledger import Refused
from assembly.models import Package
from assembly.requests.coming import IN_STERILIZER
from assembly.requests.sources import sources_for
from assembly.sterilizing import releasing
from catalog.models import Instrument
from tests.factories import bench as at
from tests.factories import catalog as make
from tests.factories import loads
from tests.factories import requests as ask

pytestmark = pytest.mark.django_db
WAIT_MIN = 180
"""Until an indicator is read, as the shipped policy has it."""


@pytest.fixture
def screw() -> Package:
    return ask.a_package(make.Instrument(item_number="T-9", implant=True))


def test_nobody_releases_it_without_a_reading(screw: Package) -> None:
    load = loads.running(screw)
    with pytest.raises(Refused, match="has to wait for its biological indicator"):
        releasing.release(at.person(), load.pk, loads.all_yes(), loads.NONE, at.key())


def test_read_without_growth_it_is_released(screw: Package) -> None:
    assert loads.released(screw, biological=loads.NO_GROWTH).state == "released"


def test_its_page_names_it_and_does_not_ask(screw: Package, technician: Client) -> None:
    page = technician.get(f"/loads/{loads.running(screw).pk}/").content.decode()
    assert f"T-9 in {screw.code}" in page and "Is an implant in this load?" not in page


def test_without_one_on_record_the_page_asks(technician: Client) -> None:
    load = loads.running(ask.a_package(make.Instrument(implant=None)))
    assert "Is an implant in this load?" in technician.get(f"/loads/{load.pk}/").content.decode()


def ready_min(instrument: Instrument, kind: str) -> float:
    [source] = [one for one in sources_for(instrument, None, timezone.now()) if one.kind == kind]
    assert source.ready and source.ready.at, source
    return (source.ready.at - source.ready.start) / timedelta(minutes=1)


@pytest.mark.parametrize(("implant", "more"), [(True, WAIT_MIN), (False, 0), (None, 0)])
def test_ready_by_waits_for_the_indicator(implant: bool | None, more: int) -> None:
    loads.a_sterilizer("ST1", loads.a_programme(come_up_min=15))
    instrument = make.Instrument(spares_on_hand=1, implant=implant)
    ask.a_package(instrument)
    loose = 3 + 5 + 15 + 4 + 20 + 30 + 5  # packing, to the load, the cycle, cooling, way
    assert round(ready_min(instrument, "Loose spare"), 1) == loose + more


def test_what_is_in_one_load_with_it_waits_too(screw: Package) -> None:
    loads.a_sterilizer("ST1", loads.a_programme(come_up_min=15))
    beside = make.Instrument()
    loads.running(ask.a_package(beside), screw)
    cycle = 15 + 4 + 20 + 30 + 5
    assert round(ready_min(beside, IN_STERILIZER), 1) == cycle + WAIT_MIN
