"""Equipment today, a thing's month, and the press on the page of a load that puts a test there."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

import pytest
from django.test import Client
from django.utils import timezone

from assembly.equipment.standing import standing_of
from assembly.judging.facts_from_catalog import policy_in_force
from assembly.models import EquipmentTest, Load, LoadState
from catalog.models import Sterilizer
from tests.factories import bench as at
from tests.factories import catalog as make
from tests.factories import loads
from tests.factories import requests as ask

pytestmark = pytest.mark.django_db
TODAY = "/equipment/"


@pytest.fixture
def st1() -> Sterilizer:
    return loads.a_sterilizer(untested=True)


def text(client: Client, path: str) -> str:
    return " ".join(client.get(path).content.decode().split())


def record(client: Client, what: str = "sterilizer/ST1", **sent: str) -> str:
    """What the page says to it."""
    data = {"key": at.key(), "next": TODAY, **sent}
    answer = client.post(f"/equipment/{what}/record/", data, follow=True)
    return " ".join(answer.content.decode().split())


def test_what_stops_comes_first(technician: Client, st1: Sterilizer) -> None:
    loads.a_sealer()
    page = text(technician, TODAY)
    assert "1 stop" in page
    assert page.index("No air-removal test of ST1") < page.index("No leak test of ST1")
    assert "1 of 4 tests are as they should be" in page
    assert "today" in page[page.index("Seal test") :]


def test_one_press_puts_it_on_record(technician: Client, st1: Sterilizer) -> None:
    assert "<h2>1 stop" not in record(technician, kind="air removal", result="passed", lot="BD 1")
    [test] = EquipmentTest.objects.all()
    assert (test.state, test.lot, test.done_by) == ("passed", "BD 1", "a-technician")


@pytest.mark.parametrize(
    ("what", "sent", "said"),
    [
        ("sterilizer/ST1", {"kind": "leak", "result": "perhaps"}, "“perhaps” is no result"),
        ("sterilizer/ST1", {"kind": "leak"}, "whether the leak test passed"),
        ("sealer/PS1", {"kind": "seal", "result": "passed", "read_c": "hot"}, "“hot” is no number"),
        ("sealer/PS1", {"kind": "seal", "result": "passed", "read_c": "18"}, "not between 60"),
        ("sterilizer/ST1", {"kind": "biological", "lot": "B", "load": "77"}, "Load 77 is not"),
    ],
)  # fmt: skip
def test_what_cannot_be_read_is_said(
    technician: Client, st1: Sterilizer, what: str, sent: dict[str, str], said: str
) -> None:
    loads.a_sealer(read_c=None)
    assert said in record(technician, what, **sent)
    assert not EquipmentTest.objects.exists()


def test_a_comma_is_read(technician: Client) -> None:
    loads.a_sealer(read_c=None)
    record(technician, "sealer/PS1", kind="seal", result="passed", read_c="180,5 °C")
    assert EquipmentTest.objects.get().read_c == Decimal("180.5")


def test_an_indicator_is_read_on_the_page(technician: Client, st1: Sterilizer) -> None:
    test = loads.tested(st1, "biological", passed=None, lot="B 77")
    assert "Lot B 77 waits to be read" in text(technician, TODAY)
    EquipmentTest.objects.update(done_at=timezone.now() - timedelta(hours=3))
    sent = {"act": "no growth", "key": at.key(), "next": TODAY}
    technician.post(f"/equipment/tests/{test.pk}/act/", sent)
    test.refresh_from_db()
    assert test.state == EquipmentTest.State.PASSED


def test_only_a_coordinator_is_offered_to_sign_off(technician: Client, st1: Sterilizer) -> None:
    test = loads.tested(st1, "leak", passed=False)
    assert "Sign it off" not in text(technician, TODAY)
    sent = {"act": "sign off", "key": at.key(), "reason": "I say so"}
    assert technician.post(f"/equipment/tests/{test.pk}/act/", sent).status_code == 403


def test_a_coordinator_signs_it_off(coordinator: Client, st1: Sterilizer) -> None:
    test = loads.tested(st1, "leak", passed=False)
    assert "Sign it off" in text(coordinator, TODAY)
    sent = {"act": "sign off", "key": at.key(), "reason": "gasket renewed", "next": TODAY}
    coordinator.post(f"/equipment/tests/{test.pk}/act/", sent)
    [found] = standing_of([st1], policy_in_force(), ("leak",))
    assert found.mark == ("met", "signed off")


def test_taken_back_on_its_month(technician: Client, st1: Sterilizer) -> None:
    test = loads.tested(st1, "leak")
    path = "/equipment/sterilizer/ST1/"
    sent = {"act": "take back", "key": at.key(), "reason": "it was ST2", "next": path}
    page = technician.post(f"/equipment/tests/{test.pk}/act/", sent, follow=True).content.decode()
    assert "it was ST2" in page and "Taken back" in page


@pytest.mark.parametrize("path", ["/equipment/oven/ST1/", "/equipment/sealer/ST1/"])
def test_what_is_none_has_no_month(technician: Client, st1: Sterilizer, path: str) -> None:
    assert technician.get(path).status_code == 404


class TestOnTheLoad:
    @pytest.fixture
    def load(self) -> Load:
        return loads.a_load(ask.a_package(make.Instrument()), untested=True)

    def start(self, client: Client, load: Load) -> str:
        sent = {"act": "start", "key": at.key()}
        answer = client.post(f"/loads/{load.pk}/act/", sent, follow=True)
        load.refresh_from_db()
        return answer.content.decode()

    def test_it_says_which_is_missing_and_one_press_helps(
        self, technician: Client, load: Load
    ) -> None:
        assert "No air-removal test of ST1 is on record" in self.start(technician, load)
        assert load.state == LoadState.GATHERING
        page = text(technician, f"/loads/{load.pk}/")
        assert page.index("No air-removal test") < page.index("/equipment/sterilizer/ST1/record/")
        record(technician, kind="air removal", result="passed", next=f"/loads/{load.pk}/")
        self.start(technician, load)
        assert load.state == LoadState.RUNNING

    def test_its_indicator_is_put_on_record_in_the_sterilizer(
        self, technician: Client, load: Load
    ) -> None:
        record(technician, kind="air removal", result="passed")
        self.start(technician, load)
        record(technician, kind="biological", lot="B 78", incubator="2", load=str(load.pk))
        assert EquipmentTest.objects.get(kind="biological").load == load
        assert "Lot B 78 waits to be read" in text(technician, f"/loads/{load.pk}/")

    def test_the_loads_and_the_bench_say_what_stops(self, technician: Client, load: Load) -> None:
        loads.a_sealer(read_c=None)
        assert "Air-removal test of ST1" in text(technician, "/loads/")
        assert "Seal test of PS1" in text(technician, "/bench/")
