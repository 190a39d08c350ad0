"""An instrument that is out of use is offered nowhere: every place that offers, one by one.

Each place is first seen to offer it while it is in use, so that none passes by showing nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import timedelta
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone

from assembly.bench import builds, counting, signing
from assembly.bench.tally import tally_of
from assembly.first_pages.waiting import waits
from assembly.judging.decisions import decide_for_instrument
from assembly.ledger import Refused
from assembly.models import Build, Package, Request, SetNeed
from assembly.packages import levels, recording, shelf
from assembly.requests import sources, working
from assembly.requests.lists import queue
from assembly.requests.needs import list_of
from assembly.upkeep import repairs
from catalog import actions
from catalog.lookup.finding import find
from catalog.models import CountSheet, Instrument, InstrumentSet
from tests.conftest import kept_meanwhile
from tests.factories import bench as at
from tests.factories import catalog as make
from tests.factories import requests as ask

pytestmark = [pytest.mark.django_db, pytest.mark.xdist_group("out of use")]
NUMBER, NAME = "T-OUT", "Zenker forceps"


@pytest.fixture(scope="module")
def made(django_db_setup: None, django_db_blocker: Any) -> Iterator[None]:
    """An instrument with loose spares, a package on the shelf and a level above what lies there.
    It is the second line of a set, and may stand in for the first."""
    with kept_meanwhile(django_db_blocker):
        make.Pouch(outer_width_mm=250, inner_width_mm=234)
        one = make.Instrument(item_number=NUMBER, name=NAME, spares_on_hand=3, tip="blunt")
        ask.on_shelf(one)
        levels.set_level(at.person(), one, 5)
        sheet = at.a_set("TS-1", (1,), may_go_without=True).current
        assert sheet is not None
        make.Line(count_sheet=sheet, order=2, quantity=1, instrument=one, may_go_without=True)
        sheet.lines.get(order=1).substitutes.add(one)
        yield


@pytest.fixture
def instrument(made: None) -> Instrument:
    return Instrument.objects.get(item_number=NUMBER)


@pytest.fixture
def a_set(made: None) -> InstrumentSet:
    return InstrumentSet.objects.get()


@pytest.fixture
def build(a_set: InstrumentSet) -> Build:
    return at.a_build(a_set)


def out_of_use(instrument: Instrument) -> None:
    row = Instrument.objects.get(pk=instrument.pk)
    actions.set_retired(actions.Actor("a lead", reason="its maker recalled it"), row, True)


def named(found: object) -> bool:
    return NUMBER in str(found) or NAME in str(found)


def text(client: Client, path: str) -> str:
    return client.get(path).content.decode()


def sources_of(instrument: Instrument) -> list[sources.Source]:
    fresh = Instrument.objects.get(pk=instrument.pk)
    found = sources.sources_for(fresh, None, timezone.now() + timedelta(hours=9))
    return [one for one in found if one.answer == sources.THERE]


def first_of(a_set: InstrumentSet) -> Instrument:
    return Instrument.objects.get(item_number="TS-1-1")


def a_shortfall(a_set: InstrumentSet) -> None:
    """The set went without it, and it is back from repair."""
    build = at.a_build(a_set)
    first, second = tally_of(build).lines
    builds.count(at.person(), build.pk, first.line.pk, 1, at.key())
    builds.short(at.person(), build.pk, second.line.pk, 1, "at repair", at.key())
    signing.pack(at.person(), build.pk, at.all_yes(build), at.key())
    at.sealed(signing.sign(at.person(), build.pk, at.key()))
    one = repairs.to_repair(at.person(), second.line.instrument, "Bent", at.key())
    repairs.come_back(at.person(), one.pk, "back")


Place = Callable[[Instrument, InstrumentSet, Client], bool]


def the_look_up(instrument: Instrument, a_set: InstrumentSet, client: Client) -> bool:
    every = [find(words) for words in (NUMBER, "zenker", "zenkre forceps")]
    return any(instrument in (one.one, *one.instruments) for one in every)


def the_field_of_every_page(instrument: Instrument, a_set: InstrumentSet, client: Client) -> bool:
    return client.get("/find/", {"q": NUMBER}).status_code == 302


def the_list_of_instruments(instrument: Instrument, a_set: InstrumentSet, client: Client) -> bool:
    return named(text(client, "/instruments/"))


def asking_by_name(instrument: Instrument, a_set: InstrumentSet, client: Client) -> bool:
    return f"item={NUMBER}" in text(client, "/requests/ask/?q=zenker")


def asking_by_the_lines_of_a_set(
    instrument: Instrument, a_set: InstrumentSet, client: Client
) -> bool:
    return f"item={NUMBER}" in text(client, "/requests/ask/?from=TS-1")


def asking_on_its_page(instrument: Instrument, a_set: InstrumentSet, client: Client) -> bool:
    return client.get(f"/requests/ask/?item={NUMBER}").status_code == 200


def packing_it_singly(instrument: Instrument, a_set: InstrumentSet, client: Client) -> bool:
    return "Record and print" in text(client, f"/instruments/{NUMBER}/")


def substitutes_at_the_bench(instrument: Instrument, a_set: InstrumentSet, client: Client) -> bool:
    client.post("/sets/TS-1/build/", {"key": at.key()})
    build = a_set.builds.latest("pk")
    line = tally_of(build).lines[0].line
    shown = text(client, f"/builds/{build.pk}/?line={line.pk}")
    return f"1 {NAME} ({NUMBER}) as a substitute" in shown


def counting_its_line(instrument: Instrument, a_set: InstrumentSet, client: Client) -> bool:
    client.post("/sets/TS-1/build/", {"key": at.key()})
    build = a_set.builds.latest("pk")
    line = tally_of(build).lines[1].line
    return f'aria-label="Count 1 {NAME}"' in text(client, f"/builds/{build.pk}/?line={line.pk}")


def its_own_sources(instrument: Instrument, a_set: InstrumentSet, client: Client) -> bool:
    return bool(sources_of(instrument))


def sources_of_what_it_stands_in_for(
    instrument: Instrument, a_set: InstrumentSet, client: Client
) -> bool:
    return any(named(one.words) for one in sources_of(first_of(a_set)))


def what_lies_ready(instrument: Instrument, a_set: InstrumentSet, client: Client) -> bool:
    return shelf.to_be_had().filter(number=NUMBER).exists()


def what_goes_first_from_the_shelf(
    instrument: Instrument, a_set: InstrumentSet, client: Client
) -> bool:
    return shelf.oldest(NUMBER) is not None


def what_the_shelf_asks_for(instrument: Instrument, a_set: InstrumentSet, client: Client) -> bool:
    return instrument.pk in [pk for pk, *_ in shelf.stocked()]


def what_waits_below_its_level(
    instrument: Instrument, a_set: InstrumentSet, client: Client
) -> bool:
    return any(one.kind == "shelf" and NUMBER in one.small for one in waits())


def what_is_put_back_after_repair(
    instrument: Instrument, a_set: InstrumentSet, client: Client
) -> bool:
    a_shortfall(a_set)
    return any(one.kind == "repair" for one in waits())


def what_a_day_needs(instrument: Instrument, a_set: InstrumentSet, client: Client) -> bool:
    tomorrow = timezone.now() + timedelta(days=1)
    SetNeed.objects.create(instrument=instrument, needed_at=tomorrow, by="Lis", at=timezone.now())
    [one] = list_of(timezone.localtime(tomorrow).date())
    return one.lies


def the_editor_of_a_count_sheet(
    instrument: Instrument, a_set: InstrumentSet, client: Client
) -> bool:
    make.CountSheet(instrument_set=a_set, revision=2, state=CountSheet.State.DRAFT)
    return named(text(client, "/sets/TS-1/count-sheets/2/find/?q=zenker"))


PLACES: list[Place] = [
    the_look_up, the_field_of_every_page, the_list_of_instruments, asking_by_name,
    asking_by_the_lines_of_a_set, asking_on_its_page, packing_it_singly,
    substitutes_at_the_bench, counting_its_line, its_own_sources,
    sources_of_what_it_stands_in_for, what_lies_ready, what_goes_first_from_the_shelf,
    what_the_shelf_asks_for,
    what_waits_below_its_level, what_is_put_back_after_repair, the_editor_of_a_count_sheet,
    what_a_day_needs,
]  # fmt: skip
"""Every place that offers an instrument to somebody."""


@pytest.mark.parametrize("place", PLACES, ids=lambda one: one.__name__)
@pytest.mark.parametrize("in_use", [True, False], ids=["in use", "out of use"])
def test_what_is_out_of_use_is_offered_nowhere(
    place: Place, in_use: bool, instrument: Instrument, a_set: InstrumentSet, coordinator: Client
) -> None:
    if not in_use:
        out_of_use(instrument)
    assert place(instrument, a_set, coordinator) is in_use


class TestVerbs:
    """What a page that was loaded before still sends is refused, and nothing is changed."""

    def test_it_is_not_packed(self, instrument: Instrument) -> None:
        answer, plan = decide_for_instrument(instrument), at.plan_for(instrument)
        out_of_use(instrument)
        instrument.refresh_from_db()
        with pytest.raises(Refused, match="out of use"):
            recording.pack_single(at.person(), instrument, answer, plan, at.key())
        assert Package.objects.count() == 1

    def test_it_is_not_counted(self, build: Build, instrument: Instrument) -> None:
        out_of_use(instrument)
        with pytest.raises(Refused, match="out of use"):
            builds.count(at.person(), build.pk, tally_of(build).lines[1].line.pk, 1, at.key())

    def test_a_scan_of_it_says_so(self, build: Build, instrument: Instrument) -> None:
        out_of_use(instrument)
        said = counting.scan(at.person(), tally_of(build), NUMBER, at.key())[0]
        assert said.tone == "wrong" and tally_of(build).inside == 0

    def test_it_stands_in_for_nothing(self, build: Build, instrument: Instrument) -> None:
        out_of_use(instrument)
        line = tally_of(build).lines[0].line
        with pytest.raises(Refused, match="no accepted substitute"):
            builds.substitute(at.person(), build.pk, line.pk, instrument.pk, 1, at.key())

    def test_a_request_does_not_take_its_package(
        self, a_set: InstrumentSet, instrument: Instrument
    ) -> None:
        package = Package.objects.get()
        one = ask.a_request(first_of(a_set))
        working.take(at.person(), one.pk, at.key())
        out_of_use(instrument)
        with pytest.raises(Refused, match="Asked for was"):
            working.tie(at.person(), one.pk, package)

    def test_a_request_for_it_is_promised_nothing(self, instrument: Instrument) -> None:
        ask.a_request(instrument)
        assert queue()[0].ready is not None
        out_of_use(instrument)
        assert (queue()[0].ready, Request.objects.get().state) == (None, "open")
