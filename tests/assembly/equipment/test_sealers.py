"""What is sealed with heat names its sealer, and is refused where its temperature is not right."""

from __future__ import annotations

from datetime import date

import pytest
from django.test import Client
from django.utils import timezone

from assembly.equipment.sealers import temperatures
from assembly.ledger import Refused
from assembly.models import EquipmentTest, Package, PolicyOverride
from assembly.packages import sealing
from catalog.models import Pouch, Sealer
from tests.factories import bench as at
from tests.factories import catalog as make
from tests.factories import loads
from tests.factories import requests as ask
from tests.reports.examples import page_texts

pytestmark = pytest.mark.django_db


@pytest.fixture
def waiting() -> Package:
    """A package in a pouch that its IFU seals at 180 °C ± 5 °C."""
    package = ask.a_package_to_seal(make.Instrument())
    Pouch.objects.update(seal_temperature_c=180, seal_tolerance_c=5, ifu_reference="TPW-IFU 12")
    return package


def seal(package: Package, sealer: Sealer | None) -> Package:
    return sealing.seal(at.person(), package.pk, sealing.all_right(package), sealer)


def stops_by_policy() -> None:
    PolicyOverride.objects.create(
        name="tests_that_stop", value=["seal"], since=date(2026, 1, 1), source="house",
        reason="x", set_by="Bea", set_at=timezone.now(),
    )  # fmt: skip


class TestTheSealerIsNamed:
    def test_184_is_right_for_180_within_5(self, waiting: Package) -> None:
        sealed = seal(waiting, loads.a_sealer(read_c=184))
        assert sealed.sealer and sealed.sealer.code == "PS1"
        assert [one["status"] for one in sealed.seal_findings] == ["met", "met"]

    def test_186_is_not(self, waiting: Package) -> None:
        with pytest.raises(Refused, match=r"PS1 reads 186 °C: .* is sealed at 180 °C ± 5 °C"):
            seal(waiting, loads.a_sealer(read_c=186))
        waiting.refresh_from_db()
        assert not waiting.sealed_at

    def test_where_there_are_sealers_one_is_named(self, waiting: Package) -> None:
        loads.a_sealer()
        with pytest.raises(Refused, match="say which sealer"):
            seal(waiting, None)

    def test_without_one_on_record_it_says_what_it_does_not_know(self, waiting: Package) -> None:
        [finding] = seal(waiting, None).seal_findings
        assert finding["status"] == "cannot tell"

    def test_a_self_seal_pouch_needs_none(self, waiting: Package) -> None:
        Pouch.objects.update(closure="self-seal")
        loads.a_sealer(read_c=20 + 100)
        sealed = seal(waiting, None)
        assert sealed.sealed_at and sealed.seal_findings == []

    def test_without_a_test_of_the_day_it_is_a_caution(self, waiting: Package) -> None:
        sealed = seal(waiting, loads.a_sealer(read_c=None))
        said = [one["sentence"] for one in sealed.seal_findings]
        assert said[0].startswith("No seal test of PS1 is on record for")
        assert said[1].startswith("What PS1 reads today is not on record")

    def test_or_stops_by_the_policy(self, waiting: Package) -> None:
        stops_by_policy()
        with pytest.raises(Refused, match="No seal test of PS1"):
            seal(waiting, loads.a_sealer(read_c=None))

    def test_the_policy_stops_what_the_ifu_does_not_say(self, waiting: Package) -> None:
        stops_by_policy()
        Pouch.objects.update(seal_tolerance_c=None)
        with pytest.raises(Refused, match="tolerance not on record"):
            seal(waiting, loads.a_sealer(read_c=184))

    def test_yesterdays_reading_is_not_todays(self, waiting: Package) -> None:
        sealer = loads.a_sealer(read_c=186)
        EquipmentTest.objects.update(day=date(2026, 1, 1))
        assert seal(waiting, sealer).seal_findings[1]["status"] == "cannot tell"

    def test_a_failed_test_stops_it(self, waiting: Package) -> None:
        sealer = loads.a_sealer()
        loads.tested(sealer, "seal", passed=False)
        with pytest.raises(Refused, match="seal test of PS1 failed"):
            seal(waiting, sealer)

    def test_set_anew_its_new_test_counts(self, waiting: Package) -> None:
        sealer = loads.a_sealer(read_c=125)
        loads.tested(sealer, "seal", read_c=180)
        assert seal(waiting, sealer).sealer == sealer


CHOSEN = 'value="PS1" checked'


class TestOnThePage:
    def shown(self, technician: Client, package: Package) -> str:
        return technician.get(f"/packages/{package.code}/").content.decode()

    def pressed(self, technician: Client, package: Package, **sent: str) -> int:
        keys = [one.key for one in sealing.checks_of(package)]
        data = {"asked": keys, "of:closed": keys, "group": "closed", "key": at.key(), **sent}
        return technician.post(f"/packages/{package.code}/seal/", data).status_code

    def test_the_workstation_remembers_it(self, technician: Client, waiting: Package) -> None:
        loads.a_sealer()
        loads.a_sealer("PS2", 125)
        assert (
            'value="PS1" checked'
            not in technician.get(f"/packages/{waiting.code}/").content.decode()
        )
        assert self.pressed(technician, waiting) == 422
        assert self.pressed(technician, waiting, sealer="PS1") == 302
        other = ask.a_package_to_seal(make.Instrument())
        assert CHOSEN in self.shown(technician, other)
        assert self.pressed(technician, other) == 302
        other.refresh_from_db()
        assert other.sealer and other.sealer.code == "PS1"

    def test_the_only_one_is_chosen(self, technician: Client, waiting: Package) -> None:
        loads.a_sealer()
        assert CHOSEN in self.shown(technician, waiting)
        assert self.pressed(technician, waiting) == 302

    def test_an_unknown_one_is_refused(self, technician: Client, waiting: Package) -> None:
        assert self.pressed(technician, waiting, sealer="PS9") == 422


def test_the_wall_card_says_at_what_temperature_each_is_sealed(technician: Client) -> None:
    """By the maker's IFU on record; what has none says so, and a self-seal pouch stands nowhere."""
    for code, temperature in (("P-1", 180), ("P-2", 180), ("P-3", None)):
        make.Pouch(code=code, closure="heat-seal", seal_temperature_c=temperature,
                   seal_tolerance_c=5, ifu_reference="TPW-IFU 12")  # fmt: skip
    make.Pouch(code="P-4", closure="self-seal", seal_temperature_c=180)
    make.Pouch(code="P-5", closure="heat-seal", seal_temperature_c=180, in_stock=False)
    assert temperatures() == [
        "P-1, P-2: 180 °C ± 5 °C (TPW-IFU 12).",
        "P-3: not on record: read it in the packaging's IFU.",
    ]
    card = technician.get("/papers/wall/temperatures.pdf")
    assert "P-1,P-2:180°C±5°C" in "".join("".join(page_texts(card.content)).split())
