"""The earliest time is the sum of what is left, and is never guessed."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assembly.rules.computing.ready import (
    Ready,
    Stage,
    after_cycle,
    cycle_stages,
    earliest,
    implant_note,
    soonest,
)
from assembly.rules.facts.cycles import Programme
from assembly.rules.policy.values import default_policy
from catalog.vocabulary import Method

START = datetime(2026, 1, 1, 21, 41)
S132 = Programme(code="S132-4", method=Method.STEAM, temperature_c=132, come_up_min=15,
                 exposure_min=4, drying_min=30)  # fmt: skip
POLICY = default_policy(date(2026, 1, 1), {"way_there_min": 0.0})

minutes = st.integers(0, 600)
stages = st.lists(st.builds(
    Stage, st.just("stage"), minutes, st.just(""),
    st.none() | st.builds(lambda m: START + timedelta(minutes=m), minutes), st.just("waits"),
), min_size=1, max_size=8)  # fmt: skip


def test_the_time_asked_for_is_missed_by_67_minutes() -> None:
    """By hand: 21:41 + 3 + 15 + 4 + 30 + 30 min = 23:03, which is 67 min after 21:56."""
    left = [Stage("packing", 3), *cycle_stages(S132), *after_cycle(Method.STEAM, POLICY)]
    ready = earliest(START, left)
    assert ready.at == datetime(2026, 1, 1, 23, 3)
    assert ready.late(datetime(2026, 1, 1, 21, 56)) == timedelta(minutes=67)
    assert [one.minutes for one in ready.parts] == [3, 15, 4, 30, 30, 0]


def test_what_is_there_in_time_is_not_late() -> None:
    assert earliest(START, [Stage("way", 5)]).late(START + timedelta(minutes=5)) is None


def test_a_busy_sterilizer_counts_from_its_next_free_start() -> None:
    free = START + timedelta(minutes=20)
    ready = earliest(START, [Stage("packing", 3), *cycle_stages(S132, free, "ST1 is busy")])
    assert [(one.name, one.minutes) for one in ready.parts][:2] == [
        ("packing", 3), ("ST1 is busy", 17)
    ]  # fmt: skip
    assert ready.at == free + timedelta(minutes=49)


@pytest.mark.parametrize("fact", ["come_up_min", "exposure_min", "drying_min"])
def test_a_time_that_is_not_on_record_is_not_guessed(fact: str) -> None:
    ready = earliest(START, cycle_stages(replace(S132, **{fact: None})))
    assert ready.at is None
    assert "S132-4 is not on record" in ready.unknown
    assert ready.late(START) is None


def test_aeration_is_on_no_record() -> None:
    assert earliest(START, after_cycle(Method.EO, POLICY)).at is None


def test_every_load_may_have_to_wait_for_its_indicator() -> None:
    waits = default_policy(date(2026, 1, 1), {"biological_before_release": "every load"})
    names = [one.name for one in after_cycle(Method.STEAM, waits)]
    assert names == ["cooling", "biological indicator", "way there"]


@pytest.mark.parametrize(
    ("policy", "implant", "minutes"),
    [("every load", False, 180), ("loads with implants", True, 180),
     ("loads with implants", False, 0), ("by the department's plan", True, 0)],
)  # fmt: skip
def test_which_loads_wait_for_their_indicator(policy: str, implant: bool, minutes: int) -> None:
    rules = default_policy(date(2026, 1, 1), {
        "biological_before_release": policy, "biological_wait_min": 180.0})  # fmt: skip
    stages = after_cycle(Method.STEAM, rules, implant)
    assert sum(one.minutes or 0 for one in stages if one.name == "biological indicator") == minutes


@pytest.mark.parametrize(
    ("policy", "words"),
    [("every load", ""), ("by the department's plan", ""), ("loads with implants", "180 min more")],
)
def test_what_an_implant_would_add_is_said_where_only_such_loads_wait(
    policy: str, words: str
) -> None:
    rules = default_policy(date(2026, 1, 1), {
        "biological_before_release": policy, "biological_wait_min": 180.0})  # fmt: skip
    assert words in implant_note(rules) and bool(implant_note(rules)) is bool(words)


@pytest.mark.parametrize(("seconds", "minute"), [(0, 3), (1, 4), (59, 4), (0.000001, 4)])
def test_a_clock_shows_the_next_whole_minute(seconds: float, minute: int) -> None:
    ready = Ready(START, datetime(2026, 1, 1, 22, 3) + timedelta(seconds=seconds))
    assert ready.shown == datetime(2026, 1, 1, 22, minute)


def test_what_is_free_at_that_minute_waits_for_nothing() -> None:
    ready = earliest(START, [Stage("cycle", 5, "", START, "busy")])
    assert [one.name for one in ready.parts] == ["cycle"]


def test_what_nobody_dries_has_no_drying() -> None:
    cold = Programme(code="VP", method=Method.H2O2, come_up_min=2, exposure_min=28)
    assert earliest(START, cycle_stages(cold)).at == START + timedelta(minutes=30)


def test_the_soonest_is_one_that_can_be_told() -> None:
    unknown, late = earliest(START, [Stage("", None, "?")]), earliest(START, [Stage("", 9)])
    assert soonest([unknown, late, earliest(START, [Stage("", 8)])]).parts[0].minutes == 8
    assert soonest([unknown]).unknown == "?"


@given(stages, st.data())
def test_one_stage_more_is_never_earlier(left: list[Stage], data: st.DataObject) -> None:
    at = data.draw(st.integers(0, len(left)))
    more = [*left[:at], data.draw(stages)[0], *left[at:]]
    before, after = earliest(START, left).at, earliest(START, more).at
    assert before is not None and after is not None and after >= before


@given(stages, st.data(), st.integers(1, 300))
def test_a_longer_stage_is_never_earlier(left: list[Stage], data: st.DataObject, by: int) -> None:
    at = data.draw(st.integers(0, len(left) - 1))
    longer = [*left]
    longer[at] = replace(left[at], minutes=(left[at].minutes or 0) + by)
    before, after = earliest(START, left).at, earliest(START, longer).at
    assert before is not None and after is not None and after >= before


@given(stages)
def test_the_parts_make_up_the_whole(left: list[Stage]) -> None:
    ready = earliest(START, left)
    assert ready.at == START + timedelta(minutes=sum(one.minutes for one in ready.parts))
