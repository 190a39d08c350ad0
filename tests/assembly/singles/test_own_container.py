"""An instrument packed alone in a container names which one, as a set does."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone

from assembly.consequences.policy_actions import override_value
from assembly.judging.decisions import decide_for_instrument
from assembly.ledger import Refused
from assembly.models import OwnContainer, Package
from assembly.packages import recording
from assembly.packages.containers import ASKED, ONE_BY_ONE
from assembly.requests import working
from assembly.upkeep import containers
from catalog.actions import Actor
from catalog.models import Container, Instrument
from reports.gathering.labels.packages import package_label_document
from reports.gathering.package_record import package_record
from tests.assembly.singles.test_single_page import fields
from tests.assembly.upkeep import test_containers as of_sets
from tests.factories import bench as at
from tests.factories import catalog as make
from tests.factories import requests as ask

pytestmark = pytest.mark.django_db


@pytest.fixture
def kind(db: None) -> Container:
    found = at.a_set("TS-1", (1,)).container
    assert found is not None
    return found


@pytest.fixture
def one(kind: Container) -> OwnContainer:
    return containers.add_container(at.person(), kind, "C-017", at.key())


@pytest.fixture
def instrument(kind: Container) -> Instrument:
    made: Instrument = make.Instrument(item_number="T-1", hollow=False, parts_apart="")
    return made


def packed(
    instrument: Instrument, number: str = "C-017", key: str = "", copies: int = 1
) -> Package:
    code = Container.objects.order_by("pk")[0].code
    plan = at.plan_for(instrument, f"container:{code}")
    return recording.pack_single(
        at.person(), instrument, decide_for_instrument(instrument),
        replace(plan, container=number, copies=copies), key or at.key(),
    )  # fmt: skip


def test_package_record_and_label_name_it(one: OwnContainer, instrument: Instrument) -> None:
    package = packed(instrument, " c-017 ")
    assert package.own_container == one
    assert package_label_document(package).package.endswith(", no. C-017")
    [facts, *_] = package_record(package.code).sections
    assert ("Container", "C-017") in facts.rows and any(row[0] == "Inside" for row in facts.rows)


@pytest.mark.parametrize("why", of_sets.SPOILED)
def test_what_is_wrong_with_it_stops_it_until_it_is_mended(
    why: str, one: OwnContainer, instrument: Instrument
) -> None:
    of_sets.SPOILED[why](one)
    with pytest.raises(Refused, match="Take another container"):
        packed(instrument)
    assert not Package.objects.exists()
    of_sets.MENDED[why](one)
    assert packed(instrument).own_container == one


def test_around_a_closed_package_it_is_refused_once_and_for_its_own_key_told_again(
    one: OwnContainer, instrument: Instrument
) -> None:
    package = packed(instrument, key="pressed-once")
    assert packed(instrument, key="pressed-once") == package
    with pytest.raises(Refused, match=f"is around {package.code}"):
        packed(instrument)


def test_several_alike_go_into_containers_one_after_the_other(
    one: OwnContainer, instrument: Instrument
) -> None:
    with pytest.raises(Refused, match=ONE_BY_ONE):
        packed(instrument, copies=2)
    assert not Package.objects.exists()


@pytest.mark.parametrize("copies", [1, 2])
def test_without_a_number_it_is_packed_unless_the_policy_asks(
    one: OwnContainer, instrument: Instrument, copies: int
) -> None:
    assert packed(instrument, "", copies=copies).own_container is None
    override_value(Actor("a lead", reason="all are numbered"), ASKED, True,
                   since=timezone.localdate(), source="our plan")  # fmt: skip
    with pytest.raises(Refused, match=ONE_BY_ONE if copies > 1 else "Scan the number"):
        packed(instrument, "", copies=copies)


def test_for_a_request_too(one: OwnContainer, instrument: Instrument) -> None:
    asked = ask.a_request(instrument)
    working.take_and_pack(at.person(), asked.pk, at.key())
    plan = replace(at.plan_for(instrument), container="C-017")
    package = working.pack_for_request(
        at.person(), asked.pk, decide_for_instrument(instrument), plan, at.key()
    )
    assert package.own_container == one


class TestPage:
    def send(self, client: Client, kind: Container, **form: Any) -> Any:
        asked = fields(client)
        answers = {f"check:{key}": "yes" for key in asked["asked"]}
        given = {"key": at.key(), "take": f"container:{kind.code}", "container": "C-017"}
        return client.post("/instruments/T-1/", {**asked, **answers, **given, **form})

    def test_it_offers_those_that_are_free(
        self, one: OwnContainer, kind: Container, instrument: Instrument, technician: Client
    ) -> None:
        bad = containers.add_container(at.person(), kind, "C-018", at.key())
        of_sets.SPOILED["a fault"](bad)
        page = technician.get("/instruments/T-1/").content.decode()
        assert "<option>C-017</option>" in page and "C-018" not in page

    def test_what_the_way_that_is_taken_asks_for_is_said(
        self, kind: Container, instrument: Instrument, technician: Client
    ) -> None:
        make.Pouch()
        said = "A new filter each cycle, or one that stays in"
        assert said not in technician.get("/instruments/T-1/").content.decode()
        taken = f"/instruments/T-1/?take=container:{kind.code}"
        assert said in technician.get(taken).content.decode()

    def test_a_kind_without_numbers_asks_for_none(
        self, instrument: Instrument, technician: Client
    ) -> None:
        assert 'name="container"' not in technician.get("/instruments/T-1/").content.decode()

    def test_the_end_of_a_scan_packs_nothing_and_says_at_once_what_is_wrong(
        self, one: OwnContainer, kind: Container, instrument: Instrument, technician: Client
    ) -> None:
        of_sets.SPOILED["a fault"](one)
        page = self.send(technician, kind, group="none").content.decode()
        assert "C-017 has a fault: latch bent. Take another container." in page
        assert 'value="C-017"' in page and not Package.objects.exists()

    def test_one_press_packs_it_and_the_package_leads_to_its_container(
        self, one: OwnContainer, kind: Container, instrument: Instrument, technician: Client
    ) -> None:
        answer = self.send(technician, kind, group="package")
        page = technician.get(answer["Location"]).content.decode()
        assert ", no. C-017" in page and 'href="/containers/C-017/"' in page
