"""Work ahead: a Tuesday's list reckoned backward by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assembly.rules.computing.ahead import Begun, Job, Load, Machine, Plan, latest_start, plan
from assembly.rules.computing.ready import Stage
from assembly.rules.facts.cycles import Programme
from assembly.rules.limits.racks import Piece, Shelf
from assembly.rules.policy.values import default_policy
from assembly.rules.telling.loading import Rack
from catalog.vocabulary import Method

TUESDAY = datetime(2026, 1, 6)
NOW = TUESDAY.replace(hour=5)
S134 = Programme(code="S134-3", method=Method.STEAM, temperature_c=134, come_up_min=15,
                 exposure_min=3, drying_min=20)  # fmt: skip
LONG = replace(S134, code="S134-4", exposure_min=4, drying_min=30)
SHELF = Shelf(600, 300, 300)
BOX = Piece("box", 580, 280, 135)


def policy(hands: float = 1) -> Any:
    """Cooling 10, way there 4, to the load 5 min: with 25 at the bench and 38 in it, 82."""
    return default_policy(date(2026, 1, 1), {
        "cooling_min": 10.0, "way_there_min": 4.0, "load_way_min": 5.0, "ahead_hands": hands,
        "biological_before_release": "loads with implants",
    })  # fmt: skip


def at(hour: int, minute: int = 0) -> datetime:
    return TUESDAY.replace(hour=hour, minute=minute)


def job(what: str, due: datetime, **more: Any) -> Job:
    facts: dict[str, Any] = {"hands": Stage("assembling", 25), "cycles": (str(S134),), "size": BOX}
    return Job(number=what, what=what, due=due, **(facts | more))


def machine(code: str, **more: Any) -> Machine:
    facts: dict[str, Any] = {"programmes": (S134, LONG), "rack": Rack(SHELF, 2)}
    return Machine(code, **(facts | more))


def planned(*jobs: Job, machines: tuple[Machine, ...] = (machine("ST1"),), hands: float = 1,
            begun: tuple[Begun, ...] = ()) -> Plan:  # fmt: skip
    return plan(jobs, machines, begun, NOW, policy(hands))


def begins(found: Plan) -> dict[str, datetime | None]:
    return {one.job.what: one.begin_by for one in found.tasks}


def starts(found: Plan) -> list[tuple[str, datetime, list[str]]]:
    return [(one.machine, one.start_by, sorted(job.what for job in one.jobs))
            for one in found.loads]  # fmt: skip


def test_due_at_half_past_seven_82_min_begins_at_eight_past_six() -> None:
    """By hand: 07:30 - (25 + 5 + 15 + 3 + 20 + 10 + 4) min = 06:08."""
    assert begins(planned(job("hip", at(7, 30)))) == {"hip": at(6, 8)}


def test_a_stage_of_no_known_length_has_no_latest_start() -> None:
    assert latest_start(at(7, 30), [Stage("packing", 25), Stage("drying", None)]) is None


def test_two_at_one_bench_begin_one_after_the_other_and_share_their_load() -> None:
    found = planned(job("hip", at(7, 30)), job("knee", at(7, 30)))
    assert sorted(begins(found).values()) == [at(5, 43), at(6, 8)]
    assert starts(found) == [("ST1", at(6, 38), ["hip", "knee"])]


def test_two_people_begin_both_at_once() -> None:
    found = planned(job("hip", at(7, 30)), job("knee", at(7, 30)), hands=2)
    assert set(begins(found).values()) == {at(6, 8)}


def test_what_the_rack_has_no_room_for_takes_the_run_before() -> None:
    """One box stands on each of two shelves; the third runs 38 min earlier."""
    found = planned(*(job(what, at(7, 30)) for what in "abc"), hands=9)
    assert [(start, len(inside)) for _, start, inside in starts(found)] == [
        (at(6), 1), (at(6, 38), 2)
    ]  # fmt: skip


def test_a_second_sterilizer_saves_the_run_before() -> None:
    found = planned(*(job(what, at(7, 30)) for what in "abc"), hands=9,
                    machines=(machine("ST1"), machine("ST2")))  # fmt: skip
    assert {start for _, start, _ in starts(found)} == {at(6, 38)}
    assert {code for code, _, _ in starts(found)} == {"ST1", "ST2"}


def test_a_sterilizer_that_is_out_takes_nothing() -> None:
    out = machine("ST2", out={str(S134): "the air-removal test of ST2 failed"})
    found = planned(*(job(what, at(7, 30)) for what in "abc"), machines=(machine("ST1"), out))
    assert {code for code, _, _ in starts(found)} == {"ST1"}


def test_where_all_are_out_it_says_why() -> None:
    out = machine("ST1", out={str(S134): "the air-removal test of ST1 failed"})
    found = planned(job("hip", at(7, 30)), machines=(out,))
    assert [why for _, why in found.unknown] == ["the air-removal test of ST1 failed"]
    assert not found.tasks


@pytest.mark.parametrize(
    ("more", "why"),
    [
        ({"cycles": ()}, "its cycle is not on record"),
        ({"cycles": ("EO-55",)}, "no sterilizer in use runs EO-55"),
        ({"hands": Stage("assembling", None, "nobody knows")}, "nobody knows"),
        ({"unknown": "lent, and its IFU is not here"}, "lent, and its IFU is not here"),
    ],
)
def test_what_cannot_be_told_is_named(more: dict[str, Any], why: str) -> None:
    assert [words for _, words in planned(job("hip", at(7, 30), **more)).unknown] == [why]


def test_what_may_wait_for_the_next_run_does_not_hurry() -> None:
    found = planned(job("hip", at(7, 30)), job("evening", at(19)))
    assert begins(found)["evening"] == at(17, 38)
    assert len(found.loads) == 2


def test_what_is_in_time_in_the_very_next_run_waits_for_it() -> None:
    """By hand: the hip runs from 06:38 for 38 min; what may start at 07:16 is in time then."""
    found = planned(job("hip", at(7, 30)), job("knee", at(8, 8)))
    assert starts(found) == [("ST1", at(6, 38), ["hip"]), ("ST1", at(7, 16), ["knee"])]


def test_a_longer_cycle_that_serves_both_takes_both() -> None:
    found = planned(job("hip", at(7, 30), cycles=(str(LONG),)),
                    job("knee", at(7, 40), cycles=(str(S134), str(LONG))))  # fmt: skip
    assert [inside for _, _, inside in starts(found)] == [["hip", "knee"]]


def test_a_load_that_is_filled_takes_what_it_has_room_for() -> None:
    begun = Begun("ST1-0601-02", "ST1", str(S134), (BOX,))
    found = planned(job("hip", at(7, 30)), job("knee", at(7, 30)), begun=(begun,))
    assert sorted(one.code for one in found.loads) == ["", "ST1-0601-02"]


def test_what_lies_in_a_load_stays_in_it() -> None:
    begun = Begun("ST1-0601-02", "ST1", str(S134), (BOX,))
    inside = job("hip", at(7, 30), load="ST1-0601-02", hands=None)
    found = planned(inside, begun=(begun,))
    assert [(one.code, one.start_by) for one in found.loads] == [("ST1-0601-02", at(6, 38))]
    assert found.tasks[0].begin_by is None


def test_a_busy_sterilizer_says_how_late() -> None:
    found = planned(job("hip", at(7, 30)), machines=(machine("ST1", free=at(7)),))
    assert found.loads[0].late == timedelta(minutes=22)


def test_what_is_too_late_makes_what_follows_in_its_sterilizer_late() -> None:
    """By hand: the knee's 49 min start at 05:10, the hip's 38 before them at 04:32; from 05:00 on
    they start at 05:00 and 05:38."""
    found = planned(job("hip", at(5, 40)), job("knee", at(6, 13), cycles=(str(LONG),)), hands=2)
    assert [one.late for one in found.loads] == [timedelta(minutes=28), timedelta(minutes=28)]


def test_what_is_too_late_makes_what_one_does_next_late() -> None:
    """By hand: begun by 04:43 and 05:08 they are in time; from 05:00 on it is 05:00 and 05:25."""
    found = planned(job("hip", at(6, 30)), job("knee", at(6, 30)))
    assert [one.late for one in found.tasks] == [timedelta(minutes=17), timedelta(minutes=17)]


def test_what_is_still_in_time_goes_with_what_is_late() -> None:
    """By hand: the hip should have run at 04:08 and runs at 05:00; the knee alone has until 05:08,
    and goes with it where it begins by 04:30: 05:00 - 5 - 25."""
    found = planned(job("hip", at(5)), job("knee", at(6)), hands=2)
    assert starts(found) == [("ST1", at(4, 8), ["hip", "knee"])]
    assert begins(found) == {"hip": at(3, 38), "knee": at(4, 30)}


def test_of_two_sterilizers_the_one_with_time_is_taken() -> None:
    """ST1 alone runs the long cycle, from 06:27 on; the others go into ST2."""
    found = planned(job("hip", at(7, 30), cycles=(str(LONG),)), job("knee", at(6, 40)),
                    machines=(machine("ST1"), machine("ST2", programmes=(S134,))))  # fmt: skip
    assert sorted((code, inside) for code, _, inside in starts(found)) == [
        ("ST1", ["hip"]), ("ST2", ["knee"])
    ]  # fmt: skip


def test_what_should_have_begun_says_how_long_ago() -> None:
    assert planned(job("hip", at(6, 0))).tasks[0].late == timedelta(minutes=22)


def test_what_goes_on_takes_no_other_hands() -> None:
    found = planned(job("hip", at(7, 30), goes_on=True), job("knee", at(7, 30)))
    assert begins(found) == {"hip": None, "knee": at(6, 8)}


def test_a_size_that_is_not_on_record_leaves_the_room_open() -> None:
    found = planned(job("hip", at(7, 30)), job("knee", at(7, 30), size=None))
    assert [(len(one.jobs), one.room_told) for one in found.loads] == [(2, False)]


def test_so_many_pieces_need_so_much_room() -> None:
    """Three boxes where two have room: in no load with another."""
    found = planned(job("hip", at(7, 30), pieces=2), job("knee", at(7, 30)))
    assert len(found.loads) == 2


jobs = st.lists(
    st.tuples(st.integers(60, 900), st.integers(1, 60), st.sampled_from([S134, LONG])),
    min_size=1, max_size=8,
)  # fmt: skip


@given(jobs, st.integers(1, 3))
def test_no_two_runs_of_a_sterilizer_overlap_and_everything_is_in_time(
    wanted: list[tuple[int, int, Programme]], hands: int
) -> None:
    found = planned(
        *(job(f"{n}", NOW + timedelta(minutes=due), hands=Stage("packing", minutes),
              cycles=(str(cycle),)) for n, (due, minutes, cycle) in enumerate(wanted)),
        machines=(machine("ST1"), machine("ST2")), hands=hands,
    )  # fmt: skip
    assert sorted(one.job.what for one in found.tasks) == sorted(map(str, range(len(wanted))))
    for load in found.loads:
        assert all(_end(load) + timedelta(minutes=14) <= one.due for one in load.jobs)
        others = [one for one in found.loads if one.machine == load.machine and one is not load]
        assert all(_end(one) <= load.start_by or _end(load) <= one.start_by for one in others)


@given(jobs)
def test_one_pair_of_hands_does_one_thing_at_a_time(
    wanted: list[tuple[int, int, Programme]],
) -> None:
    found = planned(
        *(job(f"{n}", NOW + timedelta(minutes=due), hands=Stage("packing", minutes),
              cycles=(str(cycle),)) for n, (due, minutes, cycle) in enumerate(wanted)),
    )  # fmt: skip
    at_work = sorted((one.begin_by, one.job.hands.minutes) for one in found.tasks
                     if one.begin_by and one.job.hands)  # fmt: skip
    for (begin, minutes), (after, _) in pairwise(at_work):
        assert begin + timedelta(minutes=minutes or 0) <= after


def _end(load: Load) -> datetime:
    return load.start_by + timedelta(minutes=load.way.minutes)
