"""The shift's board from what is on record: how far each thing is, and by when it begins."""

from __future__ import annotations

import json
from datetime import datetime, timedelta
from io import StringIO
from typing import Any

import pytest
from django.core.management import call_command
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from assembly.models import Build, Package, PolicyOverride, RequestPackage
from assembly.packages import levels
from assembly.planning.work import Board, board
from assembly.requests import working
from assembly.rules.computing.ahead import Task
from catalog.models import Instrument, InstrumentSet
from tests.factories import bench as at
from tests.factories import catalog as make
from tests.factories import loads
from tests.factories import requests as ask

pytestmark = pytest.mark.django_db
CYCLE_MIN, AFTER_MIN, LOAD_MIN = 15 + 4 + 20, 30 + 5, 5
"""Of the sterilizer here; cooling and the way, and the way to the load, by the shipped policy."""
REST = timedelta(minutes=CYCLE_MIN + AFTER_MIN + LOAD_MIN)


@pytest.fixture(autouse=True)
def sterilizer() -> None:
    loads.a_sterilizer("ST1", loads.a_programme(come_up_min=15))


@pytest.fixture
def hook() -> Instrument:
    return make.Instrument(item_number="T-1", name="Hook", spares_on_hand=2)


def due(hours: int = 6) -> datetime:
    return timezone.now().replace(second=0, microsecond=0) + timedelta(hours=hours)


def need(thing: Instrument | InstrumentSet, at_time: datetime, many: int = 1) -> None:
    levels.say_when_needed(ask.liaison(), thing, at_time, "OR 3", many)


def only(found: Board) -> Task:
    [task] = found.plan.tasks
    return task


def why(found: Board) -> list[str]:
    return [words for _, words in found.plan.unknown]


def own(name: str, value: Any) -> None:
    PolicyOverride.objects.create(name=name, value=value, since=timezone.localdate(),
                                  source="ours", reason="ours", set_by="Tam",
                                  set_at=timezone.now())  # fmt: skip


def test_a_set_begins_25_min_before_its_load() -> None:
    """By hand: due - (25 + 5 + 15 + 4 + 20 + 30 + 5) min."""
    need(at.a_set(), due())
    assert only(board()).begin_by == due() - timedelta(minutes=25) - REST


def test_too_few_on_record_are_said_to_be_assumed() -> None:
    need(at.a_set(), due())
    task = only(board())
    assert task.job.hands and "too few on record here, 0 of 10" in task.job.hands.source


def test_the_department_s_own_median_is_taken() -> None:
    own("packing_enough", 3)
    one = at.a_set()
    for _ in range(3):
        build = at.a_build(one)
        at.signed(build)
        ended = Build.objects.get(pk=build.pk).ended_at
        assert ended
        Build.objects.filter(pk=build.pk).update(started_at=ended - timedelta(minutes=40))
    need(one, due(), 4)
    making = [one for one in board().plan.tasks if one.job.hands]
    assert [task.job.hands and task.job.hands.minutes for task in making] == [40]


def test_an_instrument_of_which_too_few_are_loose_says_so(hook: Instrument) -> None:
    ask.a_package(hook)
    need(hook, due(), 4)
    made = [one for one in board().plan.tasks if one.job.hands]
    assert [(one.job.pieces, one.job.note) for one in made] == [(3, "2 loose")]


@pytest.mark.parametrize(("loose", "unknown"), [(0, ["no loose spare is on hand"]), (2, [])])
def test_without_a_loose_spare_nothing_can_begin(
    hook: Instrument, loose: int, unknown: list[str]
) -> None:
    ask.a_request(hook, needed_by=due())
    Instrument.objects.filter(pk=hook.pk).update(spares_on_hand=loose)
    assert [one for one in why(board()) if "spare" in one] == unknown


def test_what_was_never_packed_is_named(hook: Instrument) -> None:
    need(hook, due())
    assert why(board()) == ["its cycle is not on record"]


def test_what_is_being_packed_goes_on(hook: Instrument) -> None:
    asked = ask.a_request(hook, needed_by=due())
    working.take_and_pack(at.person(), asked.pk, at.key())
    found = board()
    jobs = [*(one.job for one in found.plan.tasks), *(job for job, _ in found.plan.unknown)]
    assert [(one.goes_on, one.note) for one in jobs] == [(True, "Tam Birkett is at it")]


def test_a_package_of_more_than_was_asked_for_leaves_what_lies_there(hook: Instrument) -> None:
    """Two in a package that serves a request for one; one on the shelf serves one need of two."""
    ask.on_shelf(hook)
    asked = ask.a_request(hook, needed_by=due(2))
    package = ask.a_package(hook)
    Package.objects.filter(pk=package.pk).update(pieces=2)
    RequestPackage.objects.create(request=asked, package=package, tied_by="Tam",
                                  tied_at=timezone.now())  # fmt: skip
    need(hook, due(4))
    need(hook, due(6))
    assert [one.job.due for one in board().plan.tasks if one.job.hands] == [due(6)]


def test_what_is_packed_is_loaded_by_then(hook: Instrument) -> None:
    ask.a_package(hook)
    need(hook, due())
    task = only(board())
    assert (task.begin_by, task.packed_by) == (None, due() - REST)


def test_what_is_in_a_load_waits_for_its_start(hook: Instrument) -> None:
    load = loads.a_load(ask.a_package(hook))
    need(hook, due())
    [found] = board().plan.loads
    assert (found.code, found.start_by) == (str(load), due() - REST + timedelta(minutes=LOAD_MIN))


def test_what_is_in_the_sterilizer_is_to_be_released_by_then(hook: Instrument) -> None:
    load = loads.running(ask.a_package(hook))
    need(hook, due())
    found = board()
    assert [(one.load, one.by) for one in found.releases] == [
        (str(load), due() - timedelta(minutes=5))
    ]  # fmt: skip
    assert not found.plan.tasks


def test_what_lies_on_the_shelf_waits_for_nothing(hook: Instrument) -> None:
    ask.on_shelf(hook)
    need(hook, due())
    assert board().empty


def test_one_on_the_shelf_serves_one_need(hook: Instrument) -> None:
    ask.on_shelf(hook)
    need(hook, due(4))
    need(hook, due(6))
    assert only(board()).job.due == due(6)


def test_what_somebody_assembles_takes_no_other_hands() -> None:
    one = at.a_set()
    at.a_build(one)
    need(one, due())
    task = only(board())
    assert (task.job.goes_on, task.begin_by) == (True, None)


def test_a_sterilizer_whose_test_failed_takes_no_load() -> None:
    sterilizer = loads.a_sterilizer("ST1")
    loads.tested(sterilizer, "air removal", passed=False)
    need(at.a_set(), due())
    assert why(board()) == ["the air-removal test of ST1 failed"]


@pytest.mark.parametrize(("hours", "there"), [(11, True), (13, False)])
def test_what_is_late_stays_for_half_a_day(hook: Instrument, hours: int, there: bool) -> None:
    """Over midnight as well."""
    ask.overdue(ask.a_request(hook), 60 * hours)
    assert bool(board().plan.unknown) == there


def test_what_is_needed_after_the_shift_is_not_on_it() -> None:
    own("ahead_hours", 4)
    need(at.a_set(), due(6))
    assert board().empty


def test_a_load_that_holds_nothing_of_it_is_named(hook: Instrument) -> None:
    load = loads.a_load(ask.a_package(hook))
    assert board().idle == (str(load),)


def test_it_reads_no_more_for_more_that_waits() -> None:
    def queries() -> int:
        board()  # what the department has is read once, and kept
        with CaptureQueriesContext(connection) as asked:
            board()
        return len(asked)

    need(at.a_set("TS-1"), due())
    one = queries()
    for number in range(2, 7):
        need(at.a_set(f"TS-{number}"), due())
    assert queries() == one


class TestCommand:
    def told(self, *words: str) -> str:
        out = StringIO()
        call_command("work_ahead", *words, stdout=out)
        return out.getvalue()

    def test_it_says_by_when_and_in_which_load(self) -> None:
        need(at.a_set(), due())
        text = self.told()
        assert "begin by" in text and "start ST1 S134 by" in text

    def test_what_cannot_be_told_is_said(self, hook: Instrument) -> None:
        need(hook, due())
        assert "cannot tell: " in self.told()

    def test_nothing_waits(self) -> None:
        assert "Nothing waits." in self.told()

    def test_json(self) -> None:
        need(at.a_set(), due())
        found = json.loads(self.told("--json"))
        [task], [load] = found["tasks"], found["loads"]
        begin = due() - timedelta(minutes=25) - REST
        assert datetime.fromisoformat(task["begin_by"]) == begin
        assert (load["sterilizer"], load["inside"]) == ("ST1", ["TS-1"])
