"""Loose spares that are packed, put into sets and brought back: each piece counted once."""

from __future__ import annotations

from dataclasses import replace

import pytest
from django.http import HttpResponse
from django.test import Client

from assembly.judging.decisions import decide_for_instrument
from assembly.judging.taking import NotClosed
from assembly.ledger import Refused
from assembly.models import Package, PiecesBack, Request
from assembly.packages import levels
from assembly.packages import recording as packages
from assembly.requests import working
from assembly.requests.sources import loose_spare
from assembly.shortfalls import causes
from assembly.shortfalls.replenishing import replenish
from catalog.models import Change, Instrument
from tests.factories import bench as at
from tests.factories import catalog as make
from tests.factories import requests as ask

pytestmark = pytest.mark.django_db


@pytest.fixture
def instrument() -> Instrument:
    make.Pouch(outer_width_mm=250, inner_width_mm=234)
    return make.Instrument(item_number="T-1", name="Metzenbaum scissors", spares_on_hand=3)


def on_record() -> int | None:
    return Instrument.objects.get(item_number="T-1").spares_on_hand


def count(number: int | None) -> None:
    Instrument.objects.update(spares_on_hand=number)


def pack(instrument: Instrument, *, pieces: int = 1, key: str = "", spare: bool = True,
         **answers: str) -> Package:  # fmt: skip
    answer = decide_for_instrument(instrument, pieces=pieces)
    plan = replace(at.plan_for(instrument, pieces=pieces, **answers), from_spares=spare)
    return packages.pack_single(at.person(), instrument, answer, plan, key or at.key())


class TestPacking:
    def test_a_spare_is_counted_down(self, instrument: Instrument) -> None:
        pack(instrument)
        assert on_record() == 2

    def test_two_in_a_package_are_two(self, instrument: Instrument) -> None:
        pack(instrument, pieces=2)
        assert on_record() == 1

    def test_what_came_back_from_use_counts_nothing(self, instrument: Instrument) -> None:
        pack(instrument, spare=False)
        assert on_record() == 3

    def test_the_same_key_counts_once(self, instrument: Instrument) -> None:
        for _ in "12":
            pack(instrument, key="packed-once")
        assert on_record() == 2

    def test_no_package_no_count(self, instrument: Instrument) -> None:
        with pytest.raises(NotClosed):
            pack(instrument, air="no")
        assert on_record() == 3

    def test_the_package_keeps_where_it_came_from(self, instrument: Instrument) -> None:
        package = Package.objects.get(pk=pack(instrument).pk)
        assert (package.from_spares, package.spares_on_record) == (True, 3)

    def test_the_history_names_the_package(self, instrument: Instrument) -> None:
        package = pack(instrument)
        assert Change.objects.get(kind="instrument").reason == f"packed as {package.code}"

    def test_more_than_on_record_is_packed_all_the_same(self, instrument: Instrument) -> None:
        count(1)
        package = pack(instrument, pieces=2)
        assert (on_record(), package.spares_not_on_record) == (0, 1)

    def test_uncounted_stays_uncounted(self, instrument: Instrument) -> None:
        count(None)
        package = pack(instrument)
        assert (on_record(), package.from_spares, package.spares_not_on_record) == (None, True, 0)


class TestPromised:
    @pytest.fixture
    def one(self, instrument: Instrument) -> Request:
        """A request for 2 of 3, taken."""
        request = ask.a_request(instrument, quantity=2)
        return working.take(at.person(), request.pk, at.key())

    def left(self) -> int | None:
        return loose_spare(Instrument.objects.get()).count

    def pack_one(self, one: Request, *, spare: bool = True) -> Package:
        assert one.instrument is not None
        answer = decide_for_instrument(one.instrument)
        plan = replace(at.plan_for(one.instrument), from_spares=spare)
        return working.pack_for_request(at.person(), one.pk, answer, plan, at.key())

    def test_what_is_not_packed_yet_is_promised(self, one: Request) -> None:
        assert self.left() == 1

    def test_packed_from_the_spares_it_is_not_subtracted_again(self, one: Request) -> None:
        self.pack_one(one)
        assert (on_record(), self.left()) == (2, 1)

    def test_all_packed_nothing_is_promised(self, one: Request) -> None:
        for _ in "12":
            self.pack_one(one)
        assert (on_record(), self.left()) == (1, 1)

    def test_packed_from_use_the_spares_are_free_again(self, one: Request) -> None:
        self.pack_one(one, spare=False)
        assert (on_record(), self.left()) == (3, 2)

    def test_void_it_is_still_to_be_packed(self, one: Request) -> None:
        package = self.pack_one(one)
        packages.void_package(at.person(), package.pk, "seal torn", to_spares=True)
        assert (on_record(), self.left()) == (3, 1)

    def test_a_tie_that_fails_counts_nothing(self, one: Request) -> None:
        Request.objects.update(number="T-2")
        with pytest.raises(Refused):
            self.pack_one(one)
        assert on_record() == 3


class TestVoid:
    def test_its_pieces_are_counted_up_again(self, instrument: Instrument) -> None:
        package = pack(instrument, pieces=2)
        packages.void_package(at.person(), package.pk, "not needed", to_spares=True)
        assert on_record() == 3

    def test_without_the_tick_nothing_is_counted(self, instrument: Instrument) -> None:
        packages.void_package(at.person(), pack(instrument).pk, "it is bent")
        assert on_record() == 2

    def test_void_again_counts_nothing(self, instrument: Instrument) -> None:
        package = pack(instrument)
        for _ in "12":
            packages.void_package(at.person(), package.pk, "not needed", to_spares=True)
        assert on_record() == 3

    def test_without_a_reason_nothing_is_counted(self, instrument: Instrument) -> None:
        package = pack(instrument)
        with pytest.raises(Refused):
            packages.void_package(at.person(), package.pk, " ", to_spares=True)
        assert on_record() == 2

    def test_what_came_from_use_may_go_there_too(self, instrument: Instrument) -> None:
        package = pack(instrument, spare=False)
        packages.void_package(at.person(), package.pk, "not needed", to_spares=True)
        assert on_record() == 4

    def test_uncounted_stays_uncounted(self, instrument: Instrument) -> None:
        package = pack(instrument)
        count(None)
        packages.void_package(at.person(), package.pk, "not needed", to_spares=True)
        assert on_record() is None

    @pytest.mark.parametrize(("spares", "offered"), [(0, True), (None, False)])
    def test_the_page_offers_it_where_the_spares_are_counted(
        self, instrument: Instrument, technician: Client, spares: int | None, offered: bool
    ) -> None:
        package = pack(instrument)
        count(spares)
        page = technician.get(f"/packages/{package.code}/").content.decode()
        assert ('name="to_spares"' in page) == offered

    def test_the_page_counts_it_up(self, instrument: Instrument, technician: Client) -> None:
        package = pack(instrument)
        sent = {"reason": "not needed", "to_spares": "yes"}
        technician.post(f"/packages/{package.code}/void/", sent)
        assert on_record() == 3


class TestReplenishing:
    @pytest.fixture
    def short(self) -> Instrument:
        """An instrument with 3 spares that a set went short of 2 of."""
        found = ask.short_set("TS-5", 2).shortfalls.get().instrument
        count(3)
        return found

    def put_back(self, short: Instrument, *, key: str = "", pieces: int = 2) -> None:
        given = {causes.waiting_for(short)[0].key: pieces} if causes.waiting_for(short) else {}
        replenish(at.person(), short, given, key or at.key(), from_spares=True)

    def left(self, short: Instrument) -> int | None:
        return Instrument.objects.get(pk=short.pk).spares_on_hand

    def test_the_whole_posting_is_counted_down(self, short: Instrument) -> None:
        self.put_back(short)
        assert self.left(short) == 1

    def test_the_same_key_counts_once(self, short: Instrument) -> None:
        for _ in "12":
            self.put_back(short, key="back-once-key", pieces=1)
        assert self.left(short) == 2

    def test_refused_it_counts_nothing(self, short: Instrument) -> None:
        with pytest.raises(Refused):
            self.put_back(short, pieces=9)
        assert self.left(short) == 3

    def test_it_is_on_record(self, short: Instrument) -> None:
        self.put_back(short)
        assert PiecesBack.objects.get().from_spares

    def test_more_than_on_record_is_said(self, short: Instrument, technician: Client) -> None:
        count(1)
        key = causes.waiting_for(short)[0].key
        sent = {"key": at.key(), f"back:{key}": "2", "from_spares": "yes"}
        page = technician.post(f"/requests/back/{short.item_number}/", sent, follow=True)
        words = "The record had 1 loose spare, you put back 2: count the spares."
        assert words in page.content.decode()


class TestPackPage:
    PATH = "/instruments/T-1/"

    def post(self, client: Client, instrument: Instrument, path: str, **form: str) -> HttpResponse:
        plan = at.plan_for(instrument, pieces=2 if "pieces=2" in path else 1)
        given = {"key": at.key(), **at.sent(plan)}
        return client.post(path, {**given, **form}, follow=True)

    @pytest.mark.parametrize(
        ("query", "spares", "origin"),
        [("", 3, "use"), ("?for=shelf", 3, "spare"), ("?for=shelf", 0, "use"),
         ("?for=shelf", None, "use")],
    )  # fmt: skip
    def test_what_is_chosen_at_first(
        self, instrument: Instrument, technician: Client, query: str, spares: int, origin: str
    ) -> None:
        count(spares)
        assert technician.get(self.PATH + query).context["origin"] == origin

    def test_for_a_request_it_is_a_spare(self, instrument: Instrument, technician: Client) -> None:
        one = ask.a_request(instrument)
        sent = {"act": "take and pack", "key": at.key()}
        page = technician.post(f"/requests/{one.pk}/act/", sent, follow=True)
        assert page.context["origin"] == "spare"

    def test_packed_as_chosen(self, instrument: Instrument, technician: Client) -> None:
        self.post(technician, instrument, self.PATH, origin="spare")
        assert on_record() == 2

    def test_nothing_chosen_counts_nothing(
        self, instrument: Instrument, technician: Client
    ) -> None:
        self.post(technician, instrument, self.PATH)
        assert on_record() == 3

    def test_the_choice_is_kept_when_a_check_says_no(
        self, instrument: Instrument, technician: Client
    ) -> None:
        sent = {"origin": "spare", "check:air": "no"}
        page = self.post(technician, instrument, self.PATH, **sent)
        assert (page.status_code, page.context["origin"]) == (422, "spare")

    def test_a_wrong_record_is_said(self, instrument: Instrument, technician: Client) -> None:
        count(1)
        page = self.post(technician, instrument, f"{self.PATH}?pieces=2", origin="spare")
        words = "The record had 1 loose spare, you packed 2: count the spares."
        assert words in page.content.decode()


class TestCounting:
    def send(self, client: Client, counted: str, item: str = "T-1") -> str:
        sent = {"item": item, "counted": counted}
        return client.post("/shelf/spares/", sent, follow=True).content.decode()

    def test_what_was_counted_is_on_record(
        self, instrument: Instrument, coordinator: Client
    ) -> None:
        self.send(coordinator, "7")
        assert on_record() == 7

    def test_empty_leaves_it_as_it_is(self, instrument: Instrument, coordinator: Client) -> None:
        self.send(coordinator, "")
        assert on_record() == 3

    @pytest.mark.parametrize("typed", ["-1", "a few", "1.5"])
    def test_no_whole_number_is_refused(
        self, instrument: Instrument, coordinator: Client, typed: str
    ) -> None:
        assert f"“{typed}” was read" in self.send(coordinator, typed)

    def test_a_slip_is_refused(self, instrument: Instrument) -> None:
        with pytest.raises(Refused, match="10000 was read"):
            levels.count_spares(at.person(), instrument, 10_000)

    def test_the_low_level_stays(self, instrument: Instrument, coordinator: Client) -> None:
        levels.set_level(at.person(), instrument, 2, "cabinet 4")
        self.send(coordinator, "7")
        assert Instrument.objects.get().stock_level.low == 2

    def test_an_unknown_number_is_named(self, instrument: Instrument, coordinator: Client) -> None:
        assert "“T-9” is no item number" in self.send(coordinator, "7", "T-9")
