"""What waits on the Bench: what is needed first is first, and what is ready does not wait."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.utils import timezone

from assembly.bench import builds, signing
from assembly.bench.tally import tally_of
from assembly.first_pages.waiting import Wait, waits
from assembly.models import Load, Repair, Request, SetNeed
from assembly.packages import levels, recording, shelf
from assembly.requests import working
from assembly.upkeep import repairs
from catalog.chain.guards import let_through
from catalog.models import InstrumentSet
from tests.factories import bench as at
from tests.factories import catalog as make
from tests.factories import loads
from tests.factories import requests as ask
from tests.factories.loads import released

pytestmark = pytest.mark.django_db
HOUR = timedelta(hours=1)


def kinds() -> list[str]:
    return [one.kind for one in waits()]


def only() -> Wait:
    (one,) = waits()
    return one


def need(code: str = "TS-1", hours: float = 2) -> SetNeed:
    when = timezone.now() + hours * HOUR
    return levels.say_when_needed(at.person(), at.a_set(code), when, "OR 3")


def low(number: str) -> None:
    levels.set_level(at.person(), make.Instrument(item_number=number), 2)


def test_where_nothing_waits_there_is_nothing() -> None:
    assert waits() == []


def test_needed_first_is_first_and_what_has_no_time_follows() -> None:
    low("T-9")
    ask.a_request(needed_by=timezone.now() + 3 * HOUR)
    need(hours=2)
    ask.a_request(needed_by=timezone.now() + 1 * HOUR)
    assert kinds() == ["request", "set", "request", "shelf"]


@pytest.mark.parametrize(
    ("urgency", "tone"), [("routine", ""), ("urgent", "urgent"), ("waiting", "urgent")]
)
def test_what_is_urgent_looks_so(urgency: str, tone: str) -> None:
    ask.a_request(urgency=urgency, needed_by=timezone.now() + 2 * HOUR)
    assert only().tone == tone


def test_what_is_late_looks_so_before_all_else() -> None:
    ask.overdue(ask.a_request(urgency=Request.Urgency.URGENT))
    assert only().tone == "late"


def test_a_request_that_is_packed_says_how_far_it_is() -> None:
    instrument = make.Instrument()
    one = ask.a_request(instrument)
    working.take_and_pack(at.person(), one.pk, at.key())
    package = ask.a_package(instrument)
    working.tie(at.person(), one.pk, package)
    assert only().act == "Packed, waits for a load"
    released(package)
    assert only().act == "Released, to be taken there"


class TestSets:
    def test_a_set_needed_next_waits(self) -> None:
        need()
        assert (only().small, only().act) == ("TS-1 · for OR 3 · none is ready", "Assemble")

    def test_who_is_assembling_it_is_said(self) -> None:
        builds.start(at.person("Ida Crow"), need().instrument_set, at.key())
        assert (only().act, only().act_page) == ("Ida Crow is assembling it", "")

    def test_one_that_is_ready_does_not_wait(self) -> None:
        wanted = need().instrument_set
        package = at.signed(at.a_build(wanted))
        assert kinds() == ["set"]
        released(package)
        shelf.put_away(at.person(), package, ask.a_place(), at.key())
        assert kinds() == []

    def test_one_that_went_since_does_not_wait(self) -> None:
        package = at.signed(at.a_build(need().instrument_set))
        released(package)
        shelf.hand_over(at.person(), package, "OR 3", at.key())
        assert kinds() == []

    def test_two_needs_of_one_set_both_wait_until_each_is_met(self) -> None:
        """One lies ready for the first; handed over it meets the first alone."""
        wanted = need(hours=2).instrument_set
        levels.say_when_needed(at.person(), wanted, timezone.now() + 5 * HOUR, "OR 4")
        builds.start(at.person("Ida Crow"), wanted, at.key())
        assert [one.act for one in waits()] == ["Ida Crow is assembling it", "Assemble"]
        package = at.signed(at.a_build(wanted))
        released(package)
        shelf.put_away(at.person(), package, ask.a_place(), at.key())
        assert only().small == "TS-1 · for OR 4 · too few are ready"
        shelf.hand_over(at.person(), package, "OR 3", at.key())
        assert only().small == "TS-1 · for OR 4 · none is ready"

    def test_one_that_comes_in_time_is_not_assembled_again(self) -> None:
        """Packed it is 5 + 39 + 35 min away, 29 min more where its cycle has run for 10."""
        loads.a_sterilizer("ST1", loads.a_programme(come_up_min=15))
        package = at.signed(at.a_build(need(hours=2).instrument_set))
        one = only()
        assert (one.act, one.act_page) == ("Packed, waits for a load", f"/packages/{package.code}/")
        loads.running(package, ago=timedelta(minutes=10))
        assert (only().act.split(" about ")[0], only().act_page) == ("In the sterilizer,", "")
        assert only().small == f"TS-1 · for OR 3 · {package.code}"

    def test_one_that_comes_too_late_or_at_no_known_time_is(self) -> None:
        loads.a_sterilizer("ST1", loads.a_programme(come_up_min=15))
        package = at.signed(at.a_build(need(hours=1).instrument_set))
        assert only().act == "Assemble"
        assert only().small.startswith(f"TS-1 · for OR 3 · {package.code} comes about ")
        loads.running(package, ago=timedelta(minutes=15))
        assert only().act.startswith("In the sterilizer")
        Load.objects.update(runs={})
        assert (only().act, only().small) == ("Assemble", "TS-1 · for OR 3 · none is ready")

    def test_one_that_comes_meets_one_need_of_two(self) -> None:
        loads.a_sterilizer("ST1", loads.a_programme(come_up_min=15))
        wanted = need(hours=2).instrument_set
        levels.say_when_needed(at.person(), wanted, timezone.now() + 5 * HOUR, "OR 4")
        loads.running(at.signed(at.a_build(wanted)), ago=timedelta(minutes=10))
        assert [one.act.split(",")[0] for one in waits()] == ["In the sterilizer", "Assemble"]

    def test_one_that_went_before_it_was_said_still_waits(self) -> None:
        package = at.signed(at.a_build(at.a_set("TS-1")))
        released(package)
        shelf.hand_over(at.person(), package, "OR 3", at.key())
        levels.say_when_needed(at.person(), package.build.instrument_set,
                               timezone.now() + HOUR)  # fmt: skip
        assert kinds() == ["set"]

    def test_one_whose_time_has_passed_does_not_fall_off_the_list(self) -> None:
        one = need()
        with let_through():
            SetNeed.objects.filter(pk=one.pk).update(needed_at=timezone.now() - HOUR)
        assert only().tone == "late"


class TestSetsBelowTheirLevel:
    def low(self, code: str = "TS-1", least: int = 2) -> InstrumentSet:
        one = at.a_set(code)
        levels.set_level(at.person(), one, least)
        return one

    def test_it_waits_after_what_has_a_time_and_before_single_packages(self) -> None:
        low("T-9")
        self.low("TS-2")
        need("TS-1")
        assert [(one.kind, one.small.split(" ")[0]) for one in waits()] == [
            ("set", "TS-1"), ("shelf", "TS-2"), ("shelf", "T-9")]  # fmt: skip

    def test_it_says_how_many_lie_ready_and_how_many_are_to_be_assembled(self) -> None:
        package = at.signed(at.a_build(self.low()))
        assert (only().due, only().act) == ("0 on the shelf, low under 2", "Assemble 2")
        released(package)
        shelf.put_away(at.person(), package, ask.a_place(), at.key())
        assert (only().due, only().act) == ("1 on the shelf, low under 2", "Assemble 1")

    def test_at_its_level_it_does_not_wait(self) -> None:
        package = at.signed(at.a_build(self.low(least=1)))
        released(package)
        shelf.put_away(at.person(), package, ask.a_place(), at.key())
        assert waits() == []

    def test_who_is_assembling_it_is_said(self) -> None:
        builds.start(at.person("Ida Crow"), self.low(), at.key())
        assert (only().act, only().act_page) == ("Ida Crow is assembling it", "")

    def test_needed_next_it_stands_once(self) -> None:
        levels.set_level(at.person(), need().instrument_set, 2)
        assert kinds() == ["set"]


class TestRepairs:
    def back(self, outcome: str = "") -> None:
        build = at.a_build(at.a_set("TS-1", (1, 1), may_go_without=True))
        first = tally_of(build).lines[0].line
        builds.damaged(at.person(), build.pk, first.pk, "Bent or broken", at.key())
        builds.short(at.person(), build.pk, first.pk, 1, "at repair", at.key())
        second = tally_of(build).lines[1].line
        builds.count(at.person(), build.pk, second.pk, 1, at.key())
        signing.pack(at.person(), build.pk, at.all_yes(build), at.key())
        at.sealed(signing.sign(at.person(), build.pk, at.key()))
        if outcome:
            repairs.come_back(at.person(), Repair.objects.get().pk, outcome, "sharpened")

    def test_what_came_back_waits_with_the_set_that_went_without_it(self) -> None:
        self.back("back")
        one = only()
        assert (one.kind, one.act) == ("repair", "Put it back")
        assert "TS-1 went without it" in one.small

    def test_what_was_written_off_does_not(self) -> None:
        self.back("written off")
        assert kinds() == []

    def test_what_is_still_out_does_not(self) -> None:
        self.back()
        assert kinds() == []


class TestWhatIsNotSealed:
    def test_it_waits_until_somebody_has_looked_at_it(self) -> None:
        package = ask.a_package_to_seal(make.Instrument())
        one = only()
        assert (one.kind, one.page) == ("seal", f"/packages/{package.code}/")
        at.sealed(package)
        assert kinds() == []

    def test_a_strip_is_one(self) -> None:
        first, *others = (ask.a_package_to_seal(make.Instrument()) for _ in range(3))
        for other in others:
            other.packed_with = first
            other.save()
        assert (only().page, only().small[:6]) == (f"/packages/{first.code}/alike/", "3 from")

    def test_what_is_void_waits_no_more(self) -> None:
        package = ask.a_package_to_seal(make.Instrument())
        recording.void_package(at.person(), package.pk, "torn")
        assert kinds() == []
