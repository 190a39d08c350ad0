"""May this package be used: one answer, whether one package is asked about or all of them."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from itertools import product

import pytest
from django.utils import timezone
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from assembly.complaints import saying
from assembly.ledger import Refused, verb
from assembly.models import (
    Complaint,
    KeptDecision,
    Load,
    LoadedPackage,
    LoadState,
    Package,
    PolicyOverride,
    RecalledPackage,
    Request,
    RequestPackage,
    RequestState,
    ShelfMove,
    ShelfState,
    Shelved,
)
from assembly.models.complaints import HURTS
from assembly.packages import shelf, standing
from assembly.packages.recording import package_code, void_package
from assembly.packages.standing import Standing, Word, standing_of, with_standing
from assembly.persons import KEEP_SHELF, Person
from assembly.requests import asking, working
from assembly.rules.facts.from_json import read_programme
from assembly.rules.telling.run_record import earliest_end
from assembly.sterilizing import gathering, recalling, releasing, wet
from assembly.templatetags.requests import package_state
from catalog.models import Instrument
from tests.factories import bench as at
from tests.factories import catalog as make
from tests.factories import loads
from tests.factories import requests as ask

pytestmark = pytest.mark.django_db

LOADS = (None, *(state for state in LoadState if state != LoadState.GIVEN_UP), "taken out")
SHELF = (None, "picked up", *ShelfState)
DAYS = (None, -1, 0, 1)
"""From today on, the day by which it is to be used."""


def releases_kept_elsewhere() -> None:
    PolicyOverride.objects.create(
        name="release_on_record", value=False, since=date(2026, 1, 1), source="house",
        reason="loads are kept elsewhere", set_by="Bea", set_at="2026-01-01T00:00Z",
    )  # fmt: skip


def every_package() -> None:
    """A package for each way in which what is on record can come together."""
    like = ask.a_package(make.Instrument())
    values = {one.attname: getattr(like, one.attname) for one in Package._meta.fields}
    del values["id"]
    now, place, today = timezone.now(), ask.a_place(), timezone.localdate()
    in_state = {state: _load(state) for state in LoadState}
    every = list(product((0, 1), LOADS, SHELF, DAYS, (0, 1)))
    kept = KeptDecision.objects.bulk_create(KeptDecision(body={}) for _ in every)
    packages = Package.objects.bulk_create(
        Package(**values | {
            "key": f"copy-key-{number}", "code": package_code(90_000 + number),
            "use_by": None if day is None else today + timedelta(days=day),
            "void_at": now if void else None, "void_reason": "torn" if void else "",
            "sealed_at": now if sealed else None,
            "here": not void and lies in (None, "picked up", ShelfState.ON_SHELF),
            "decided_id": kept[number].pk,
        })
        for number, (void, _, lies, day, sealed) in enumerate(every)
    )  # fmt: skip
    loaded, moves, shelved = [], [], []
    for package, (_, load, lies, _, _) in zip(packages, every, strict=True):
        if load:
            out = load == "taken out"
            loaded.append(LoadedPackage(
                load=in_state[LoadState.GATHERING if out else LoadState(load)], package=package,
                added_by="Tam", added_at=now, taken_out_at=now if out else None,
            ))  # fmt: skip
        if lies:
            state = ShelfState.ON_SHELF if lies == "picked up" else ShelfState(lies)
            at_place = place if state == ShelfState.ON_SHELF else None
            moves.append(ShelfMove(package=package, number=1, state=state, place=at_place,
                                   by="Tam", at=now))  # fmt: skip
            if lies != "picked up":
                shelved.append(Shelved(package=package, state=state, place=at_place, since=now))
    LoadedPackage.objects.bulk_create(loaded)
    ShelfMove.objects.bulk_create(moves)
    Shelved.objects.bulk_create(shelved)


def _load(state: LoadState) -> Load:
    load = loads.a_load()
    Load.objects.filter(pk=load.pk).update(state=state, started_at=timezone.now())
    load.refresh_from_db()
    return load


def check_the_same() -> None:
    """Both answers, of each package alone and of all in one query, agree on every one there is."""
    alone = [(one.pk, standing_of(one)) for one in with_standing(Package.objects.all())]

    def by_one(wanted: Callable[[Standing], bool]) -> set[int]:
        return {pk for pk, now in alone if wanted(now)}

    assert set(standing.usable().values_list("pk", flat=True)) == by_one(lambda one: one.usable)
    assert set(standing.may_go().values_list("pk", flat=True)) == by_one(lambda one: one.may_go)
    for word in Word:
        found = set(standing.standing_as(word).values_list("pk", flat=True))
        assert found == by_one(lambda one, word=word: one.word == word), word  # type: ignore[misc]


def test_both_answers_are_the_same_over_all_that_can_be_on_record() -> None:
    every_package()
    check_the_same()
    releases_kept_elsewhere()
    check_the_same()
    every = with_standing(Package.objects.all())
    assert {standing_of(one).word for one in every} == set(Word)


Step = Callable[[Package], object]
STEPS: dict[str, Step] = {
    "seal": lambda one: at.sealed(one),
    "into a load": lambda one: loads.a_load(one),
    "out of it": lambda one: gathering.take_out(at.person(), _its_load(one), one, at.key()),
    "start": lambda one: gathering.start(at.person(), _its_load(one), at.key()),
    "its cycle ends": lambda one: loads.started(Load.objects.get(pk=_its_load(one))),
    "release": lambda one: releasing.release(
        at.person(), _its_load(one), loads.all_yes(), loads.NO_GROWTH, at.key()
    ),
    "wet": lambda one: wet.name_wet(at.person(), _its_load(one), one, "heavy", at.key()),
    "into the last load": lambda one: gathering.add(
        at.person(), Load.objects.latest("pk").pk, one, at.key()
    ),
    "recall its instrument": lambda one: recalling.recall(
        at.person(), "instrument", one.number, at.key(), "a fault"
    ),
    "recall the sterilizer": lambda one: recalling.recall(
        at.person(), "sterilizer", "ST1", at.key(), "it grew"
    ),
    "hold back": lambda one: releasing.hold_back(
        at.person(), _its_load(one), {}, "", at.key(), "wet"
    ),
    "recall": lambda one: recalling.recall_load(at.person(), _its_load(one), at.key(), "grew"),
    "put away": lambda one: shelf.put_away(at.person(), one, ask.a_place(), at.key()),
    "pick up": lambda one: pick_up(at.person(), one),
    "hand over": lambda one: shelf.hand_over(at.person(), one, "OR 3", at.key()),
    "put away with the others": lambda one: shelf.put_away_all(
        at.person(), Package.objects.all(), ask.a_place("B2"), at.key()
    ),
    "promise": lambda one: promise(one),
    "on the way": lambda one: working.send(ask.other(), _its_request(one), at.key()),
    "hand over there": lambda one: working.hand_over(at.person(), _its_request(one), at.key()),
    "back on the queue": lambda one: working.give_back(
        at.person(), _its_request(one), at.key(), "another took it"
    ),
    "withdraw": lambda one: asking.withdraw(ask.liaison(), _its_request(one), at.key()),
    "wet when opened": lambda one: saying.say(ask.liaison(), one.pk, "wet", at.key()),
    "open": lambda one: shelf.take_off(at.person(), one, ShelfState.OPENED, at.key()),
    "damage": lambda one: shelf.take_off(at.person(), one, ShelfState.DAMAGED, at.key(), "torn"),
    "void": lambda one: void_package(at.person(), one.pk, "torn"),
    "a day too late": lambda one: Package.objects.filter(pk=one.pk).update(
        use_by=timezone.localdate() - timedelta(days=1)
    ),
    "releases kept elsewhere": lambda one: releases_kept_elsewhere(),
}


@verb(KEEP_SHELF)
def pick_up(person: Person, package: Package) -> None:
    shelf.pick_up(person, package)


def _its_load(package: Package) -> int:
    load = standing.load_of(package)
    return load.pk if load else 0


def promise(package: Package) -> None:
    """A request for what is in it, taken, that is promised this package."""
    assert package.instrument is not None
    one = working.take(at.person(), ask.a_request(package.instrument).pk, at.key())
    working.tie(at.person(), one.pk, package)


def _its_request(package: Package) -> int:
    tied = shelf.promise_of(package)
    if tied is None:
        raise Refused("No request has it.")
    return tied.request_id


USUAL = (("into a load", 0), ("into the last load", 1), ("start", 0))
"""Two of three are in a load that runs: whatever comes then is about it as a rule."""
GOES_OUT = ("put away", "hand over", "on the way", "hand over there")
LIKELY = [name for name in STEPS if "elsewhere" not in name]
LIKELY += 5 * ["release", "its cycle ends", "promise", *GOES_OUT]
"""What is done every day is tried more often."""


class TestWhateverIsDone(TestCase):
    """Through the verbs, in any order; what they refuse changes nothing."""

    @classmethod
    def setUpTestData(cls) -> None:
        cls.one = ask.a_package_to_seal(make.Instrument()).pk

    @settings(max_examples=25)
    @given(first_sealed=st.booleans(), steps=st.lists(st.sampled_from(list(STEPS)), max_size=8))
    def test_both_answers_are_the_same(self, first_sealed: bool, steps: list[str]) -> None:
        for step in ("seal", *steps) if first_sealed else steps:
            try:
                STEPS[step](Package.objects.get(pk=self.one))
            except (Refused, Load.DoesNotExist):
                continue
        check_the_same()


class TestWhateverIsDoneToThree(TestCase):
    """Each through whatever is done to it, in one load or several."""

    @classmethod
    def setUpTestData(cls) -> None:
        cls.three = [ask.a_package(make.Instrument()).pk for _ in range(3)]

    @settings(max_examples=25)
    @given(steps=st.lists(st.tuples(st.sampled_from(LIKELY), st.sampled_from([0, 1, 2])),
                          min_size=3, max_size=14))  # fmt: skip
    def test_nothing_goes_out_that_was_not_released(self, steps: list[tuple[str, int]]) -> None:
        for step, which in (*USUAL, *steps):
            package = Package.objects.get(pk=self.three[which])
            before = standing_of(package)
            try:
                STEPS[step](package)
            except (Refused, Load.DoesNotExist):
                continue
            if step in GOES_OUT:
                assert before.word in (Word.RELEASED, Word.HANDED_OVER), (step, before)
            check_loads()
        check_requests()


def check_loads() -> None:
    """Each package is in one load at most; a load is released when its cycle can be over; what
    was recalled is not used any more."""
    inside = LoadedPackage.objects.filter(taken_out_at=None)
    assert inside.count() == inside.values("package").distinct().count()
    for load in Load.objects.filter(state=LoadState.RELEASED):
        assert load.started_at is not None and load.ended_at is not None
        earliest = earliest_end(load.started_at, read_programme(load.runs))
        assert earliest is not None and load.ended_at >= earliest - timedelta(minutes=1)
    held = RecalledPackage.objects.values("package")
    assert not standing.usable().filter(pk__in=held).exists()
    wet_ones = inside.exclude(wet_because="").values("package")
    assert not standing.usable().filter(pk__in=wet_ones).exists()


def check_requests() -> None:
    """A package serves one running request at most; what is on the way may go and lies nowhere;
    what a request got had been released; what could hurt is not used; every row counts its own
    steps."""
    held = RequestPackage.objects.filter(let_go_at=None).select_related("request")
    running = [tie for tie in held if tie.request.running]
    assert len({tie.package_id for tie in running}) == len(running)
    by_pk = {one.pk: one for one in with_standing(Package.objects.all())}
    for tie in held:
        now = standing_of(by_pk[tie.package_id])
        if tie.request.state == RequestState.ON_THE_WAY:
            assert now.may_go or now.word == Word.PAST_ITS_DATE
            assert not hasattr(by_pk[tie.package_id], "shelved")
        if tie.request.state == RequestState.HANDED_OVER:
            assert LoadedPackage.objects.filter(
                package=tie.package_id, taken_out_at=None, load__ended_at__isnull=False
            ).exists()  # fmt: skip
    hurt = Complaint.objects.filter(kind__in=HURTS).values("package")
    assert not standing.usable().filter(pk__in=hurt).exists()
    for row in (*by_pk.values(), *Request.objects.all(), *Load.objects.all()):
        assert row.last_step == row.steps.count(), row


class TestWhatIsSaid:
    @pytest.fixture
    def instrument(self) -> Instrument:
        return make.Instrument(item_number="T-1")

    @pytest.fixture
    def package(self, instrument: Instrument) -> Package:
        return ask.a_package(instrument)

    def of(self, package: Package) -> Standing:
        return standing_of(Package.objects.get(pk=package.pk))

    def test_not_sterilized_it_is_not_usable_and_not_spoiled(self, package: Package) -> None:
        now = self.of(package)
        assert (now.usable, now.spoiled, now.to_be_had) == (False, False, True)

    def test_not_sterilized_it_says_what_to_do(self, package: Package) -> None:
        assert self.of(package).what_next == "Put it into a load first."

    def test_its_load_is_the_one_that_it_was_not_taken_out_of(self, package: Package) -> None:
        first = loads.a_load(package)
        assert standing.load_of(package) == first
        gathering.take_out(at.person(), first.pk, package, at.key())
        assert standing.load_of(package) is None

    def test_released_it_may_go(self, package: Package) -> None:
        load = loads.released(package)
        now = self.of(package)
        assert (now.may_go, now.why) == (True, f"{package.code} was released with load {load}.")

    def test_kept_elsewhere_it_says_where_to_look(self, package: Package) -> None:
        releases_kept_elsewhere()
        now = self.of(package)
        assert (now.may_go, now.what_next) == (True, "Look there whether it was released.")

    def test_handed_over_it_may_be_used_and_does_not_go_again(self, package: Package) -> None:
        loads.released(package)
        shelf.hand_over(at.person(), package, "OR 3", at.key())
        now = self.of(package)
        assert (now.usable, now.may_go) == (True, False)
        assert now.why.startswith(f"{package.code} was handed over to OR 3 by Tam Birkett")

    def test_opened_it_is_not_to_be_used(self, package: Package) -> None:
        loads.released(package)
        shelf.take_off(at.person(), package, ShelfState.OPENED, at.key())
        assert (self.of(package).usable, self.of(package).spoiled) == (False, True)

    def test_held_back_it_goes_nowhere_though_releases_are_kept_elsewhere(
        self, package: Package
    ) -> None:
        releases_kept_elsewhere()
        releasing.hold_back(at.person(), loads.running(package).pk, {}, "", at.key(), "wet")
        with pytest.raises(Refused, match="which was not released"):
            shelf.put_away(at.person(), package, ask.a_place(), at.key())

    def test_held_back_it_is_promised_to_nobody(self, package: Package) -> None:
        releasing.hold_back(at.person(), loads.running(package).pk, {}, "", at.key(), "wet")
        with pytest.raises(Refused, match="which was not released"):
            standing.check_to_be_had(package)

    def test_damaged_in_a_load_being_gathered_the_load_does_not_start(
        self, package: Package
    ) -> None:
        load = loads.a_load(package)
        shelf.take_off(at.person(), package, ShelfState.DAMAGED, at.key(), "torn")
        with pytest.raises(Refused, match="Take out first what is not to be used"):
            gathering.start(at.person(), load.pk, at.key())

    def test_what_has_to_be_known_stands_beside_the_word(self, package: Package) -> None:
        Package.objects.update(shortages=["MISSING 1 Péan (2 of 3 in the set)"])
        assert (self.of(package).words, self.of(package).status) == (
            "packed, with shortages", "does not apply",
        )  # fmt: skip

    def test_what_is_in_the_shelfs_way_is_listed_there(self, instrument: Instrument) -> None:
        package = ask.on_shelf(instrument)
        Load.objects.update(state=LoadState.NOT_RELEASED)
        assert list(shelf.not_to_be_used()) == [package]


def test_a_released_package_is_good_and_says_what_must_be_known_beside_it() -> None:
    package = ask.on_shelf(make.Instrument())
    Package.objects.update(shortages=["MISSING 1 Péan (2 of 3 in the set)"])
    package.refresh_from_db()
    badges = str(package_state(package))
    assert "state met" in badges and "released" in badges and "with shortages" in badges
