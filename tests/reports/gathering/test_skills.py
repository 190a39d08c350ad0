"""Skills checks: what is put on record, what is refused, who is due."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.contrib.auth.models import User
from django.utils import timezone

from assembly.skills import Skill, late, standings
from catalog.actions import Actor
from catalog.chain.guards import let_through
from catalog.models import Change
from reports.gathering.skills.recording import (
    SkillsError,
    due_words,
    latest,
    record_skills_check,
)
from reports.models import SkillsCheck

pytestmark = pytest.mark.django_db
DAY = date(2026, 3, 6)


def check(**changes):
    usual = {"skill": Skill.WRAP, "trainee": "Ada Brook", "trainer": "Bea Hartsop",
             "observed_on": DAY, "steps": {"Is it dry?": "seen"}, "watched": 3,
             "result": "passed"}  # fmt: skip
    return record_skills_check(Actor("Bea Hartsop"), **{**usual, **changes})


def again(**changes):
    return check(**{"steps": {"a": "seen", "b": "not yet"}, "result": "again", **changes})


def test_the_next_is_due_after_the_policys_months():
    assert check().next_due == date(2027, 3, 6)


def test_a_step_not_seen_makes_it_due_at_once():
    assert again().next_due == DAY


def test_a_day_given_is_kept():
    assert check(next_due=date(2026, 6, 6)).next_due == date(2026, 6, 6)


def test_the_steps_are_kept_in_words():
    assert again().not_yet == ["b"]


def test_a_check_is_in_the_history():
    check()
    assert Change.objects.get().after["trainer"] == "Bea Hartsop"


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"trainee": " "}, "names"),
        ({"trainer": "ada  brook"}, "same person"),
        ({"steps": {}}, "no steps"),
        ({"steps": {"a": "seen", "b": ""}}, "Step 2 has no answer"),
        ({"steps": {"a": "seen", "b": "not yet"}}, "Step 2 was not yet seen"),
        ({"steps": {"a": "n/a"}}, "No step was seen"),
        ({"result": ""}, "Say the result"),
        ({"watched": 0}, "write how many"),
        ({"next_due": date(2026, 3, 5)}, "before this one"),
        ({"observed_on": date(2999, 1, 1)}, "has not come"),
    ],
)
def test_what_cannot_be_recorded_says_why(changes, words):
    with pytest.raises(SkillsError, match=words):
        check(**changes)


def test_nothing_is_kept_of_what_was_refused():
    with pytest.raises(SkillsError):
        check(trainee="")
    assert not SkillsCheck.objects.exists()


def test_only_the_last_check_of_a_person_counts():
    again()
    check(observed_on=DAY + timedelta(days=1), trainee="ADA BROOK")
    assert [one.observed_on for one in latest()] == [DAY + timedelta(days=1)]


def test_a_check_on_record_is_not_altered():
    made = check()
    with pytest.raises(TypeError):
        made.save()


def test_a_check_on_record_is_not_deleted():
    with pytest.raises(TypeError):
        check().delete()


@pytest.mark.parametrize(
    ("days", "words"),
    [(31, "in date"), (30, "due in 30 days"), (0, "due today"),
     (1, "due tomorrow"), (-1, "since yesterday"),
     (-2, "overdue by 2 days")],
)  # fmt: skip
def test_whether_the_next_is_due_is_said_in_words(days, words):
    made = check(next_due=DAY + timedelta(days=60))
    assert words in due_words(made, made.next_due - timedelta(days=days))


def test_a_step_not_seen_is_said():
    assert "1 step not yet seen" in due_words(again(), timezone.localdate())


# --- where work is given ----------------------------------------------------------------------


def said(name="Ada Brook", skill=Skill.WRAP):
    [one] = standings(name, [skill])
    return one.words, one.in_date


def test_who_was_never_watched_is_unknown():
    check(trainee="Cal Dunn")
    assert said() == ("no check on record", None)


def test_a_check_of_other_work_says_nothing_of_this():
    check(observed_on=timezone.localdate())
    assert said(skill=Skill.CONTAINER) == ("no check on record", None)


@pytest.mark.parametrize(("days", "in_date"), [(0, True), (-1, False)])
def test_a_check_is_in_date_on_its_last_day_and_not_after_it(days, in_date):
    due = timezone.localdate() + timedelta(days=days)
    check(observed_on=due - timedelta(days=90), next_due=due)
    assert said("ada brook")[1] is in_date


def test_who_is_to_be_watched_again_is_not_in_date_whatever_the_day():
    again(observed_on=timezone.localdate(), next_due=timezone.localdate() + timedelta(days=90))
    assert said() == ("again: 1 step not yet seen", False)


def test_who_is_late_waits_for_the_coordinators_until_their_account_is_closed():
    check(trainee="Cal Dunn", observed_on=timezone.localdate())
    again(observed_on=timezone.localdate())
    assert late() == ["Ada Brook, wrap: again: 1 step not yet seen"]
    User.objects.create(username="a", first_name="Ada", last_name="Brook", is_active=False)
    assert late() == []


def test_a_check_of_before_kinds_of_work_were_told_apart_counts_for_none():
    check(observed_on=timezone.localdate())
    with let_through():
        SkillsCheck.objects.update(kind="")
    assert said() == ("no check on record", None)
