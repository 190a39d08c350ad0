"""A liner and longer drying are proposed only where an IFU on record has them."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from assembly.rules.computing.condensate import Mass, wetting
from assembly.rules.computing.drying import Holder, Longer, advice, longer_drying
from assembly.rules.policy.values import default_policy
from catalog.vocabulary import AirRemoval
from tests.rules.deciding.test_sets import BOX, RUN, S134, asked, forceps
from tests.rules.given import steam_run

POLICY = default_policy(date(2026, 11, 25))
LONG = steam_run("S134-L", exposure_min=4, drying_min=40)
BOTH = replace(BOX, programmes=("S134", "S134-L"))
QUESTION = asked(supplies=(BOTH,), programmes=(RUN, LONG))
FOUND = wetting([Mass("mallet", 900)], None, 25, 134)


def longer(question: object = QUESTION) -> Longer:
    return longer_drying(question, "BOX", RUN, POLICY)  # type: ignore[arg-type]


def test_a_cycle_that_dries_longer_and_serves_everything_is_proposed() -> None:
    assert longer().programmes == (LONG,)


@pytest.mark.parametrize(
    "question",
    [
        pytest.param(replace(QUESTION, supplies=(BOX,)), id="the container is not validated"),
        pytest.param(replace(QUESTION, programmes=(RUN,)), id="the department runs none"),
        pytest.param(
            asked(forceps(cycles=(replace(S134, exposure_max=3.5),)), supplies=(BOTH,),
                  programmes=(RUN, LONG)), id="an IFU bears no longer exposure",
        ),
        pytest.param(
            replace(QUESTION, programmes=(RUN, replace(LONG, temperature_c=121))), id="not as hot"
        ),
        pytest.param(
            replace(QUESTION, programmes=(RUN, replace(LONG, air_removal=AirRemoval.GRAVITY))),
            id="air removed another way",
        ),
    ],
)  # fmt: skip
def test_what_an_ifu_does_not_take_is_not_proposed(question: object) -> None:
    assert longer(question).programmes == ()


def test_an_ifu_that_says_nothing_of_drying_is_named_and_none_proposed() -> None:
    silent = forceps(name="needle holder", cycles=(replace(S134, drying_min=None),))
    found = longer(asked(forceps(), silent, supplies=(BOTH,), programmes=(RUN, LONG)))
    assert (found.programmes, found.silent) == ((), ("needle holder",))


@pytest.mark.parametrize(
    ("liner", "words"),
    [(True, "may lie in RC."), (False, "No liner in RC"), (None, "not on record: read its IFU")],
)
def test_a_liner_is_what_the_ifu_says(liner: bool | None, words: str) -> None:
    [said] = [one.words for one in advice(FOUND, [Holder("RC", liner)], "") if "RC" in one.words]
    assert words in said


def test_why_no_drying_can_be_asked_about_is_said() -> None:
    *_, last = advice(FOUND, [], "It goes by ethylene oxide")
    assert last.words == "It goes by ethylene oxide: no longer drying is proposed."


def test_all_advice_has_its_source() -> None:
    for one in advice(FOUND, [Holder("RC", True, "EB-11")], longer()):
        assert one.source


def test_the_heaviest_piece_is_common_practice_without_a_source() -> None:
    first, *_ = advice(FOUND, [], "")
    assert "mallet, 900 g" in first.words
    assert first.source == "common practice, no source"
