"""Each container by its number: its filter, gasket and faults, and which may be packed."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone

from assembly.bench import signing
from assembly.consequences.policy_actions import override_value
from assembly.ledger import Refused
from assembly.models import Build, OwnContainer, Package
from assembly.packages import lots, shelf
from assembly.packages.containers import ASKED, hindrance, to_be_packed
from assembly.sterilizing.recalling import recall
from assembly.upkeep import containers
from catalog.actions import Actor
from catalog.models import Container, InstrumentSet
from reports.gathering.package_record import package_record
from tests.factories import bench as at
from tests.factories import catalog as make
from tests.factories import loads

pytestmark = pytest.mark.django_db
TODAY = timezone.localdate()
YESTERDAY, TOMORROW = TODAY - timedelta(days=1), TODAY + timedelta(days=1)


@pytest.fixture
def a_set() -> InstrumentSet:
    return at.a_set("TS-1", (1,))


@pytest.fixture
def kind(a_set: InstrumentSet) -> Container:
    assert a_set.container is not None
    return a_set.container


@pytest.fixture
def one(kind: Container) -> OwnContainer:
    return containers.add_container(at.person(), kind, "C-017", at.key())


def counted(a_set: InstrumentSet) -> Build:
    build = at.a_build(a_set)
    at.complete(build)
    return build


def packed(a_set: InstrumentSet, number: str = "C-017") -> Package:
    build = counted(a_set)
    plan = replace(at.all_yes(build), container=number)
    signing.pack(at.person(), build.pk, plan, at.key())
    return at.sealed(signing.sign(at.person(), build.pk, at.key()))


def offered(kind: Container) -> list[str]:
    return [each.number for each in to_be_packed(f"container:{kind.code}") or []]


def do(verb: Any, one: OwnContainer, *said: Any, **more: Any) -> None:
    verb(at.person(), one.pk, at.key(), *said, **more)


SPOILED = {
    "a fault": lambda one: do(containers.say_fault, one, "latch bent"),
    "a worn gasket": lambda one: do(containers.look_at_gasket, one, "worn"),
    "a filter beyond its date": lambda one: do(
        containers.change_filter, one, "reusable", TODAY - timedelta(days=9), YESTERDAY
    ),
    "out of use": lambda one: do(containers.use_no_more, one, "lid lost"),
}
MENDED = {
    "a fault": lambda one: do(containers.mended, one, "new latch"),
    "a worn gasket": lambda one: do(containers.look_at_gasket, one, "good"),
    "a filter beyond its date": lambda one: do(
        containers.change_filter, one, "reusable", TODAY, TOMORROW
    ),
    "out of use": lambda one: do(containers.use_again, one),
}


class TestWhichMayBePacked:
    def test_what_nobody_recorded_stops_nothing(self, one: OwnContainer, kind: Container) -> None:
        assert (hindrance(one, TODAY), offered(kind)) == ("", ["C-017"])

    @pytest.mark.parametrize("why", SPOILED)
    def test_it_is_neither_offered_nor_packed_until_that_is_mended(
        self, why: str, one: OwnContainer, kind: Container, a_set: InstrumentSet
    ) -> None:
        SPOILED[why](one)
        assert offered(kind) == []
        with pytest.raises(Refused, match="Take another container"):
            packed(a_set)
        assert not Package.objects.exists()
        MENDED[why](one)
        assert offered(kind) == ["C-017"]
        assert packed(a_set).own_container == one

    def test_on_its_last_day_a_filter_is_good(self, one: OwnContainer) -> None:
        do(containers.change_filter, one, "reusable", YESTERDAY, TODAY)
        one.refresh_from_db()
        assert hindrance(one, TODAY) == "" and hindrance(one, TOMORROW)

    def test_a_fault_said_before_the_signature_stops_it(
        self, one: OwnContainer, a_set: InstrumentSet
    ) -> None:
        build = counted(a_set)
        plan = replace(at.all_yes(build), container="C-017")
        signing.pack(at.person(), build.pk, plan, at.key())
        do(containers.say_fault, one, "latch bent")
        with pytest.raises(Refused, match="latch bent"):
            signing.sign(at.person(), build.pk, at.key())

    def test_around_one_package_it_is_not_around_another(
        self, one: OwnContainer, kind: Container, a_set: InstrumentSet
    ) -> None:
        package = packed(a_set)
        assert offered(kind) == []
        with pytest.raises(Refused, match=f"is around {package.code}"):
            packed(a_set)

    def test_handed_over_and_come_back_it_is_free(
        self, one: OwnContainer, kind: Container, a_set: InstrumentSet
    ) -> None:
        package = packed(a_set)
        loads.released(package)
        shelf.hand_over(at.person(), package, "OR 3", at.key())
        assert offered(kind) == ["C-017"]

    def test_the_packages_record_keeps_it_as_it_was(
        self, one: OwnContainer, a_set: InstrumentSet
    ) -> None:
        do(containers.change_filter, one, "reusable", YESTERDAY, TOMORROW)
        package = packed(a_set)
        do(containers.change_filter, one, "single use", TODAY)
        said = (f"C-017; filter reusable: stays in until its date; filter changed {YESTERDAY}; "
                f"to be changed by {TOMORROW}")  # fmt: skip
        [facts, *_] = package_record(package.code).sections
        assert ("Container", said) in facts.rows

    def test_reopened_it_is_free(self, one: OwnContainer, a_set: InstrumentSet) -> None:
        package = packed(a_set)
        signing.reopen(at.person(), package.build_id, "a piece is back", at.key())
        assert packed(a_set).own_container == one


class TestItsNumber:
    def test_the_record_of_the_package_names_it(
        self, one: OwnContainer, a_set: InstrumentSet
    ) -> None:
        assert packed(a_set, " c-017 ").supply.endswith(", no. C-017")

    def test_one_that_is_not_on_record_is_refused(
        self, one: OwnContainer, a_set: InstrumentSet
    ) -> None:
        with pytest.raises(Refused, match="“C-71” is no container on record"):
            packed(a_set, "C-71")

    def test_one_of_another_kind_is_refused(self, a_set: InstrumentSet) -> None:
        containers.add_container(at.person(), make.Container(), "C-200", at.key())
        with pytest.raises(Refused, match="Take another container, or choose"):
            packed(a_set, "C-200")

    def test_without_one_it_is_packed_as_ever(
        self, one: OwnContainer, a_set: InstrumentSet
    ) -> None:
        assert packed(a_set, "").own_container is None

    def test_unless_the_policy_asks_for_it(self, one: OwnContainer, a_set: InstrumentSet) -> None:
        override_value(Actor("a lead", reason="all are numbered"), ASKED, True, since=TODAY,
                       source="our plan")  # fmt: skip
        with pytest.raises(Refused, match="Scan the number on the container"):
            packed(a_set, "")

    def test_a_kind_without_numbers_is_never_asked(self, a_set: InstrumentSet) -> None:
        override_value(Actor("a lead", reason="all are numbered"), ASKED, True, since=TODAY,
                       source="our plan")  # fmt: skip
        assert packed(a_set, "").own_container is None

    def test_two_do_not_have_the_same(self, one: OwnContainer, kind: Container) -> None:
        with pytest.raises(Refused, match="There is a container c-017 already"):
            containers.add_container(at.person(), kind, "c-017", at.key())


class TestFilter:
    def test_a_single_use_filter_has_no_date(self, one: OwnContainer) -> None:
        with pytest.raises(Refused, match="Only a filter that stays in"):
            do(containers.change_filter, one, "single use", TODAY, TOMORROW)

    def test_a_day_to_come_is_refused(self, one: OwnContainer) -> None:
        with pytest.raises(Refused, match="still to come"):
            do(containers.change_filter, one, "reusable", TOMORROW)

    def test_one_that_stays_in_is_of_the_lot_that_was_open_when_it_was_changed(
        self, one: OwnContainer, a_set: InstrumentSet, kind: Container
    ) -> None:
        opened(kind, "F-1")
        do(containers.change_filter, one, "reusable")
        opened(kind, "F-2")
        package = packed(a_set)
        assert [lot.lot for lot in package.lots.all()] == ["F-1"]
        assert not package.uses.filter(supply=f"filter:{kind.code}").exists()

    @pytest.mark.parametrize("day", [None, TODAY])
    def test_or_of_any_that_it_may_be_of(
        self, one: OwnContainer, a_set: InstrumentSet, kind: Container, day: date | None
    ) -> None:
        opened(kind, "F-1")
        opened(kind, "F-2")
        OwnContainer.objects.update(filter_kind="reusable", filter_changed_on=day)
        assert {lot.lot for lot in packed(a_set).lots.all()} == {"F-1", "F-2"}

    def test_of_a_recalled_lot_it_is_changed_first(
        self, one: OwnContainer, a_set: InstrumentSet, kind: Container
    ) -> None:
        opened(kind, "F-1")
        do(containers.change_filter, one, "reusable")
        recall(at.person(), "lot", "F-1", at.key(), "torn")
        build = counted(a_set)
        plan = replace(at.all_yes(build), container="C-017")
        signing.pack(at.person(), build.pk, plan, at.key())
        with pytest.raises(Refused, match="filter in C-017 is or may be of lot F-1, which was rec"):
            signing.sign(at.person(), build.pk, at.key())
        opened(kind, "F-2")
        do(containers.change_filter, one)
        assert signing.sign(at.person(), build.pk, at.key()).lots.get().lot == "F-2"


def opened(kind: Container, lot: str) -> None:
    lots.open_lot(at.person(), f"filter:{kind.code}", lot, at.key())


class TestPages:
    def test_the_packing_page_offers_those_that_are_free(
        self, one: OwnContainer, a_set: InstrumentSet, kind: Container, technician: Client
    ) -> None:
        bad = containers.add_container(at.person(), kind, "C-018", at.key())
        do(containers.say_fault, bad, "dent")
        technician.post("/sets/TS-1/build/", {"key": at.key()})
        build = a_set.builds.get()
        at.complete(build, at.Person(build.holder_id, build.holder_name, at.person().permissions))
        page = technician.get(f"/builds/{build.pk}/pack/").content.decode()
        assert "<option>C-017</option>" in page and "C-018" not in page

    def test_the_end_of_a_scan_answers_and_packs_nothing(
        self, one: OwnContainer, a_set: InstrumentSet, technician: Client
    ) -> None:
        technician.post("/sets/TS-1/build/", {"key": at.key()})
        build = a_set.builds.get()
        at.complete(build, at.Person(build.holder_id, build.holder_name, at.person().permissions))
        plan = at.all_yes(build)
        asked = {"asked": list(plan.answers), "of:piece": list(plan.answers), "group": "none"}
        sent = {"act": "pack", "take": plan.option, "container": "C-017", "key": at.key()}
        answer = technician.post(f"/builds/{build.pk}/pack/", sent | asked)
        page = answer.content.decode()
        assert 'value="C-017"' in page and 'value="yes" checked' not in page
        assert not Package.objects.exists()

    def test_its_number_scanned_anywhere_opens_its_page(
        self, one: OwnContainer, technician: Client
    ) -> None:
        assert technician.get("/find/", {"q": "c-017"})["Location"] == "/containers/C-017/"

    def test_its_page_says_why_and_what_was_packed_in_it(
        self, one: OwnContainer, a_set: InstrumentSet, technician: Client
    ) -> None:
        package = packed(a_set)
        sent = {"act": "fault", "reason": "latch bent", "key": at.key()}
        technician.post(f"/containers/{one.pk}/act/", sent)
        page = technician.get("/containers/C-017/").content.decode()
        assert "C-017 has a fault: latch bent." in page and package.code in page

    def test_a_technician_does_not_take_it_out_of_use(
        self, one: OwnContainer, technician: Client
    ) -> None:
        sent = {"act": "out", "reason": "lid lost", "key": at.key()}
        assert technician.post(f"/containers/{one.pk}/act/", sent).status_code == 403
