"""Where work is given, a person's skills check for it is said: in date, overdue, or unknown."""

from __future__ import annotations

from datetime import timedelta
from html import unescape

import pytest
from django.contrib.auth.models import User
from django.utils import timezone

from assembly.bench import builds
from assembly.models import Build
from assembly.persons import person_of
from assembly.skills import Skill
from catalog.actions import Actor
from reports.gathering.skills.recording import record_skills_check
from tests.factories import bench as at
from tests.factories import catalog as make
from tests.factories.loads import a_load

pytestmark = pytest.mark.django_db


def text_of(page) -> str:
    return " ".join(unescape(page.content.decode()).replace("<strong>", "").split())


def watched(name: str, skill: Skill, days_left: int = 90, said: str = "seen") -> None:
    today = timezone.localdate()
    record_skills_check(
        Actor("Bea Hartsop"), skill=skill, trainee=name, trainer="Cal Dunn", watched=3,
        observed_on=today - timedelta(days=200), steps={"one": "seen", "two": said},
        result="passed" if said == "seen" else "again",
        next_due=today + timedelta(days=days_left),
    )  # fmt: skip


@pytest.fixture
def me(technician) -> User:
    user = User.objects.get(pk=technician.session["_auth_user_id"])
    user.first_name, user.last_name = "Tam", "Birkett"
    user.save()
    return user


def test_where_a_set_is_begun_both_its_kinds_of_work_are_said(technician, me):
    at.a_set("TS-1")
    watched("Tam Birkett", Skill.SET, -3)
    text = text_of(technician.get("/sets/TS-1/"))
    assert "set overdue by 3 days" in text and "container no check on record" in text


def test_whoever_is_overdue_may_still_begin(technician, me):
    at.a_set("TS-1")
    watched("Tam Birkett", Skill.SET, -3)
    technician.post("/sets/TS-1/build/", {"key": at.key()})
    assert Build.objects.get().holder_name == "Tam Birkett"


def test_at_a_hand_over_it_is_the_check_of_who_asks(technician, me):
    build = at.a_build(at.a_set("TS-1"), by=person_of(me))
    builds.ask_for(at.person("Ola Brandt"), build.pk, at.key())
    watched("Ola Brandt", Skill.SET)
    watched("Tam Birkett", Skill.SET, -3)
    text = text_of(technician.get(f"/builds/{build.pk}/"))
    assert "Ola Brandt's skills checks: set in date until" in text
    assert "overdue" not in text


def test_whoever_may_take_a_set_over_reads_their_own(technician, me):
    build = at.a_build(at.a_set("TS-1"), by=at.person("Ola Brandt"))
    watched("Tam Birkett", Skill.SET, said="not yet")
    text = text_of(technician.get(f"/builds/{build.pk}/"))
    assert "Your skills checks: set again: 1 step not yet seen" in text


@pytest.mark.parametrize(
    ("closure", "skill"), [("self-seal", Skill.SELF_SEAL), ("heat-seal", Skill.HEAT_SEAL)]
)
def test_a_single_package_says_the_check_of_its_own_closure(technician, me, closure, skill):
    make.Instrument(item_number="T-1")
    make.Pouch(closure=closure)
    watched("Tam Birkett", skill)
    assert f"Your skills check: {skill} in date" in text_of(technician.get("/instruments/T-1/"))


def test_a_load_says_the_check_of_who_starts_it(technician, me):
    load = a_load()
    text = text_of(technician.get(f"/loads/{load.pk}/"))
    assert "Your skills check: loading no check on record" in text


def test_the_bench_says_in_one_line_what_is_not_in_date(technician, me):
    assert "skills checks</a>: none on record." in text_of(technician.get("/"))
    for skill in Skill:
        watched("Tam Birkett", skill, -3 if skill == Skill.WRAP else 90)
    assert "skills checks</a>: wrap overdue by 3 days." in text_of(technician.get("/"))


def test_the_bench_says_nothing_where_all_are_in_date(technician, me):
    for skill in Skill:
        watched("Tam Birkett", skill)
    assert "skills checks" not in text_of(technician.get("/"))
