"""When it can be there: of each source, and of a request that falls behind."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from assembly.judging.facts_from_catalog import policy_in_force
from assembly.ledger import Refused
from assembly.models import EquipmentTest, Load, Package, PolicyOverride, Request, RequestState
from assembly.packages.standing import with_standing
from assembly.persons import person_of
from assembly.requests import asking, working
from assembly.requests.coming import IN_STERILIZER, NOT_PUT_AWAY, WAITS_FOR_LOAD
from assembly.requests.lists import nothing_can_serve, queue
from assembly.requests.sources import Source, first_of, sources_for
from assembly.requests.timing import Timing
from assembly.sterilizing import racking
from catalog.models import Instrument, Programme, Sterilizer
from tests.factories import bench as at
from tests.factories import catalog as make
from tests.factories import loads
from tests.factories import requests as ask

pytestmark = pytest.mark.django_db
CYCLE_MIN = 15 + 4 + 20
"""Come-up, exposure and drying of the sterilizer here."""
AFTER_MIN = 30 + 5
"""Cooling and the way, as the shipped policy has them."""


@pytest.fixture
def instrument() -> Instrument:
    loads.a_sterilizer("ST1", loads.a_programme(come_up_min=15))
    return make.Instrument(item_number="T-1", name="Metzenbaum scissors", spares_on_hand=2)


def offered(instrument: Instrument, within: int = 15) -> dict[str, Source]:
    by = timezone.now() + timedelta(minutes=within)
    return {one.kind: one for one in sources_for(instrument, None, by)}


def minutes(source: Source) -> float:
    assert source.ready and source.ready.at, source
    return round((source.ready.at - source.ready.start) / timedelta(minutes=1), 1)


def test_what_lies_on_the_shelf_takes_the_way_alone(instrument: Instrument) -> None:
    ask.on_shelf(instrument)
    source = offered(instrument)["Sterile single package"]
    assert (minutes(source), source.late) == (5, "")


def test_what_was_released_and_not_put_away_takes_the_way_alone(instrument: Instrument) -> None:
    ask.a_sterile_package(instrument)
    assert minutes(offered(instrument)[NOT_PUT_AWAY]) == 5


def test_what_waits_for_a_load_has_load_cooling_and_way_before_it(instrument: Instrument) -> None:
    ask.a_package(instrument)
    source = offered(instrument)[WAITS_FOR_LOAD]
    assert minutes(source) == 5 + CYCLE_MIN + AFTER_MIN
    assert source.late == "1 h 4 min"


def test_a_loose_spare_is_packed_first(instrument: Instrument) -> None:
    ask.a_package(instrument)
    assert minutes(offered(instrument)["Loose spare"]) == 3 + 5 + CYCLE_MIN + AFTER_MIN


def test_what_is_in_the_sterilizer_counts_from_the_start_of_its_load(
    instrument: Instrument,
) -> None:
    loads.running(ask.a_package(instrument), ago=timedelta(minutes=10))
    ready = offered(instrument)[IN_STERILIZER].ready
    assert ready and ready.at
    left = (ready.at - timezone.now()) / timedelta(minutes=1)
    assert left == pytest.approx(CYCLE_MIN + AFTER_MIN - 10, abs=0.5)


def test_a_busy_sterilizer_counts_from_its_next_free_start(instrument: Instrument) -> None:
    ask.a_package(instrument)
    before = minutes(offered(instrument)[WAITS_FOR_LOAD])
    loads.running(ask.a_package(instrument), ago=timedelta(minutes=9))
    source = offered(instrument)[WAITS_FOR_LOAD]
    assert minutes(source) == pytest.approx(before - 5 + CYCLE_MIN - 9, abs=0.5)
    assert source.ready and "ST1 is busy" in " ".join(one.name for one in source.ready.parts)


class TestASterilizerWithoutItsTestOfTheDay:
    @pytest.fixture
    def source(self, instrument: Instrument) -> Callable[[], Source]:
        ask.a_package(instrument)
        return lambda: offered(instrument)[WAITS_FOR_LOAD]

    def test_the_test_comes_first(self, source: Callable[[], Source]) -> None:
        before = minutes(source())
        EquipmentTest.objects.update(day=timezone.localdate() - timedelta(days=1))
        after = source()
        assert minutes(after) == before - 5 + 30  # carried to it meanwhile
        assert after.ready and after.ready.parts[1].name == "ST1 has its air-removal test first"

    def test_where_it_failed_no_time_is_told(self, source: Callable[[], Source]) -> None:
        EquipmentTest.objects.update(state=EquipmentTest.State.FAILED)
        ready = source().ready
        assert ready and (ready.at, ready.unknown) == (None, "the air-removal test of ST1 failed")

    def test_a_caution_by_the_policy_takes_no_time(self, source: Callable[[], Source]) -> None:
        before = minutes(source())
        EquipmentTest.objects.update(day=timezone.localdate() - timedelta(days=1))
        PolicyOverride.objects.create(
            name="tests_that_stop", value=["seal"], since=timezone.localdate(), source="ours",
            reason="it is a caution here", set_by="Tam", set_at=timezone.now(),
        )  # fmt: skip
        assert minutes(source()) == before


class TestALoadThatIsFilledAndNotStarted:
    ALONE = 5 + CYCLE_MIN + AFTER_MIN

    @pytest.fixture
    def load(self, instrument: Instrument) -> Load:
        return loads.a_load(ask.a_package(instrument))

    def spare(self, instrument: Instrument) -> Source:
        return offered(instrument)["Loose spare"]

    def test_of_another_cycle_it_goes_first(self, instrument: Instrument, load: Load) -> None:
        """39 min for it from now on, 39 min for ours, 35 min of cooling and way."""
        Load.objects.update(programme="S121 (another cycle)")
        source = self.spare(instrument)
        assert minutes(source) == CYCLE_MIN + CYCLE_MIN + AFTER_MIN
        assert source.ready
        assert f"ST1 runs load {load} first" in [one.name for one in source.ready.parts]
        assert "is taken to start as soon as ST1 is free" in notes(source)

    def test_of_the_same_cycle_with_room_it_is_that_one(
        self, instrument: Instrument, load: Load
    ) -> None:
        self.shelves(width=500)
        assert minutes(self.spare(instrument)) == 3 + self.ALONE
        assert f"It goes into load {load}." in notes(self.spare(instrument))

    def test_where_the_rack_is_full_it_goes_first(self, instrument: Instrument, load: Load) -> None:
        (stands,) = racking.stand_in(load, policy_in_force())
        assert stands.piece
        self.shelves(width=stands.piece.width + 1)
        assert minutes(self.spare(instrument)) == CYCLE_MIN + CYCLE_MIN + AFTER_MIN

    def test_room_that_cannot_be_told_is_said(self, instrument: Instrument, load: Load) -> None:
        assert minutes(self.spare(instrument)) == 3 + self.ALONE
        assert f"load {load}, if there is room: that cannot be told" in notes(
            self.spare(instrument)
        )

    def test_what_is_in_it_waits_for_those_before_it(
        self, instrument: Instrument, load: Load
    ) -> None:
        """The first load starts now, what is in the second after it."""
        one = ask.a_package(instrument)
        loads.a_load(one)
        timing = Timing()
        first, second = (
            timing.of_package(with_standing(Package.objects.filter(pk=pk)).get())
            for pk in (load.loaded.get().package_id, one.pk)
        )
        assert first and second and first.at and second.at
        assert (second.at - first.at) == timedelta(minutes=CYCLE_MIN)

    def shelves(self, width: float) -> None:
        Sterilizer.objects.update(
            shelves=1, shelf_length_mm=600, shelf_width_mm=width, shelf_height_mm=400
        )


def notes(source: Source) -> str:
    assert source.ready
    return " ".join(source.ready.notes)


def test_a_time_that_is_not_on_record_is_said_and_not_guessed(instrument: Instrument) -> None:
    ask.a_package(instrument)
    Programme.objects.update(come_up_min=None)
    source = offered(instrument)[WAITS_FOR_LOAD]
    assert source.ready and source.about == ""
    assert source.ready.unknown == "the come-up of S134 is not on record"


def test_a_promised_package_is_no_source_for_others(instrument: Instrument) -> None:
    package, one = ask.a_package(instrument), ask.a_request(instrument)
    working.take(at.person(), one.pk, at.key())
    working.tie(at.person(), one.pk, package)
    assert WAITS_FOR_LOAD not in offered(instrument)


class TestMedian:
    def packed(self, instrument: Instrument, took: int) -> None:
        one = ask.a_request(instrument)
        working.take_and_pack(at.person(), one.pk, at.key())
        package = ask.a_package(instrument)
        working.tie(at.person(), one.pk, package)
        began = one.steps.get(state=RequestState.PACKING).at
        Package.objects.filter(pk=package.pk).update(sealed_at=began + timedelta(minutes=took))

    def packing(self, instrument: Instrument) -> tuple[float, str]:
        ready = offered(instrument)["Loose spare"].ready
        assert ready
        return ready.parts[0].minutes, ready.parts[0].source

    def test_enough_on_record_make_the_department_s_own(
        self, instrument: Instrument, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        Instrument.objects.update(spares_on_hand=20)
        instrument.refresh_from_db()
        for took in (6, 7, 60):
            self.packed(instrument, took)
        assert self.packing(instrument) == (
            3,
            "common practice, no source; too few on record here, 3 of 10",
        )
        PolicyOverride.objects.create(
            name="packing_enough", value=3, since=timezone.localdate(), source="ours",
            reason="we pack few", set_by="Tam", set_at=timezone.now(),
        )  # fmt: skip
        assert self.packing(instrument) == (7, "median of 3 in 90 days on record here")


class TestARequestThatFallsBehind:
    @pytest.fixture
    def one(self, instrument: Instrument) -> Request:
        ask.a_package(instrument)
        return ask.a_request(instrument)

    def in_work(self, one: Request) -> Package:
        assert one.instrument
        package = ask.a_package(one.instrument)
        working.take(at.person(), one.pk, at.key())
        working.tie(at.person(), one.pk, package)
        return package

    @pytest.mark.parametrize("page", ["bench", "requests", "request_ask"])
    def test_it_says_so_on_both_sides(self, one: Request, technician: Client, page: str) -> None:
        self.in_work(one)
        Request.objects.update(asker=User.objects.get(username="a-technician"))
        assert "Falls behind: about" in technician.get(reverse(page)).content.decode()

    def test_what_can_be_there_in_time_does_not(self, instrument: Instrument) -> None:
        ask.on_shelf(instrument)
        ask.a_request(instrument)
        row = queue()[0]
        assert (row.behind, bool(row.about)) == ("", True)

    def test_its_own_package_counts_and_not_what_else_is_there(self, one: Request) -> None:
        package = self.in_work(one)
        assert queue()[0].behind
        loads.released(package)
        row = queue()[0]
        assert (row.behind, row.stands) == ("", "Released, to be taken there")

    def test_how_it_stands_is_what_happened_to_its_package(self, one: Request) -> None:
        package = self.in_work(one)
        assert queue()[0].stands == "Packed, waits for a load"
        loads.running(package)
        assert queue()[0].stands == "In the sterilizer"

    def test_the_coordinators_are_told_by_one_press(
        self, one: Request, coordinator: Client
    ) -> None:
        assert nothing_can_serve() == []
        told = asking.tell(ask.liaison(), one.pk, at.key())
        assert told.told
        assert [row.request.pk for row in nothing_can_serve()] == [one.pk]

    def test_where_there_is_no_coordinator_it_says_so(self, one: Request) -> None:
        with pytest.raises(Refused, match="No coordinator is on record"):
            asking.tell(ask.liaison(), one.pk, at.key())

    def test_asked_with_the_coordinators_told(
        self, instrument: Instrument, coordinator: Client
    ) -> None:
        ask.on_shelf(instrument)
        assert ask.a_request(instrument, tell=True).told
        assert not ask.a_request(instrument).told


def test_the_next_step_on_the_page_is_one_that_will_work(
    instrument: Instrument, technician: Client
) -> None:
    package, one = ask.a_package(instrument), ask.a_request(instrument)
    me = person_of(User.objects.get(username="a-technician"))
    page = reverse("request", args=[one.pk])
    working.take(me, one.pk, at.key())
    assert 'id="send"' not in technician.get(page).content.decode()
    working.tie(me, one.pk, package)
    before = technician.get(page).content.decode()
    assert 'id="send"' not in before and "Put it into a load" in before
    loads.released(package)
    assert 'id="send"' in technician.get(page).content.decode()


class TestMoreThanOne:
    def test_the_last_of_them_counts(self, instrument: Instrument) -> None:
        ask.on_shelf(instrument)
        by = timezone.now() + timedelta(minutes=15)
        found = sources_for(instrument, None, by)
        kinds = [one.kind if one else "" for one in (first_of(found, n) for n in (1, 3, 4))]
        assert kinds == ["Sterile single package", "Loose spare", ""]

    @pytest.mark.parametrize(("quantity", "behind"), [(1, False), (2, True)])
    def test_in_the_queue_too(self, instrument: Instrument, quantity: int, behind: bool) -> None:
        ask.on_shelf(instrument)
        ask.a_request(instrument, quantity=quantity)
        assert bool(queue()[0].behind) is behind

    def test_more_than_is_on_record_cannot_be_told(self, instrument: Instrument) -> None:
        ask.on_shelf(instrument)
        ask.a_request(instrument, quantity=4)
        ready = queue()[0].ready
        assert ready and (ready.at, ready.unknown) == (None, "3 of 4 on record")

    def test_no_spare_makes_no_promise(self, instrument: Instrument) -> None:
        Instrument.objects.update(spares_on_hand=0)
        ask.a_request(instrument)
        assert queue()[0].ready is None


def test_what_is_overdue_is_not_called_routine(technician: Client) -> None:
    one = ask.a_request(needed_by=timezone.now() + timedelta(hours=2))
    page = reverse("request", args=[one.pk])
    assert "Routine." in technician.get(page).content.decode()
    ask.overdue(one)
    assert "Routine." not in technician.get(page).content.decode()


def test_the_page_says_how_late_it_is_and_offers_the_time_it_can_be(
    instrument: Instrument, coordinator: Client
) -> None:
    ask.a_package(instrument)
    asked = reverse("request_ask")
    page = coordinator.get(asked, {"item": "T-1", "when": "15"}).content.decode()
    assert "1 h 4 min late" in page
    assert "when=other" in page and 'name="tell"' in page
    later = coordinator.get(asked, {"item": "T-1", "when": "120"}).content.decode()
    assert "min late" not in later
