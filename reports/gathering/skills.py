"""Recording a skills check, and who is due for the next."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date

from django.db import transaction
from django.utils import timezone

from assembly.judging.facts_from_catalog import policy_in_force
from assembly.rules.telling.labelling import after_months
from catalog.actions import Actor, record
from catalog.models import Change
from reports.documents.lists import ListColumn, ListKind, Row, register
from reports.models import SkillsCheck

SOON_DAYS = 30


class SkillsError(ValueError):
    """A skills check that cannot be recorded. The message is meant for the user."""


@transaction.atomic
def record_skills_check(
    actor: Actor,
    *,
    skill: str,
    trainee: str,
    trainer: str,
    observed_on: date,
    steps: Mapping[str, bool],
    next_due: date | None = None,
    note: str = "",
) -> SkillsCheck:
    """Put a check on record; ``steps`` says of each step whether it was seen.

    The next one is due after the policy's ``skills_check_months``, or the same day where a
    step was not seen, unless a day is given. SkillsError says what is wrong.
    """
    trainee, trainer = " ".join(trainee.split()), " ".join(trainer.split())
    if not trainee or not trainer:
        raise SkillsError("Write the names of trainee and trainer.")
    if trainee.casefold() == trainer.casefold():
        raise SkillsError("Trainee and trainer are the same person. Somebody else has to watch.")
    if observed_on > timezone.localdate():
        raise SkillsError(f"{observed_on} has not come yet. Write the day it was observed.")
    if not steps:
        raise SkillsError("There are no steps to record.")
    months = int(policy_in_force().number("skills_check_months"))
    usual = after_months(observed_on, months) if all(steps.values()) else observed_on
    due = next_due or usual
    if due < observed_on:
        raise SkillsError(f"The next check ({due}) cannot be due before this one.")
    check = SkillsCheck(
        skill=skill,
        trainee=trainee,
        trainer=trainer,
        observed_on=observed_on,
        next_due=due,
        steps=[{"step": step, "seen": bool(seen)} for step, seen in steps.items()],
        note=note.strip(),
        recorded_by=actor.name,
        recorded_at=timezone.now(),
    )
    check.save()
    after = {"trainer": trainer, "next_due": due.isoformat(), "not_yet": check.not_yet}
    record(actor, Change.Verb.ADDED, check, str(check)[:80], None, after)
    return check


def latest() -> list[SkillsCheck]:
    """The last check of each person in each skill, the one due first in front."""
    newest: dict[tuple[str, str], SkillsCheck] = {}
    for check in SkillsCheck.objects.order_by("observed_on", "pk"):
        newest[check.trainee.casefold(), check.skill] = check
    return sorted(newest.values(), key=lambda check: (check.next_due, check.trainee))


def due_words(check: SkillsCheck, today: date) -> str:
    """Whether the next check is due, in words."""
    if check.not_yet:
        steps = "1 step" if len(check.not_yet) == 1 else f"{len(check.not_yet)} steps"
        return f"again: {steps} not yet seen"
    days = (check.next_due - today).days
    if days < 0:
        return f"overdue by {-days} days" if days < -1 else "overdue since yesterday"
    if days <= 1:
        return "due tomorrow" if days else "due today"
    return f"due in {days} days" if days <= SOON_DAYS else "in date"


def _rows() -> Iterator[Row]:
    today = timezone.localdate()
    for check in latest():
        yield (check.trainee, check.skill, check.observed_on.isoformat(), check.trainer,
               check.next_due.isoformat(), due_words(check, today))  # fmt: skip


SKILLS_DUE = register(ListKind(
    "skills", "Skills checks: who is due",
    (ListColumn("Trainee", 1.2), ListColumn("Skill", 1.4), ListColumn("Observed", 0.8),
     ListColumn("Trainer", 1.2), ListColumn("Next due", 0.8), ListColumn("State", 1.3)),
    _rows, "The last check of each person; the one due first stands first.",
    permission="reports.view_skillscheck", nothing="No skills check is on record yet.",
))  # fmt: skip
