"""Recalls: from a load, a sterilizer, a lot or an instrument to every package, all at once."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone

from assembly.ledger import Refused, verb
from assembly.models import (
    EquipmentTest,
    Load,
    OwnContainer,
    Package,
    Recall,
    RecallNotice,
    SupplyLot,
)
from assembly.packages import lots, recalls, sealing, shelf, standing
from assembly.packages.recording import void_package
from assembly.persons import ASSEMBLE, Person
from assembly.requests import working
from assembly.sterilizing import recalling
from assembly.upkeep import containers
from catalog.models import Instrument
from reports.gathering.recalls import recall_sheet
from tests.conftest import kept_meanwhile
from tests.factories import bench as at
from tests.factories import catalog as make
from tests.factories import loads
from tests.factories import requests as ask

pytestmark = pytest.mark.django_db


@pytest.fixture
def package(instrument: Instrument) -> Package:
    return ask.a_package(instrument)


def recalled(kind: str, of: str, key: str = "") -> Recall:
    return recalling.recall(at.person(), kind, of, key or at.key(), "it grew")


def inside(made: Recall) -> set[str]:
    return {one.package.code for one in made.packages.all()}


def ran(load: Load, hours_ago: int) -> Load:
    return loads.started(load, timedelta(hours=hours_ago))


class TestFromASterilizer:
    def test_every_load_since_the_last_good_reading(self, instrument: Instrument) -> None:
        """No growth, not read, none, grew: the last three are recalled."""
        four = [ask.a_package(instrument) for _ in range(4)]
        said = (loads.NO_GROWTH, loads.NOT_READ, loads.NONE, loads.NOT_READ)
        for hours, (package, word) in enumerate(zip(four, said, strict=True)):
            ran(loads.released(package, biological=word), 20 - hours)
        made = recalled("sterilizer", "st1")
        assert inside(made) == {one.code for one in four[1:]}
        states = list(Load.objects.order_by("started_at").values_list("state", flat=True))
        assert states == ["released", "recalled", "recalled", "recalled"]
        assert [one.pk for one in standing.usable()] == [four[0].pk]

    def test_what_runs_is_not_released(self, package: Package) -> None:
        load = loads.running(package)
        recalled("sterilizer", "ST1")
        load.refresh_from_db()
        assert load.state == "not released"

    def test_another_sterilizers_loads_stay(self, package: Package) -> None:
        loads.released(package)
        loads.a_sterilizer("ST2")
        with pytest.raises(Refused, match="Nothing of it is on record"):
            recalled("sterilizer", "ST2")
        assert standing.usable().exists()


class TestFromALot:
    @pytest.fixture
    def lot(self, package: Package) -> SupplyLot:
        """The lot of the pouch that the package is in, opened before another like it is packed."""
        kind, codes = package.decision["taken"].split(":")[0], package.decision["taken"].split(":")
        return lots.open_lot(at.person(), f"{kind}:{codes[1]}", "A1", at.key())

    def test_what_was_packed_while_it_was_in_use_is_found(
        self, package: Package, lot: SupplyLot, instrument: Instrument
    ) -> None:
        with_it = ask.a_package(instrument)
        lots.open_lot(at.person(), lot.supply, "A2", at.key())
        after = ask.a_package(instrument)
        borne = [[lot.lot for lot in one.lots.all()] for one in (package, with_it, after)]
        assert borne == [[], ["A1"], ["A2"]]
        assert inside(recalled("lot", "a1")) == {with_it.code}

    def test_an_indicators_lot_too(self, instrument: Instrument) -> None:
        lots.open_lot(at.person(), "indicator:steam", "I-7", at.key())
        with_it = ask.a_package(instrument)
        assert inside(recalled("lot", "I-7")) == {with_it.code}

    @pytest.mark.parametrize("supply", ["filter:{}", "label:package"])
    def test_a_lot_of_filters_or_of_labels_too(self, supply: str, technician: Client) -> None:
        one = at.a_set()
        at.signed(at.a_build(one))
        supply = supply.format(one.container.code)
        assert f'value="{supply}"' in technician.get("/lots/").content.decode()
        technician.post("/lots/open/", {"key": at.key(), "supply": supply, "lot": "F-3"})
        with_it = at.signed(at.a_build(one))
        technician.post("/lots/open/", {"key": at.key(), "supply": supply, "lot": "F-4"})
        at.signed(at.a_build(one))
        assert inside(recalled("lot", "f-3")) == {with_it.code}

    def test_the_lot_of_a_seal_tests_strip_recalls_what_its_sealer_closed(
        self, instrument: Instrument, technician: Client
    ) -> None:
        """Tested three days ago with S-1, the day after with a strip whose lot nobody wrote,
        yesterday with S-2: packages of the first two days are found, of this sealer alone."""
        first, second = loads.a_sealer("PS1", None), loads.a_sealer("PS2", None)
        today, now = timezone.localdate(), timezone.now()
        for days, lot in ((3, "S-1"), (2, ""), (1, "S-2")):
            test = loads.tested(first, "seal", read_c=180, lot=lot)
            EquipmentTest.objects.filter(pk=test.pk).update(day=today - timedelta(days=days))
        closed = []
        for days, sealer in ((4, first), (3, first), (2, first), (1, first), (3, second)):
            one = ask.a_package_to_seal(instrument)
            sealing.seal(at.person(), one.pk, sealing.all_right(one), sealer)
            Package.objects.filter(pk=one.pk).update(sealed_at=now - timedelta(days=days))
            closed.append(one.code)
        made = recalled("lot", "s-1")
        assert (inside(made), made.about) == (set(closed[1:3]), "lot s-1 (seal tests of PS1)")
        assert technician.get(f"/recalls/{made.pk}/").status_code == 200

    def test_a_biological_indicators_lot_recalls_the_loads_it_was_in(
        self, package: Package
    ) -> None:
        load = loads.released(package, biological=loads.NOT_READ)
        loads.tested(load.sterilizer, "biological", passed=None, lot="B-9", load=load)
        made = recalled("lot", "b-9")
        load.refresh_from_db()
        assert (inside(made), load.state) == ({package.code}, "recalled")

    def test_the_lot_of_a_test_recalls_what_ran_until_another_lot(
        self, package: Package, instrument: Instrument, technician: Client
    ) -> None:
        """Tested three days ago with T-9, yesterday with another lot; a load on each day since."""
        load, late = loads.released(package), loads.released(ask.a_package(instrument))
        today = timezone.localdate()
        for lot, days in (("T-9", 3), ("T-10", 1)):
            test = loads.tested(load.sterilizer, "air removal", lot=lot)
            EquipmentTest.objects.filter(pk=test.pk).update(day=today - timedelta(days=days))
        Load.objects.filter(pk=load.pk).update(day=today - timedelta(days=2))
        made = recalled("lot", "t-9")
        load.refresh_from_db()
        late.refresh_from_db()
        assert (inside(made), load.state) == ({package.code}, "recalled")
        assert late.state == "released"
        assert technician.get(f"/recalls/{made.pk}/").status_code == 200

    def test_a_biological_indicator_without_its_load_recalls_the_loads_of_its_day(
        self, package: Package
    ) -> None:
        load = loads.released(package)
        loads.tested(load.sterilizer, "biological", passed=None, lot="B-9")
        assert inside(recalled("lot", "B-9")) == {package.code}

    def test_nothing_is_packed_with_it_any_more(
        self, lot: SupplyLot, instrument: Instrument
    ) -> None:
        recalled("lot", "A1")
        with pytest.raises(Refused, match="lot A1, was recalled: nothing is packed with it"):
            ask.a_package(instrument)
        lots.open_lot(at.person(), lot.supply, "A2", at.key())
        assert ask.a_package(instrument).lots.get().lot == "A2"

    def test_beside_a_good_one_of_another_bench_it_is_asked_which_is_in_the_hand(
        self, lot: SupplyLot, instrument: Instrument
    ) -> None:
        SupplyLot.objects.filter(pk=lot.pk).update(at="Bench 1")
        lots.open_lot(replace(at.person(), workstation="Bench 2"), lot.supply, "A2", at.key())
        recalled("lot", "A1")
        with pytest.raises(Refused, match=r"Which lot of .+\? Lot A1 at Bench 1 was recalled.+; "
                                          "lot A2 at Bench 2 is good"):  # fmt: skip
            ask.a_package(instrument)

    def test_nothing_is_packed_past_its_date(self, lot: SupplyLot, instrument: Instrument) -> None:
        SupplyLot.objects.update(expires=timezone.localdate() - timedelta(days=1))
        with pytest.raises(Refused, match="was to be used by"):
            ask.a_package(instrument)

    def test_it_is_not_opened_again(self, lot: SupplyLot) -> None:
        recalled("lot", "A1")
        with pytest.raises(Refused, match=r"was recalled\. Take another box"):
            lots.open_lot(at.person(), lot.supply, "a1", at.key())

    def test_another_workstations_box_is_not_borne(self, lot: SupplyLot) -> None:
        person = at.person()
        there = Person(person.pk, person.name, person.permissions, "Bench 2")
        here = Person(person.pk, person.name, person.permissions, "Bench 1")
        lots.open_lot(there, lot.supply, "B2", at.key())
        assert {one.lot for one in _locked(here)} == {"A1"}
        assert {one.lot for one in _locked(there)} == {"A1", "B2"}
        assert {one.lot for one in _locked(person)} == {"A1", "B2"}


def _locked(person: Person) -> list[SupplyLot]:
    return verb(ASSEMBLE)(lots.lock_lots)(person)


class TestFromAnInstrument:
    def test_singles_and_sets_with_it_are_found(self, package: Package) -> None:
        number = package.instrument.item_number
        other = at.signed()
        assert inside(recalled("instrument", number.lower())) == {package.code}
        line = other.build.lines.first()
        assert inside(recalled("instrument", line.item_number)) == {other.code}


@pytest.mark.parametrize(
    ("kind", "of", "words"),
    [
        ("load", "ST9-1", "“ST9-1” is no load that was run"),
        ("sterilizer", "x", "“x” is no sterilizer here"),
        ("lot", "77", "No lot “77” was opened here"),
        ("instrument", "77", "“77” is no instrument here"),
        ("moon", "1", "Choose what is recalled"),
    ],
)
def test_what_is_not_on_record_is_refused(kind: str, of: str, words: str) -> None:
    with pytest.raises(Refused, match=words):
        recalled(kind, of)


def test_the_same_key_is_the_same_recall(package: Package) -> None:
    load, key = loads.released(package), at.key()
    assert recalled("load", load.lot, key) == recalled("load", load.lot, key)


def test_what_was_void_or_recalled_before_is_listed_and_hinders_nothing(
    instrument: Instrument,
) -> None:
    void, before, good = (ask.a_package(instrument) for _ in range(3))
    load = loads.released(void, before, good)
    void_package(at.person(), void.pk, "torn")
    shelf.take_off(at.person(), before, "recalled", at.key(), "its pouch")
    made = recalled("load", load.lot)
    assert inside(made) == {void.code, before.code, good.code}
    assert not standing.usable().exists()


@pytest.fixture(scope="class")
def written(django_db_setup: None, django_db_blocker: Any) -> Iterator[Recall]:
    """Two packages: one carried to the OR for a request, one handed over to the day clinic."""
    with kept_meanwhile(django_db_blocker):
        instrument = make.Instrument(item_number="T-1")
        sent, given = ask.a_package(instrument), ask.a_package(instrument)
        load = loads.released(sent, given)
        one = ask.a_request(instrument)
        working.take(at.person(), one.pk, at.key())
        working.send(at.person(), one.pk, at.key(), sent)
        shelf.hand_over(at.person(), given, "Day clinic", at.key())
        yield recalled("load", load.lot)


@pytest.mark.xdist_group("told")
class TestWhoIsTold:
    @pytest.fixture
    def made(self, written: Recall) -> Recall:
        return Recall.objects.get(pk=written.pk)

    def test_each_department_that_has_one(self, made: Recall) -> None:
        department = made.packages.exclude(department="Day clinic").get().department
        assert {one.department for one in made.notices.all()} == {department, "Day clinic"}

    def test_its_page_of_requests_says_so_until_somebody_has_read_it(
        self, made: Recall, technician: Client
    ) -> None:
        notice = made.notices.get(department="Day clinic")
        words = f"Recalled: {made.about}"
        assert words in technician.get("/requests/").content.decode()
        assert words in technician.get("/requests/ask/").content.decode()
        for one in made.notices.all():
            technician.post(
                f"/recalls/notices/{one.pk}/read/", {"key": at.key(), "next": "/requests/"}
            )
        assert words not in technician.get("/requests/").content.decode()
        notice.refresh_from_db()
        assert notice.read_by

    def test_the_first_name_stays(self, made: Recall) -> None:
        notice = made.notices.first()
        recalls.read_notice(at.person("Lis Mellor"), notice.pk, at.key())
        recalls.read_notice(at.person("Ola Brandt"), notice.pk, at.key())
        assert RecallNotice.objects.get(pk=notice.pk).read_by == "Lis Mellor"

    def test_another_department_is_not_told_of_what_it_does_not_have(self, made: Recall) -> None:
        department = made.packages.exclude(department="Day clinic").get().department
        told = {one.department for one in recalls.notices_for("Ward 7")}
        assert told == {"Day clinic"}  # no request bears that name: everybody reads it
        assert department in {one.department for one in recalls.notices_for(department.upper())}


def test_what_is_packed_since_is_shown_and_can_be_held_too(
    package: Package, instrument: Instrument
) -> None:
    made = recalled("instrument", instrument.item_number)
    later = ask.a_package(instrument)
    assert list(recalling.since(made)) == [later]
    recalling.recall_more(at.person(), made.pk, at.key())
    assert not recalling.since(made).exists()
    assert inside(made) == {package.code, later.code}


def test_a_load_that_came_since_ends_when_it_is_held_too(
    package: Package, instrument: Instrument
) -> None:
    loads.released(package, biological=loads.NONE)
    made = recalled("sterilizer", "ST1")
    later = loads.running(ask.a_package(instrument))
    recalling.recall_more(at.person(), made.pk, at.key())
    later.refresh_from_db()
    assert later.state == "not released"


class TestFromAContainer:
    @pytest.fixture
    def packed(self, instrument: Instrument) -> list[Package]:
        """Three days and a day ago in C-17, today in another of its kind."""
        kind = make.Container()
        one, other = (containers.add_container(at.person(), kind, number, at.key())
                      for number in ("C-17", "D-2"))  # fmt: skip
        found = [ask.a_package(instrument) for _ in range(3)]
        for package, own, days in zip(found, (one, one, other), (3, 1, 0), strict=True):
            packed_at = timezone.now() - timedelta(days=days)
            Package.objects.filter(pk=package.pk).update(own_container=own, packed_at=packed_at)
        return found

    def test_every_package_that_names_it(self, packed: list[Package]) -> None:
        assert inside(recalled("container", "c-17")) == {one.code for one in packed[:2]}

    def test_from_a_day_on_and_looked_up_again_by_it(
        self, packed: list[Package], coordinator: Client
    ) -> None:
        since = timezone.localdate() - timedelta(days=1)
        page = coordinator.get(f"/recalls/?kind=container&of=C-17&since={since}").content.decode()
        assert packed[1].code in page and packed[0].code not in page
        made = recalled("container", f"C-17 since {since}")
        assert inside(made) == {packed[1].code}
        in_it = OwnContainer.objects.get(number="C-17")
        Package.objects.filter(pk=packed[2].pk).update(own_container=in_it)
        assert [one.code for one in recalling.since(made)] == [packed[2].code]

    @pytest.mark.parametrize(
        ("asked", "says"),
        [
            ("kind=container&of=C-9", "“C-9” is no container on record"),
            ("kind=container&of=C-17&since=yesterday", "“yesterday” is no date"),
            ("kind=instrument&of=T-1&since=2026-01-31", "Only a container is recalled from a day"),
        ],
    )
    def test_what_cannot_be_is_said(self, coordinator: Client, asked: str, says: str) -> None:
        assert says in coordinator.get(f"/recalls/?{asked}").content.decode()


def test_the_sheet_goes_first_to_those_who_have_one(instrument: Instrument) -> None:
    here, out = ask.a_package(instrument), ask.a_package(instrument)
    load = loads.released(here, out)
    shelf.put_away(at.person(), here, ask.a_place(), at.key())
    shelf.hand_over(at.person(), out, "OR 3", at.key())
    rows = recall_sheet(recalled("load", load.lot), "Tam").rows
    assert [row[:2] for row in rows] == [("OR 3", out.code), ("On the shelf: A1", here.code)]


def test_a_scan_of_the_box_says_lot_and_date(technician: Client) -> None:
    """GS1: 01 the number, 17 the date, 10 the lot (GS1 General Specifications, section 3)."""
    box = "]d201095060001343521729013110L77\x1d"
    technician.post("/lots/open/", {"key": at.key(), "supply": "indicator:steam", "lot": box})
    lot = SupplyLot.objects.get()
    assert (lot.lot, f"{lot.expires}") == ("L77", "2029-01-31")


def test_a_workstation_keeps_its_name(technician: Client) -> None:
    technician.post("/lots/workstation/", {"name": "Bench 2"})
    technician.post("/lots/open/", {"key": at.key(), "supply": "indicator:steam", "lot": "7"})
    assert SupplyLot.objects.get().at == "Bench 2"
