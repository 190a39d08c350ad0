"""Loads: gathered by scan, started, released, held back, recalled; and what they let go."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, date, datetime, time, timedelta
from typing import Any

import pytest
from django.utils import timezone

from assembly.ledger import Refused
from assembly.models import Load, LoadedPackage, LoadState, Package, PolicyOverride
from assembly.packages import shelf, standing
from assembly.packages.recording import void_package
from assembly.packages.whereabouts import whereabouts_of
from assembly.requests import working
from assembly.sterilizing import gathering, lists, recalling, releasing, wet
from assembly.sterilizing.racking import loading_of
from catalog.models import Instrument, Programme, Sterilizer
from config.demo.day import clock_at
from tests.conftest import kept_meanwhile
from tests.factories import bench as at
from tests.factories import catalog as make
from tests.factories import loads
from tests.factories import requests as ask

pytestmark = [pytest.mark.django_db, pytest.mark.xdist_group("loads")]


@pytest.fixture(scope="class")
def packed(django_db_setup: None, django_db_blocker: Any) -> Iterator[Package]:
    with kept_meanwhile(django_db_blocker):
        yield ask.a_package(make.Instrument(item_number="T-1"))


@pytest.fixture
def package(packed: Package) -> Package:
    return Package.objects.get(pk=packed.pk)


@pytest.fixture
def instrument(packed: Package) -> Instrument:
    return Instrument.objects.get(item_number="T-1")


def begin(cycle: int = 7, key: str = "") -> Load:
    return gathering.begin_load(
        at.person(), loads.a_sterilizer(), loads.a_programme(), cycle, key or at.key()
    )


class TestBeginning:
    def test_the_lot_is_sterilizer_day_and_cycle(self) -> None:
        load = begin(7)
        assert load.lot == f"ST1-{load.day:%Y%m%d}-7"

    def test_the_same_key_is_the_same_load(self) -> None:
        key = at.key()
        assert begin(7, key) == begin(7, key)

    def test_a_cycle_of_the_day_is_there_once(self) -> None:
        begin(7)
        with pytest.raises(Refused, match="Cycle 7 of ST1"):
            begin(7)

    def test_given_up_its_cycle_is_free(self) -> None:
        gathering.give_up(at.person(), begin(7).pk, at.key(), "door seal")
        assert begin(7).state == LoadState.GATHERING

    def test_only_programmes_of_the_sterilizer(self) -> None:
        with pytest.raises(Refused, match="does not run S121"):
            gathering.begin_load(
                at.person(), loads.a_sterilizer(), loads.a_programme("S121"), 1, at.key()
            )

    @pytest.mark.parametrize("cycle", [0, -1, 1_000_000])
    def test_a_cycle_is_a_number_from_one(self, cycle: int) -> None:
        with pytest.raises(Refused, match=f"{cycle} was read"):
            begin(cycle)

    def test_the_next_cycle_is_one_more(self) -> None:
        begin(41)
        assert gathering.next_numbers(loads.a_sterilizer()) == (42, None)

    def test_both_numbers_are_the_sterilizers_and_go_on_from_its_last(self) -> None:
        gathering.begin_load(
            at.person(), loads.a_sterilizer(), loads.a_programme(), 88, at.key(), number=4120
        )
        assert gathering.next_numbers(loads.a_sterilizer()) == (89, 4121)
        begin(3)  # its counter was set back
        assert gathering.next_numbers(loads.a_sterilizer()) == (4, None)

    def test_what_it_shows_at_the_start_counts(self, package: Package) -> None:
        load = loads.a_load(package)
        done = gathering.start(at.person(), load.pk, at.key(), cycle=7007, number=12)
        assert (done.cycle, done.number, done.lot) == (7007, 12, f"ST1-{done.day:%Y%m%d}-7007")

    def test_at_the_start_too_a_cycle_of_the_day_is_there_once(self, package: Package) -> None:
        taken, load = begin(41), loads.a_load(package)
        with pytest.raises(Refused, match=f"Cycle {taken.cycle} of ST1"):
            gathering.start(at.person(), load.pk, at.key(), cycle=taken.cycle)


class TestGathering:
    def test_a_package_goes_in(self, package: Package) -> None:
        assert standing.load_of(package) is None
        load = loads.a_load(package)
        assert standing.load_of(package) == load

    def test_twice_it_is_in_once(self, package: Package) -> None:
        load = loads.a_load(package)
        gathering.add(at.person(), load.pk, package, at.key())
        assert LoadedPackage.objects.count() == 1

    def test_what_its_instrument_does_not_bear_is_refused(self, package: Package) -> None:
        with pytest.raises(Refused, match=r"asks for 134 °C.*Put it into another load"):
            put_in(package, "S121", temperature_c=121)

    def test_void_it_is_refused(self, package: Package) -> None:
        load = loads.a_load(package)
        gathering.take_out(at.person(), load.pk, package, at.key())
        void = void_package(at.person(), package.pk, "torn")
        with pytest.raises(Refused, match="is void"):
            gathering.add(at.person(), load.pk, void, at.key())

    def test_in_another_load_it_is_refused(self, package: Package) -> None:
        first = loads.a_load(package)
        second = loads.a_load()
        with pytest.raises(Refused, match=f"in load {first}"):
            gathering.add(at.person(), second.pk, package, at.key())

    def test_taken_out_it_goes_into_another(self, package: Package) -> None:
        first = loads.a_load(package)
        gathering.take_out(at.person(), first.pk, package, at.key())
        assert standing.load_of(package) != first
        assert standing.load_of(package) is None

    def test_what_was_sterilized_is_not_sterilized_again(self, package: Package) -> None:
        loads.released(package)
        with pytest.raises(Refused, match="pack it anew"):
            loads.a_load(package)

    def test_what_lies_on_the_shelf_is_refused(self, package: Package) -> None:
        PolicyOverride.objects.create(
            name="release_on_record", value=False, since=date(2026, 1, 1), source="house",
            reason="loads are kept elsewhere", set_by="Bea", set_at="2026-01-01T00:00Z",
        )  # fmt: skip
        shelf.put_away(at.person(), package, ask.a_place(), at.key())
        with pytest.raises(Refused, match="lies at A1"):
            loads.a_load(package)


class TestServing:
    """A package carries what may serve: it goes into every load whose programme does."""

    @pytest.fixture(autouse=True)
    def short_run(self) -> None:
        """Its IFU says 134 °C, 3 to 18 min; a programme of 3 min is run."""
        loads.a_programme("S134-3", exposure_min=3)

    @pytest.fixture
    def instrument(self) -> Instrument:
        return make.Instrument(item_number="T-1")

    @pytest.fixture
    def package(self, instrument: Instrument) -> Package:
        return ask.a_package(instrument)

    def test_packed_for_3_min_it_goes_into_a_load_of_4(self, package: Package) -> None:
        assert package.method.startswith("S134-3 ")
        assert put_in(package, "S134-4") == standing.load_of(package)

    def test_the_minute_that_is_missing_is_named(self, package: Package) -> None:
        with pytest.raises(Refused, match="bears at most 18 min, this gives 20"):
            put_in(package, "S134-20", exposure_min=20)

    def test_the_label_that_is_missing_is_named(self, package: Package) -> None:
        with pytest.raises(Refused, match="put in for steam, this is ethylene oxide"):
            put_in(package, "EO", method="eo", temperature_c=55, air_removal="")

    def test_what_the_programme_does_not_say_is_not_passed(self, package: Package) -> None:
        with pytest.raises(Refused, match=r"cannot be told.*drying of the sterilizer's cycle"):
            put_in(package, "S134-X", drying_min=None)

    def test_the_facts_are_those_of_the_day_it_was_closed(
        self, package: Package, instrument: Instrument
    ) -> None:
        instrument.cycles.update(temperature_c=121)
        assert put_in(package, "S134-4") == standing.load_of(package)

    def test_packed_before_it_carried_them_only_its_own_programme_serves(
        self, package: Package
    ) -> None:
        Package.objects.update(serves={})
        with pytest.raises(Refused, match=r"is packed for S134-3.*Put it into another load"):
            put_in(package, "S134-4")

    def test_a_load_begun_before_takes_its_own_programme_alone(self, package: Package) -> None:
        Load.objects.filter(pk=(load := begin_with("S134-4")).pk).update(runs={})
        with pytest.raises(Refused, match="is packed for"):
            gathering.add(at.person(), load.pk, package, at.key())

    def test_a_container_goes_where_its_maker_validated_it(self) -> None:
        package = at.signed()
        with pytest.raises(Refused, match="for S134, not for S134-4"):
            put_in(package, "S134-4", exposure_min=4)

    def test_each_programme_counts_all_that_it_serves(
        self, package: Package, instrument: Instrument
    ) -> None:
        loads.a_sterilizer("ST3", loads.a_programme("S134-3"), loads.a_programme("S134-4"))
        ask.a_package(instrument)
        [offer] = lists.offers(lists.waiting())
        assert {one.code: count for one, _, count in offer.programmes} == {
            "S134-3": 2, "S134-4": 2}  # fmt: skip

    def test_its_page_offers_every_load_that_serves(self, package: Package) -> None:
        serving = begin_with("S134-4")
        begin_with("S121", temperature_c=121)
        assert lists.gathering_for(package) == [serving]


def begin_with(code: str, **facts: object) -> Load:
    sterilizer = loads.a_sterilizer(f"OF-{code}", loads.a_programme(code, **facts))
    return gathering.begin_load(at.person(), sterilizer, loads.a_programme(code), 7, at.key())


def put_in(package: Package, code: str, **facts: object) -> Load:
    return gathering.add(at.person(), begin_with(code, **facts).pk, package, at.key())


class TestStarting:
    def test_empty_it_is_refused(self) -> None:
        with pytest.raises(Refused, match="Nothing is in"):
            gathering.start(at.person(), begin().pk, at.key())

    def test_void_inside_it_is_refused(self, package: Package) -> None:
        load = loads.a_load(package)
        void_package(at.person(), package.pk, "torn")
        with pytest.raises(Refused, match=f"{package.code} is void"):
            gathering.start(at.person(), load.pk, at.key())

    def test_voided_since_it_was_read_it_does_not_go_in(self, package: Package) -> None:
        load = loads.a_load()
        Load.objects.filter(pk=load.pk).update(programme=package.method)
        void_package(at.person(), package.pk, "seal open")
        with pytest.raises(Refused, match="is void"):
            gathering.add(at.person(), load.pk, package, at.key())

    def test_started_nothing_goes_in(self, package: Package, instrument: Instrument) -> None:
        load = loads.running(package)
        with pytest.raises(Refused, match="in the sterilizer: Tam Birkett"):
            gathering.add(at.person(), load.pk, ask.a_package(instrument), at.key())

    def test_the_lot_takes_the_day_of_the_start(self, package: Package) -> None:
        load = loads.a_load(package)
        Load.objects.filter(pk=load.pk).update(day=date(2026, 1, 1), lot="ST1-20260101-1")
        started = gathering.start(at.person(), load.pk, at.key())
        assert started.lot == f"ST1-{started.day:%Y%m%d}-{started.cycle}"

    def test_given_up_its_packages_wait_again(self, package: Package) -> None:
        load = loads.a_load(package)
        gathering.give_up(at.person(), load.pk, at.key(), "no water")
        assert package in standing.waiting_for_a_load()


class TestReleasing:
    def test_all_yes_it_is_released(self, package: Package) -> None:
        assert loads.released(package).state == LoadState.RELEASED

    def test_its_findings_stay_on_record(self, package: Package) -> None:
        rules = [one["rule"] for one in loads.released(package).findings]
        assert rules == ["record", "outside", "dry", "whole", "cooled", "biological indicator",
                         "end of the cycle"]  # fmt: skip

    def test_in_the_minute_of_its_start_it_is_not_released(self, package: Package) -> None:
        load = loads.running(package, ago=timedelta(0))
        with pytest.raises(Refused, match=r"The cycle cannot be over: started .* not before"):
            releasing.release(at.person(), load.pk, loads.all_yes(), "none", at.key())

    def test_what_was_typed_from_the_record_stays_on_record(self, package: Package) -> None:
        load = loads.running(package, ago=timedelta(hours=1))
        typed = {"least_c": 134.2, "exposure_min": 4.0}
        done = releasing.release(at.person(), load.pk, loads.all_yes(), "none", at.key(), typed)
        assert (done.record["least_c"], done.record["exposure_min"]) == (134.2, 4.0)

    def test_a_record_below_the_temperature_is_not_released(self, package: Package) -> None:
        load = loads.running(package)
        with pytest.raises(Refused, match=r"Least temperature 133.9 °C, the cycle asks 134 °C"):
            releasing.release(
                at.person(), load.pk, loads.all_yes(), "none", at.key(), {"least_c": 133.9}
            )

    def test_a_cycle_over_midnight_ends_on_the_next_day(self, package: Package) -> None:
        load = loads.running(package)
        late = timezone.make_aware(datetime(2026, 3, 1, 23, 50))
        Load.objects.filter(pk=load.pk).update(started_at=late)
        load.refresh_from_db()
        record = releasing.record_of(load, {"started": time(23, 52), "ended": time(0, 31)})
        assert (record.started, record.ended) == (
            late + timedelta(minutes=2), late + timedelta(minutes=41),
        )  # fmt: skip

    @pytest.mark.parametrize(
        ("began", "started", "ended", "run_min"),
        [(datetime(2026, 3, 29, 0, 50), time(0, 50), time(2, 5), 15),  # 01:00 is 02:00
         (datetime(2026, 10, 25, 0, 50), time(1, 50), time(1, 20), 30),  # 02:00 is 01:00
         (datetime(2026, 10, 25, 1, 10), time(1, 10), time(1, 50), 40)],
    )  # fmt: skip
    def test_a_cycle_in_the_night_of_a_clock_change_is_as_long_as_it_ran(
        self, package: Package, began: datetime, started: time, ended: time, run_min: int
    ) -> None:
        load = loads.running(package)
        load.started_at = began.replace(tzinfo=UTC)
        with timezone.override("Europe/London"):
            record = releasing.record_of(load, {"started": started, "ended": ended})
        assert record.started == load.started_at
        assert record.ended == load.started_at + timedelta(minutes=run_min)

    def test_an_hour_that_clocks_left_out_releases_no_load(self, package: Package) -> None:
        load = loads.running(package)
        began = datetime(2026, 3, 29, 0, 50, tzinfo=UTC)
        Load.objects.filter(pk=load.pk).update(started_at=began)
        typed = {"started": time(0, 50)}
        with timezone.override("Europe/London"), clock_at(began + timedelta(minutes=15)):
            earliest = releasing.earliest_of(Load.objects.get(pk=load.pk))
            assert earliest and earliest > timezone.now()
            with pytest.raises(Refused, match="The cycle cannot be over"):
                releasing.release(at.person(), load.pk, loads.all_yes(), "none", at.key(), typed)

    def test_one_no_and_nothing_is_released(self, package: Package) -> None:
        load = loads.running(package)
        with pytest.raises(Refused, match="A wet package is contaminated"):
            releasing.release(at.person(), load.pk, loads.all_yes(dry="no"), "none", at.key())
        load.refresh_from_db()
        assert load.state == LoadState.RUNNING

    def test_what_an_indicator_cannot_say_is_refused(self, package: Package) -> None:
        load = loads.running(package)
        with pytest.raises(Refused, match="nothing a biological indicator can say"):
            releasing.release(at.person(), load.pk, loads.all_yes(), "fine", at.key())

    def test_before_the_start_it_is_refused(self, package: Package) -> None:
        load = loads.a_load(package)
        with pytest.raises(Refused, match="being gathered"):
            releasing.release(at.person(), load.pk, loads.all_yes(), "none", at.key())

    def test_held_back_it_needs_a_reason(self, package: Package) -> None:
        load = loads.running(package)
        with pytest.raises(Refused, match="why the load is not released"):
            releasing.hold_back(at.person(), load.pk, {}, "", at.key(), " ")

    def test_an_indicator_read_later_is_on_record(self, package: Package) -> None:
        load = loads.released(package, biological=loads.NOT_READ)
        read = releasing.read_later(at.person(), load.pk, loads.NO_GROWTH, at.key())
        assert read.biological == "no growth"

    def test_growth_read_later_is_a_recall(self, package: Package) -> None:
        load = loads.released(package, biological=loads.NOT_READ)
        with pytest.raises(Refused, match="recall the load"):
            releasing.read_later(at.person(), load.pk, loads.GROWTH, at.key())


class TestWetPackages:
    @pytest.fixture
    def other(self, instrument: Instrument) -> Package:
        return ask.a_package(instrument)

    def named(self, load: Load, package: Package, cause: str = "heavy") -> Load:
        return wet.name_wet(at.person(), load.pk, package, cause, at.key())

    def released(self, load: Load) -> Load:
        return releasing.release(at.person(), load.pk, loads.all_yes(), "none", at.key())

    def test_the_wet_one_is_not_to_be_used_and_the_others_go(
        self, package: Package, other: Package
    ) -> None:
        load = loads.running(package, other)
        self.named(load, package)
        self.released(load)
        assert [one.pk for one in standing.may_go()] == [other.pk]
        words = standing.standing_of(package).refusal
        assert f"wet in load {load}: too much metal in one place" in words

    def test_its_release_says_which_were_wet_and_why(
        self, package: Package, other: Package
    ) -> None:
        load = loads.running(package, other)
        self.named(load, package, "unknown")
        found = {one["rule"]: one["sentence"] for one in self.released(load).findings}
        assert found["wet packages"] == (f"Wet, and not to be used: {package.code}: Not found yet.")
        assert "but for what was named wet (1)" in found["dry"]

    def test_all_wet_nothing_is_released(self, package: Package) -> None:
        load = loads.running(package)
        self.named(load, package)
        with pytest.raises(Refused, match="Every package of it is wet"):
            self.released(load)

    def test_found_on_unloading_it_is_taken_back(self, package: Package) -> None:
        load = loads.released(package)
        shelf.hand_over(at.person(), package, "OR 3", at.key())
        self.named(load, package)
        assert not standing.usable().exists()

    @pytest.mark.parametrize("cause", ["", "rain"])
    def test_without_a_cause_it_is_refused(self, package: Package, cause: str) -> None:
        with pytest.raises(Refused, match="Choose why it is wet"):
            self.named(loads.running(package), package, cause)

    def test_one_of_another_load_is_refused(self, package: Package, other: Package) -> None:
        with pytest.raises(Refused, match="is not in load"):
            self.named(loads.running(package), other)

    def test_before_the_start_nothing_is_wet(self, package: Package) -> None:
        with pytest.raises(Refused, match="being gathered"):
            self.named(loads.a_load(package), package)

    def test_named_twice_it_keeps_its_first_cause(self, package: Package) -> None:
        load = loads.running(package)
        self.named(load, package)
        with pytest.raises(Refused, match="named already"):
            self.named(load, package, "steam")

    def test_its_request_learns_it(self, package: Package, instrument: Instrument) -> None:
        one = ask.a_request(instrument)
        working.take(at.person(), one.pk, at.key())
        working.tie(at.person(), one.pk, package)
        self.named(loads.running(package), package)
        assert "wet in load" in one.steps.last().reason


class TestLettingGo:
    """Nothing that was not released is put away, handed over or sent."""

    def test_released_it_is_put_away(self, package: Package) -> None:
        loads.released(package)
        assert shelf.put_away(at.person(), package, ask.a_place(), at.key()).state == "on shelf"

    def test_in_no_load_it_is_not(self, package: Package) -> None:
        with pytest.raises(Refused, match="is in no load"):
            shelf.put_away(at.person(), package, ask.a_place(), at.key())

    def test_in_a_running_load_it_is_not(self, package: Package) -> None:
        loads.running(package)
        with pytest.raises(Refused, match="not released yet"):
            shelf.put_away(at.person(), package, ask.a_place(), at.key())

    def test_held_back_it_is_not(self, package: Package) -> None:
        load = loads.running(package)
        releasing.hold_back(at.person(), load.pk, {}, "", at.key(), "wet")
        with pytest.raises(Refused, match="Do not use it: void it"):
            shelf.put_away(at.person(), package, ask.a_place(), at.key())

    def test_unreleased_it_is_not_handed_over(self, package: Package) -> None:
        with pytest.raises(Refused, match="is in no load"):
            shelf.hand_over(at.person(), package, "OR 3", at.key())

    def test_unreleased_it_is_not_sent(self, package: Package, instrument: Instrument) -> None:
        one = ask.a_request(instrument)
        working.take(at.person(), one.pk, at.key())
        with pytest.raises(Refused, match="is in no load"):
            working.send(at.person(), one.pk, at.key(), package)

    def test_where_the_policy_keeps_no_loads_it_is_put_away(self, package: Package) -> None:
        PolicyOverride.objects.create(
            name="release_on_record", value=False, since=date(2026, 1, 1), source="house",
            reason="loads are kept elsewhere", set_by="Bea", set_at="2026-01-01T00:00Z",
        )  # fmt: skip
        assert shelf.put_away(at.person(), package, ask.a_place(), at.key()).state == "on shelf"

    def test_only_released_ones_wait_to_be_put_away(
        self, package: Package, instrument: Instrument
    ) -> None:
        loads.released(package)
        loads.running(ask.a_package(instrument))
        assert list(shelf.waiting_to_be_put_away()) == [package]


class TestRecalling:
    @pytest.fixture
    def load(self, package: Package) -> Load:
        return loads.released(package)

    def recalled(self, load: Load) -> Load:
        return recalling.recall_load(at.person(), load.pk, at.key(), "indicator grew")

    def test_it_needs_a_reason(self, load: Load) -> None:
        with pytest.raises(Refused, match="why it is recalled"):
            recalling.recall_load(at.person(), load.pk, at.key(), "")

    def test_what_lies_on_the_shelf_is_recalled(self, load: Load, package: Package) -> None:
        shelf.put_away(at.person(), package, ask.a_place(), at.key())
        self.recalled(load)
        assert not shelf.on_the_shelf().exists()

    def test_what_nobody_put_away_is_recalled(self, load: Load, package: Package) -> None:
        self.recalled(load)
        with pytest.raises(Refused, match="was recalled"):
            shelf.put_away(at.person(), package, ask.a_place(), at.key())

    def test_what_was_handed_over_is_named_with_where_it_went(
        self, load: Load, package: Package
    ) -> None:
        shelf.hand_over(at.person(), package, "OR 3", at.key())
        self.recalled(load)
        found = releasing.whereabouts(load)[0]
        assert (found.out, found.words) == (True, "Recalled, went to OR 3")

    def test_what_was_opened_is_recalled_and_said_to_be_opened(
        self, load: Load, package: Package
    ) -> None:
        shelf.hand_over(at.person(), package, "OR 3", at.key())
        shelf.take_off(at.person(), package, "opened", at.key())
        self.recalled(load)
        words = releasing.whereabouts(load)[0].words
        assert words == "Opened, then recalled, went to OR 3"

    def test_where_the_indicator_grew_it_is_on_record(self, package: Package) -> None:
        load = loads.released(package, biological=loads.NOT_READ)
        recalling.recall_load(at.person(), load.pk, at.key(), "it grew", grew=True)
        load.refresh_from_db()
        assert load.biological == "growth"

    def test_what_went_out_stands_first(self, package: Package, instrument: Instrument) -> None:
        other = ask.a_package(instrument)
        load = loads.released(package, other)
        shelf.hand_over(at.person(), other, "OR 3", at.key())
        assert [one.package for one in releasing.whereabouts(load)] == [other, package]


def test_what_never_lay_on_a_shelf_is_looked_for_where_it_is(
    package: Package, instrument: Instrument
) -> None:
    def where() -> str:
        return whereabouts_of([package])[0].words

    assert where() == "in the department, not put away"
    load = loads.a_load(package)
    assert where() == f"Loaded for ST1, load {load}, not started"
    gathering.start(at.person(), load.pk, at.key())
    load.refresh_from_db()
    assert where() == f"In the sterilizer ST1, load {load}"
    Load.objects.update(state=LoadState.RELEASED)
    assert where() == f"Out of ST1, load {load}, not put away"


def test_what_waits_is_listed_by_programme(package: Package, instrument: Instrument) -> None:
    ask.a_package(instrument)
    assert [one.many for one in lists.waiting()] == [2]


def test_the_most_waited_for_programme_is_offered_first(package: Package) -> None:
    runs = loads.a_programme("A121"), loads.a_programme("S134")
    loads.a_sterilizer("ST2", *runs)
    words = "S134 (dynamic air removal steam 134 °C, 4 min, dry 20 min)"
    Package.objects.update(method=words, serves={})
    assert [one.code for one, _, _ in lists.offers(lists.waiting())[0].programmes] == [
        "S134",
        "A121",
    ]


class TestWhatIsProposed:
    """Two are served by A and B, three by B, one by C: B takes five, C the last."""

    def groups(self) -> list[lists.Waiting]:
        served = ((("A (x)", "B (x)"), 2), (("B (x)",), 3), (("C (x)",), 1))
        return [lists.Waiting(words, count, ()) for words, count in served]

    def offers(self, *codes: str) -> list[lists.Offer]:
        runs = tuple((Programme(code=code), f"{code} (x)", 0) for code in codes)
        return [lists.Offer(Sterilizer(code="ST1"), runs, 1, None)]

    def test_the_one_that_takes_most_comes_first(self) -> None:
        assert lists.proposed(self.groups(), [], self.offers("A", "B", "C")) == [
            "5 of 6 can go in B: a load of ST1.", "1 of 6 can go in C: a load of ST1.",
        ]  # fmt: skip

    def test_a_load_that_is_begun_is_filled_first(self) -> None:
        load = Load(programme="B (x)", lot="ST1-7", state=LoadState.GATHERING)
        said = lists.proposed(self.groups(), [load], self.offers("B", "C"))
        assert said[0] == "5 of 6 can go in B: load ST1-7."

    def test_what_no_cycle_takes_is_said(self) -> None:
        said = lists.proposed(self.groups(), [], self.offers("B"))
        assert said[-1] == "1 of 6 can go in no cycle that is run here."

    def test_nothing_waiting_nothing_is_proposed(self) -> None:
        assert lists.proposed([], [], self.offers("B")) == []


class TestInTheRack:
    def with_shelves(self, **sizes: int) -> None:
        loads.a_sterilizer()
        Sterilizer.objects.update(
            shelf_length_mm=600, shelf_width_mm=480, shelf_height_mm=300, shelves=2, **sizes
        )

    def test_without_shelves_on_record_it_cannot_be_told(self, package: Package) -> None:
        found = loading_of(loads.a_load(package)).findings
        assert [(one.rule, one.status) for one in found] == [
            ("pouches on edge", "met"), ("room in the rack", "cannot tell"),
        ]  # fmt: skip

    def test_all_of_it_stands_and_is_drawn(self, package: Package) -> None:
        self.with_shelves()
        found = loading_of(loads.a_load(package))
        assert found.findings[-1].sentence() == "All of it stands on 1 of 2 shelves."
        assert "at least" in found.counts[0] and "<svg" in found.picture

    def test_a_thickness_that_is_not_on_record_is_named(self, package: Package) -> None:
        self.with_shelves()
        Instrument.objects.update(height_mm=None)
        last = loading_of(loads.a_load(package)).findings[-1]
        assert (last.status, f"{package.code}: how thick" in last.sentence()) == (
            "cannot tell", True,
        )  # fmt: skip
