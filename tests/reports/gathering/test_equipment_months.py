"""A month of one sterilizer or sealer: every day, what was run on it beside what was tested."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest
from django.test import Client
from django.utils import timezone

from assembly.equipment.months import month_named
from assembly.equipment.recording import take_back
from assembly.models import EquipmentTest
from catalog.models import Pouch
from reports.gathering.equipment_months import month_document
from tests.factories import bench as at
from tests.factories import catalog as make
from tests.factories import loads
from tests.factories import requests as ask

pytestmark = pytest.mark.django_db
THIS_MONTH = month_named("")


def today(rows: tuple[tuple[str, ...], ...]) -> tuple[str, ...]:
    return rows[timezone.localdate().day - 1]


@pytest.mark.parametrize(("words", "days"), [("2026-02", 28), ("2028-02", 29), ("2026-12", 31)])
def test_it_has_every_day(words: str, days: int) -> None:
    rows = month_document(loads.a_sterilizer(), month_named(words), "Bea").rows
    assert len(rows) == days and rows[0][0].endswith(" 1")


@pytest.mark.parametrize("words", ["", "2026", "2026-13", "November"])
def test_what_is_no_month_is_this_one(words: str) -> None:
    assert month_named(words) == date.today().replace(day=1)


def test_a_day_with_its_cycles_and_tests() -> None:
    loads.running(ask.a_package(make.Instrument()))
    row = today(month_document(loads.a_sterilizer(), THIS_MONTH, "Bea").rows)
    assert row[1:] == ("1", "Passed, Tam Birkett", "", "")


def test_a_cycle_without_its_test_of_the_day_says_so() -> None:
    loads.running(ask.a_package(make.Instrument()))
    [test] = EquipmentTest.objects.all()
    take_back(at.person(), test.pk, at.key(), "it was ST2")
    sterilizer = test.sterilizer
    assert sterilizer
    row = today(month_document(sterilizer, THIS_MONTH, "Bea").rows)
    assert row[1:] == ("1", "none on record", "", "")


def test_a_sealer_has_what_it_read_and_how_much_it_sealed() -> None:
    sealer = loads.a_sealer()
    Pouch.objects.update(seal_temperature_c=180, seal_tolerance_c=5)
    ask.a_package(make.Instrument())
    loads.tested(sealer, "seal", passed=False, read_c=Decimal(191), lot="S 9", words="jaw is dirty")
    row = today(month_document(sealer, THIS_MONTH, "Bea").rows)
    assert row[1] == "1"
    assert row[2] == (
        "Passed, read 180 °C, Tam Birkett; Failed, lot S 9, read 191 °C, Tam Birkett, jaw is dirty"
    )


def test_the_paper_is_one_page(technician: Client) -> None:
    loads.a_sterilizer()
    answer = technician.get("/equipment/sterilizer/ST1/month.pdf?month=2026-12")
    assert answer.content.startswith(b"%PDF") and answer.content.count(b"/Type /Page\n") <= 1
