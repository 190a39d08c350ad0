"""Whose the demo's posters are, and who was watched at which work: a year of it, by the verbs."""

from __future__ import annotations

from datetime import date, timedelta

from django.utils import timezone

from assembly.judging.facts_from_catalog import policy_in_force
from assembly.skills import Skill
from catalog.actions import Actor
from reports.documents.posters import Control
from reports.gathering.posters import TITLES, set_controls
from reports.gathering.skills.recording import record_skills_check
from reports.gathering.skills.sheets import steps_of

OWNER = "Sterile Processing, Hollin Fell"
RUN_OUT, NOT_YET_OURS = "rack", "square-fold"
TRAINER = "Bea Hartsop"
WATCHED = (
    ("Tam Birkett", Skill.SELF_SEAL, 200, 5, ()),
    ("Tam Birkett", Skill.HEAT_SEAL, 200, 5, (9,)),
    ("Tam Birkett", Skill.WRAP, 380, 3, ()),
    ("Tam Birkett", Skill.SET, 90, 2, ()),
    ("Tam Birkett", Skill.LOADING, 345, 2, ()),
    ("Ola Brandt", Skill.SET, 30, 3, ()),
    ("Ola Brandt", Skill.WRAP, 30, 3, ()),
    ("Ola Brandt", Skill.CONTAINER, 3, 1, (4, 9)),
)
"""Who was watched at what, so many days ago, at how many; which steps, from 0, were not yet seen
(of the heat seal: did not apply, as no double pouch came)."""


def load_papers(actor: Actor) -> None:
    """Posters with owner, number and last day, but one; one has run out. Checks of two people."""
    today = timezone.localdate()
    typed = {
        key: Control(OWNER, f"HF-SP-W-{number:02d}", today + timedelta(days=_left(key)))
        for number, key in enumerate(TITLES, start=1)
        if key != NOT_YET_OURS
    }
    set_controls(actor, typed, dict.fromkeys(typed, Control()))
    for name, skill, days, count, odd in WATCHED:
        _watched(actor, name, skill, today - timedelta(days=days), count, odd)


def _left(key: str) -> int:
    return -12 if key == RUN_OUT else 330


def _watched(
    actor: Actor, name: str, skill: Skill, day: date, count: int, odd: tuple[int, ...]
) -> None:
    other = "n/a" if skill == Skill.HEAT_SEAL else "not yet"
    steps = {
        step.words: other if number in odd else "seen"
        for number, step in enumerate(steps_of(skill, policy_in_force()))
    }
    result = "again" if "not yet" in steps.values() else "passed"
    record_skills_check(
        actor, skill=skill, trainee=name, trainer=TRAINER, observed_on=day, watched=count,
        steps=steps, result=result,
        remarks="Filter holder and lock were new: shown again." if result == "again" else "",
    )  # fmt: skip
