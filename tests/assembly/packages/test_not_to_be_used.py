"""A package that is not to be used: it goes nowhere, and whoever asked for it learns it."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone

from assembly.ledger import Refused
from assembly.models import Package, Request, RequestState
from assembly.packages import shelf
from assembly.packages.recording import void_package
from assembly.packages.standing import standing_of
from assembly.requests import working
from assembly.shelf_pages.scanning import HAND, scan
from assembly.sterilizing import recalling, releasing
from catalog.models import Instrument
from tests.factories import bench as at
from tests.factories import loads
from tests.factories import requests as ask

pytestmark = pytest.mark.django_db


@pytest.fixture
def package(instrument: Instrument) -> Package:
    return ask.a_sterile_package(instrument)


@pytest.fixture
def one(instrument: Instrument) -> Request:
    """A request that is taken."""
    request = ask.a_request(instrument)
    return working.take(at.person(), request.pk, at.key())


def sent(one: Request, package: Package) -> Request:
    return working.send(at.person(), one.pk, at.key(), package)


def past_its_date(package: Package) -> Package:
    package.use_by = timezone.localdate() - timedelta(days=1)
    package.save(update_fields=["use_by"])
    return package


class TestPastItsDate:
    def test_on_its_last_day_it_goes(self, package: Package) -> None:
        package.use_by = timezone.localdate()
        package.save(update_fields=["use_by"])
        assert shelf.put_away(at.person(), package, ask.a_place(), at.key()).state == "on shelf"

    def test_it_is_not_put_away(self, package: Package) -> None:
        with pytest.raises(Refused, match="was to be used by"):
            shelf.put_away(at.person(), past_its_date(package), ask.a_place(), at.key())

    def test_it_is_not_handed_over(self, package: Package) -> None:
        with pytest.raises(Refused, match="was to be used by"):
            shelf.hand_over(at.person(), past_its_date(package), "OR 3", at.key())

    def test_it_is_not_tied_to_a_request(self, one: Request, package: Package) -> None:
        with pytest.raises(Refused, match="was to be used by"):
            working.tie(at.person(), one.pk, past_its_date(package))

    def test_on_the_shelf_it_is_no_source(self, instrument: Instrument) -> None:
        past_its_date(ask.on_shelf(instrument))
        assert not shelf.to_be_had().exists()

    def test_on_the_shelf_it_is_listed(self, instrument: Instrument) -> None:
        package = past_its_date(ask.on_shelf(instrument))
        assert list(shelf.not_to_be_used()) == [package]

    def test_it_can_still_be_taken_off(self, instrument: Instrument) -> None:
        package = past_its_date(ask.on_shelf(instrument))
        assert shelf.take_off(at.person(), package, "damaged", at.key(), "torn").state == "damaged"


class TestRequestsLearnIt:
    def test_void_it_lets_its_request_go(self, one: Request, package: Package) -> None:
        working.tie(at.person(), one.pk, package)
        void_package(at.person(), package.pk, "torn")
        assert not one.ties.filter(let_go_at=None).exists()

    def test_another_one_then_goes(
        self, one: Request, package: Package, instrument: Instrument
    ) -> None:
        working.tie(at.person(), one.pk, package)
        void_package(at.person(), package.pk, "torn")
        assert sent(one, ask.a_sterile_package(instrument)).state == RequestState.ON_THE_WAY

    def test_void_on_the_way_it_is_back_with_its_holder(
        self, one: Request, package: Package
    ) -> None:
        sent(one, package)
        void_package(at.person(), package.pk, "dropped")
        one.refresh_from_db()
        assert (one.state, one.holder_name) == (RequestState.TAKEN, "Tam Birkett")

    def test_void_with_the_last_of_its_packages_it_is_packed_no_longer(
        self, one: Request, package: Package, instrument: Instrument
    ) -> None:
        working.start_packing(at.person(), one.pk, at.key())
        for each in (package, other := ask.a_sterile_package(instrument)):
            working.tie(at.person(), one.pk, each)
        states = []
        for each in (package, other):
            void_package(at.person(), each.pk, "torn")
            one.refresh_from_db()
            states.append(one.state)
        assert states == [RequestState.PACKING, RequestState.TAKEN]

    def test_the_step_says_why(self, one: Request, package: Package) -> None:
        sent(one, package)
        void_package(at.person(), package.pk, "dropped")
        last = one.steps.last()
        assert last and last.reason == f"{package.code} was made void: dropped. Do not use it."

    def test_damaged_it_lets_its_request_go(self, one: Request, package: Package) -> None:
        working.tie(at.person(), one.pk, package)
        shelf.take_off(at.person(), package, "damaged", at.key(), "seal open")
        assert not one.ties.filter(let_go_at=None).exists()

    def test_recalled_after_the_hand_over_they_read_it(
        self, one: Request, package: Package
    ) -> None:
        sent(one, package)
        working.hand_over(at.person(), one.pk, at.key())
        load = package.loaded.get().load
        recalling.recall_load(at.person(), load.pk, at.key(), "indicator grew")
        one.refresh_from_db()
        last = one.steps.last()
        assert one.state == RequestState.HANDED_OVER
        assert last and "was recalled: load" in last.reason and "indicator grew" in last.reason

    def test_held_back_the_request_waits_for_another(
        self, one: Request, instrument: Instrument
    ) -> None:
        package = ask.a_package(instrument)
        working.tie(at.person(), one.pk, package)
        load = loads.running(package)
        releasing.hold_back(at.person(), load.pk, {}, "", at.key(), "wet")
        last = one.steps.last()
        assert last and "not released: wet" in last.reason

    def test_opened_after_the_hand_over_says_nothing(self, one: Request, package: Package) -> None:
        sent(one, package)
        working.hand_over(at.person(), one.pk, at.key())
        steps = one.steps.count()
        shelf.take_off(at.person(), package, "opened", at.key())
        assert one.steps.count() == steps


class TestOnTheWay:
    def test_it_lies_at_no_place(self, one: Request, instrument: Instrument) -> None:
        sent(one, ask.on_shelf(instrument))
        assert not shelf.on_the_shelf().exists()

    def test_withdrawn_it_waits_to_be_put_away(self, one: Request, instrument: Instrument) -> None:
        package = ask.on_shelf(instrument)
        sent(one, package)
        working.give_back(at.person(), one.pk, at.key())
        assert list(shelf.waiting_to_be_put_away()) == [package]

    def test_put_away_again_it_has_another_move(self, one: Request, instrument: Instrument) -> None:
        package = ask.on_shelf(instrument)
        sent(one, package)
        working.give_back(at.person(), one.pk, at.key())
        assert shelf.put_away(at.person(), package, ask.a_place(), at.key()).number == 2

    def test_promised_it_does_not_wait_to_be_put_away(self, one: Request, package: Package) -> None:
        working.tie(at.person(), one.pk, package)
        assert not shelf.waiting_to_be_put_away().exists()


class TestSeveralPackages:
    def test_two_packages_meet_a_request_for_two(self, instrument: Instrument) -> None:
        one = ask.a_request(instrument, quantity=2)
        working.take(at.person(), one.pk, at.key())
        for _ in range(2):
            working.tie(at.person(), one.pk, ask.a_sterile_package(instrument))
        assert working.send(at.person(), one.pk, at.key()).state == RequestState.ON_THE_WAY

    def test_one_can_be_taken_off_again(self, one: Request, package: Package) -> None:
        working.tie(at.person(), one.pk, package)
        working.untie(at.person(), one.pk, package)
        assert not one.ties.filter(let_go_at=None).exists()

    def test_what_is_not_tied_is_not_taken_off(self, one: Request, package: Package) -> None:
        with pytest.raises(Refused, match="does not serve"):
            working.untie(at.person(), one.pk, package)

    def test_one_scan_names_all_that_are_handed_over(self, instrument: Instrument) -> None:
        one = ask.a_request(instrument, quantity=2)
        working.take(at.person(), one.pk, at.key())
        packages = [ask.a_sterile_package(instrument) for _ in range(2)]
        for package in packages:
            working.tie(at.person(), one.pk, package)
        working.send(at.person(), one.pk, at.key())
        said = scan(at.person(), packages[0].code, HAND, at.key())
        assert said.words.startswith(", ".join(package.code for package in packages))

    def test_not_sent_yet_it_says_what_to_do(self, one: Request, package: Package) -> None:
        working.tie(at.person(), one.pk, package)
        said = scan(at.person(), package.code, HAND, at.key())
        assert (said.tone, "Send it on its page first" in said.words) == ("wrong", True)


class TestStanding:
    def word(self, package: Package) -> str:
        return standing_of(Package.objects.get(pk=package.pk)).word

    def test_packed(self, instrument: Instrument) -> None:
        assert self.word(ask.a_package(instrument)) == "packed"

    def test_in_a_load(self, instrument: Instrument) -> None:
        package = ask.a_package(instrument)
        loads.a_load(package)
        assert self.word(package) == "in a load"

    def test_released(self, package: Package) -> None:
        assert self.word(package) == "released"

    def test_recalled(self, package: Package) -> None:
        load = package.loaded.get().load
        recalling.recall_load(at.person(), load.pk, at.key(), "grew")
        assert self.word(package) == "recalled"

    def test_damaged(self, package: Package) -> None:
        shelf.take_off(at.person(), package, "damaged", at.key(), "torn")
        assert self.word(package) == "damaged"

    def test_past_its_date(self, package: Package) -> None:
        assert self.word(past_its_date(package)) == "past its date"

    def test_held_back(self, instrument: Instrument) -> None:
        package = ask.a_package(instrument)
        load = loads.running(package)
        releasing.hold_back(at.person(), load.pk, {}, "", at.key(), "wet")
        assert self.word(package) == "not released"

    def test_not_to_be_used_its_page_says_so_in_large_words(
        self, package: Package, technician: Client
    ) -> None:
        shelf.take_off(at.person(), package, "damaged", at.key(), "torn")
        page = technician.get(f"/packages/{package.code}/").content.decode()
        assert "Do not use this package" in page


def test_a_reason_against_it_keeps_a_load_from_being_released(
    package: Package, instrument: Instrument, technician: Client
) -> None:
    load = loads.running(ask.a_package(instrument))
    given = loads.all_yes()
    technician.post(f"/loads/{load.pk}/act/", {
        "act": "release", "key": at.key(), "biological": "none", "reason": "a wet pouch found",
        "asked": list(given), **{f"check:{key}": answer for key, answer in given.items()},
    })  # fmt: skip
    load.refresh_from_db()
    assert load.state == "running"


@pytest.mark.parametrize("since", ["²", "१", "-1", "x", "9" * 30])
def test_a_strange_since_is_none(technician: Client, since: str) -> None:
    assert technician.get("/requests/now/", {"since": since}).status_code == 200


@pytest.mark.parametrize(
    ("time", "words"),
    [("9999-12-31T23:00", "is no time"), ("2126-01-01T08:00", "days away"), ("soon", "is no time"),
     ("9999-12-31T23:00Z", "is no time")],
)  # fmt: skip
def test_a_time_too_far_away_is_refused(
    technician: Client, instrument: Instrument, time: str, words: str
) -> None:
    page = technician.post("/requests/ask/", {
        "item": "T-1", "department": "Main ORs", "where": "OR 3", "quantity": "1",
        "when": "other", "time": time, "urgency": "routine", "key": at.key(),
    })  # fmt: skip
    assert (page.status_code, words in page.content.decode()) == (422, True)


@pytest.mark.parametrize("typed", ["abc", "2,0", ""])
def test_pieces_that_cannot_be_read_ask_for_nothing(
    technician: Client, instrument: Instrument, typed: str
) -> None:
    page = technician.post("/requests/ask/", {
        "item": "T-1", "department": "Main ORs", "where": "OR 3", "quantity": typed,
        "when": "60", "urgency": "routine", "key": at.key(),
    })  # fmt: skip
    said = f"“{typed}” is no number of pieces. Type digits" in page.content.decode()
    assert (page.status_code, said, Request.objects.count()) == (422, True, 0)


@pytest.mark.parametrize(("path", "field"), [("level", "low"), ("spares", "counted")])
@pytest.mark.parametrize("typed", ["abc", "2,0", "-1"])
def test_a_number_at_the_shelf_that_cannot_be_read_changes_nothing(
    coordinator: Client, instrument: Instrument, path: str, field: str, typed: str
) -> None:
    form = {"item": "T-1", field: typed}
    page = coordinator.post(f"/shelf/{path}/", form, follow=True).content.decode()
    assert f"“{typed}” was read: write a whole number. Nothing was changed." in page


def test_a_sets_need_too_far_away_is_refused(technician: Client) -> None:
    at.a_set("TS-1")
    sent_to = technician.post(
        "/shelf/need/", {"code": "TS-1", "time": "9000-01-01T08:00"}, follow=True
    )
    assert "days away" in sent_to.content.decode()


def test_what_is_retired_is_refused_before_anything_is_typed(
    technician: Client, instrument: Instrument
) -> None:
    Instrument.objects.update(retired=True)
    page = technician.get("/requests/ask/?item=T-1")
    assert (page.status_code, "is retired" in page.content.decode()) == (422, True)
