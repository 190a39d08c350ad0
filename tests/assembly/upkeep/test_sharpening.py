"""Uses since sharpening: counted from packages, due by policy, counted anew once sharpened."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone

from assembly.bench import builds, signing
from assembly.bench.tally import tally_of
from assembly.consequences.policy_actions import override_value
from assembly.judging.facts_from_catalog import policy_in_force
from assembly.judging.sharpening import AFTER, STOPS, due, uses_of
from assembly.ledger import Refused
from assembly.models import Package, Sharpening
from assembly.packages import recording
from assembly.upkeep import repairs
from assembly.upkeep.repairs import Outcome
from assembly.upkeep.sharpening import sharpened
from catalog.actions import Actor
from catalog.models import Instrument, InstrumentSet
from tests.factories import bench as at
from tests.factories import catalog as make
from tests.factories import requests as ask

pytestmark = pytest.mark.django_db


def policy(after: float | None = 2, *, stops: bool = False) -> None:
    for name, value in ((AFTER, after), (STOPS, stops)):
        override_value(Actor("a lead", reason="tried"), name, value,
                       since=timezone.localdate(), source="our plan")  # fmt: skip


def packed(instrument: Instrument, times: int, *, days_ago: int = 0) -> None:
    for _ in range(times):
        package = ask.a_package_to_seal(instrument)
        earlier = timezone.now() - timedelta(days=days_ago)
        Package.objects.filter(pk=package.pk).update(packed_at=earlier)


def counted(instrument: Instrument, of: InstrumentSet | None = None) -> list[int]:
    return [one.uses for one in uses_of([instrument], of, policy_in_force())]


@pytest.fixture
def scissors() -> Instrument:
    make.Pouch(outer_width_mm=250, inner_width_mm=234)
    return make.Instrument(item_number="T-1", name="Mayo scissors")


class TestCounting:
    def test_without_a_number_of_the_policys_nothing_is_counted(self, scissors: Instrument) -> None:
        packed(scissors, 3)
        assert counted(scissors) == []

    def test_each_package_is_a_use_and_a_void_one_is_none(self, scissors: Instrument) -> None:
        policy(10)
        packed(scissors, 3)
        recording.void_package(at.person(), Package.objects.last().pk, "torn")  # type: ignore[union-attr]
        assert counted(scissors) == [2]

    def test_the_last_below_the_number_is_not_due_the_next_is(self, scissors: Instrument) -> None:
        policy(3)
        packed(scissors, 2)
        assert not due([scissors], None, policy_in_force())
        packed(scissors, 1)
        [one] = due([scissors], None, policy_in_force())
        assert "in 3 or more packages on record, and no sharpening" in one.words

    def test_sharpened_it_counts_anew(self, scissors: Instrument) -> None:
        policy(3)
        packed(scissors, 3)
        sharpened(at.person(), scissors, at.key())
        assert counted(scissors) == [0]
        packed(scissors, 1)
        assert counted(scissors) == [1]

    def test_a_day_that_is_past_counts_what_was_packed_since(self, scissors: Instrument) -> None:
        policy(9)
        for days in (5, 3, 1):
            packed(scissors, 1, days_ago=days)
        day = timezone.localdate() - timedelta(days=3)
        sharpened(at.person(), scissors, at.key(), done_on=day)
        assert counted(scissors) == [1]

    def test_what_has_no_edge_is_not_asked(self) -> None:
        policy()
        assert counted(make.Instrument(name="Kocher forceps", tip="blunt")) == []

    def test_a_day_to_come_is_refused(self, scissors: Instrument) -> None:
        with pytest.raises(Refused, match="still to come"):
            sharpened(at.person(), scissors, at.key(),
                      done_on=timezone.localdate() + timedelta(days=1))  # fmt: skip

    def test_back_from_repair_sharpened_it_counts_anew(self, scissors: Instrument) -> None:
        one = repairs.to_repair(at.person(), scissors, "Blunt", at.key())
        repairs.send_out(at.person(), one.pk, "Fellside Repairs")
        repairs.come_back(at.person(), one.pk, Outcome.BACK, sharp=True)
        made = Sharpening.objects.get()
        assert (made.done_on, made.done_by) == (timezone.localdate(), "Fellside Repairs")


class TestInASet:
    @pytest.fixture
    def a_set(self) -> InstrumentSet:
        found = at.a_set("TS-1", (1, 1), may_go_without=True)
        Instrument.objects.filter(item_number="TS-1-1").update(name="Mayo scissors")
        return found

    @pytest.fixture
    def of_the_set(self, a_set: InstrumentSet) -> Instrument:
        return Instrument.objects.get(item_number="TS-1-1")

    def test_only_what_lay_in_it_was_used(
        self, a_set: InstrumentSet, of_the_set: Instrument
    ) -> None:
        policy(9)
        at.signed(at.a_build(a_set))
        build = at.a_build(a_set)
        first, second = tally_of(build).lines
        builds.short(at.person(), build.pk, first.line.pk, 1, "", at.key())
        builds.count(at.person(), build.pk, second.line.pk, 1, at.key())
        signing.pack(at.person(), build.pk, at.all_yes(build), at.key())
        signing.sign(at.person(), build.pk, at.key())
        assert (counted(of_the_set, a_set), counted(of_the_set)) == ([1], [0])

    def test_its_line_says_so_at_the_bench_and_one_press_ends_it(
        self, a_set: InstrumentSet, of_the_set: Instrument, technician: Client
    ) -> None:
        policy(1)
        at.signed(at.a_build(a_set))
        technician.post("/sets/TS-1/build/", {"key": at.key()})
        build = a_set.builds.first()
        assert build is not None
        page = f"/builds/{build.pk}/"
        assert "packages of TS-1 on record" in technician.get(page).content.decode()
        technician.post("/away/sharpened/", {"key": at.key(), "item": "TS-1-1", "of": "TS-1"})
        assert "packages of TS-1" not in technician.get(page).content.decode()


class TestStopping:
    """A caution by default; where the policy stops it, it is packed once it was sharpened."""

    def test_by_default_it_is_packed(self, scissors: Instrument, technician: Client) -> None:
        policy(1)
        packed(scissors, 1)
        assert "to be looked at after 1" in technician.get("/instruments/T-1/").content.decode()
        packed(scissors, 1)

    def test_where_the_policy_stops_it_it_is_not(self, scissors: Instrument) -> None:
        policy(1, stops=True)
        packed(scissors, 1)
        with pytest.raises(Refused, match="only once it was sharpened"):
            packed(scissors, 1)
        sharpened(at.person(), scissors, at.key())
        packed(scissors, 1)

    def test_nor_in_a_set(self) -> None:
        a_set = at.a_set("TS-1", (1, 1))
        Instrument.objects.filter(item_number="TS-1-1").update(name="Mayo scissors")
        policy(1, stops=True)
        at.signed(at.a_build(a_set))
        with pytest.raises(Refused, match="only once it was sharpened"):
            at.signed(at.a_build(a_set))
