"""What has to be looked at before a load is released, and what holds it back."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assembly.rules.findings import Status
from assembly.rules.policy.values import Policy, default_policy
from assembly.rules.telling.release import (
    BIOLOGICAL,
    GROWTH,
    IMPLANT,
    NO_GROWTH,
    NO_INDICATOR,
    NOT_READ,
    may_be_released,
    release_checks,
    release_findings,
)
from catalog.vocabulary import Method

DAY = date(2026, 11, 25)
SAID = ("", NO_GROWTH, GROWTH, NOT_READ, NO_INDICATOR)


def policy(asked: str = "loads with implants") -> Policy:
    return default_policy(DAY, {"biological_before_release": asked})


def yes(method: Method = Method.STEAM, **answers: str) -> dict[str, str]:
    return {check.key: "yes" for check in release_checks(method)} | {IMPLANT: "no"} | answers


def biological(said: str, asked: str, **answers: str) -> Status:
    findings = release_findings(Method.STEAM, yes(**answers), said, policy(asked))
    return findings[-1].status


@pytest.mark.parametrize("method", list(Method))
def test_all_yes_and_no_growth_is_released(method: Method) -> None:
    assert may_be_released(release_findings(method, yes(method), NO_GROWTH, policy("every load")))


@pytest.mark.parametrize("key", [check.key for check in release_checks(Method.STEAM)])
def test_one_no_holds_it_back(key: str) -> None:
    findings = release_findings(Method.STEAM, yes(**{key: "no"}), NO_GROWTH, policy())
    assert [one.rule for one in findings if one.status is Status.NOT_MET] == [key]


@pytest.mark.parametrize("key", [check.key for check in release_checks(Method.EO)])
def test_one_unanswered_cannot_be_told(key: str) -> None:
    answers = yes(Method.EO)
    del answers[key]
    findings = release_findings(Method.EO, answers, NO_GROWTH, policy())
    assert [one.missing for one in findings if one.status is Status.CANNOT_TELL] == [(key,)]


def test_only_gas_is_aired() -> None:
    aired = [m for m in Method if "aired" in [check.key for check in release_checks(m)]]
    assert aired == [Method.EO, Method.LTSF]


@pytest.mark.parametrize(
    ("said", "implant", "status"),
    [
        # CDC guidance on implants, from memory: a biological indicator in every
        # load with an implant, verified before the implant is used.
        (NO_INDICATOR, "yes", Status.NOT_MET),
        (NOT_READ, "yes", Status.CANNOT_TELL),
        (NO_GROWTH, "yes", Status.MET),
        (NO_INDICATOR, "no", Status.DOES_NOT_APPLY),
        (NOT_READ, "no", Status.DOES_NOT_APPLY),
    ],
)
def test_an_implant_waits_for_its_indicator(said: str, implant: str, status: Status) -> None:
    assert biological(said, "loads with implants", implant=implant) is status


def test_whether_an_implant_is_inside_has_to_be_said() -> None:
    assert biological(NO_INDICATOR, "loads with implants", implant="") is Status.CANNOT_TELL


@pytest.mark.parametrize(
    ("said", "status"),
    [(NO_INDICATOR, Status.NOT_MET), (NOT_READ, Status.CANNOT_TELL), (NO_GROWTH, Status.MET)],
)
def test_where_every_load_waits_implants_do_not_matter(said: str, status: Status) -> None:
    assert biological(said, "every load", implant="no") is status


def test_by_the_plan_a_load_without_indicator_goes() -> None:
    status = biological(NO_INDICATOR, "by the department's plan", implant="yes")
    assert status is Status.DOES_NOT_APPLY


def test_nobody_saying_is_not_none() -> None:
    assert biological("", "by the department's plan") is Status.CANNOT_TELL


@given(
    answers=st.dictionaries(
        st.sampled_from([*(check.key for check in release_checks(Method.EO)), IMPLANT]),
        st.sampled_from(["yes", "no", "", "perhaps"]),
    ),
    said=st.sampled_from(SAID),
    asked=st.sampled_from(["every load", "loads with implants", "by the department's plan"]),
)
def test_nothing_is_released_that_grew_or_has_a_check_open(
    answers: dict[str, str], said: str, asked: str
) -> None:
    findings = release_findings(Method.EO, answers, said, policy(asked))
    looked_at = all(answers.get(check.key) == "yes" for check in release_checks(Method.EO))
    assert not may_be_released(findings) or (looked_at and said not in (GROWTH, ""))


def test_growth_names_its_rule() -> None:
    findings = release_findings(Method.STEAM, yes(), GROWTH, policy())
    assert [one.rule for one in findings if one.status is Status.NOT_MET] == [BIOLOGICAL]
