"""The form of a skills check: what is put on record, and what stays on the page on an error."""

from __future__ import annotations

from datetime import date

import pytest
from django.utils import timezone

from assembly.rules.policy.values import default_policy
from assembly.skills import Skill
from reports.gathering.skills.sheets import steps_of
from reports.models import SkillsCheck

pytestmark = pytest.mark.django_db
COUNT = len(steps_of(Skill.WRAP, default_policy(date(2026, 3, 6))))
PATH = "/papers/skills/wrap/record/"


def form(**changes: str) -> dict[str, str]:
    steps = {f"step-{n}": "seen" for n in range(COUNT)}
    return {"trainee": "Ada", "trainer": "Bea", "observed_on": "2026-03-06", "watched": "3",
            "result": "passed", "remarks": "left-handed", **steps, **changes}  # fmt: skip


def test_a_check_is_put_on_record_as_it_was_said(coordinator):
    coordinator.post(PATH, form(**{"step-1": "n/a"}))
    made = SkillsCheck.objects.get()
    assert (made.kind, made.result, made.watched, made.note) == ("wrap", "passed", 3, "left-handed")
    assert [one["said"] for one in made.steps][:3] == ["seen", "n/a", "seen"]


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"trainer": "Ada"}, "same person"),
        ({"step-2": ""}, "Step 3 has no answer"),
        ({"step-2": "not yet"}, "Step 3 was not yet seen"),
        ({"observed_on": ""}, "Write the day"),
        ({"observed_on": "6 March"}, "is no date"),
        ({"watched": "some"}, "is no number watched"),
        ({"remarks": "x" * 301}, "301 signs"),
    ],
)
def test_what_is_refused_says_why_and_keeps_what_was_typed(coordinator, changes, words):
    page = coordinator.post(PATH, form(**changes))
    text = page.content.decode()
    assert (page.status_code, SkillsCheck.objects.count()) == (422, 0)
    assert words in text and 'name="step-0" type="radio" value="seen" checked' in text


def test_a_kind_of_work_that_is_none_has_no_page(coordinator):
    assert coordinator.get("/papers/skills/knitting/").status_code == 404


def test_the_list_says_who_is_due_with_result_and_remarks(coordinator):
    coordinator.post(PATH, form(observed_on=str(timezone.localdate())))
    text = coordinator.get("/papers/skills/").content.decode()
    assert all(words in text for words in ("Ada", "passed", "left-handed", "in date"))
