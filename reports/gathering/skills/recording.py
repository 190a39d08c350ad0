"""Recording a skills check, who is due for the next, and how a person stands."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from datetime import date

from django.contrib.auth import get_user_model
from django.db import transaction
from django.utils import timezone

from assembly.judging.facts_from_catalog import policy_in_force
from assembly.persons import name_of
from assembly.rules.days import day_words
from assembly.rules.telling.labelling import after_months
from assembly.skills import RECORDS, Record, Skill, Standing
from catalog.actions import Actor, record
from catalog.models import Change
from reports.documents.lists import ListColumn, ListKind, Row
from reports.models import SkillsCheck

SOON_DAYS = 30
Said, Result = SkillsCheck.Said, SkillsCheck.Result
MOST_WATCHED = 1000


class SkillsError(ValueError):
    """A skills check that cannot be recorded. The message is meant for the user."""


@transaction.atomic
def record_skills_check(
    actor: Actor,
    *,
    skill: Skill,
    trainee: str,
    trainer: str,
    observed_on: date,
    watched: int,
    steps: Mapping[str, str],
    result: str,
    next_due: date | None = None,
    remarks: str = "",
) -> SkillsCheck:
    """Put a check on record; ``steps`` says of each step "seen", "not yet" or "n/a".

    ``watched`` is how many packages, sets or loads were watched. The next check is due after the
    policy's ``skills_check_months`` where it was passed, else the same day, unless a day is
    given. SkillsError says what is wrong.
    """
    trainee, trainer = " ".join(trainee.split()), " ".join(trainer.split())
    _check_persons(trainee, trainer)
    if observed_on > timezone.localdate():
        raise SkillsError(f"{observed_on} has not come yet. Write the day it was observed.")
    if not 1 <= watched <= MOST_WATCHED:
        raise SkillsError(f"{watched} were watched: write how many, from 1 to {MOST_WATCHED}.")
    _check_steps(steps, result)
    months = int(policy_in_force().number("skills_check_months"))
    passed = result == Result.PASSED
    due = next_due or (after_months(observed_on, months) if passed else observed_on)
    if due < observed_on:
        raise SkillsError(f"The next check ({due}) cannot be due before this one.")
    check = SkillsCheck(
        kind=skill,
        skill=title_of(skill),
        trainee=trainee,
        trainer=trainer,
        observed_on=observed_on,
        watched=watched,
        next_due=due,
        steps=[{"step": step, "said": said} for step, said in steps.items()],
        result=result,
        note=remarks.strip(),
        recorded_by=actor.name,
        recorded_at=timezone.now(),
    )
    check.save()
    after = {"trainer": trainer, "result": result, "next_due": due.isoformat(),
             "not_yet": check.not_yet}  # fmt: skip
    record(actor, Change.Verb.ADDED, check, str(check)[:80], None, after)
    return check


def _check_persons(trainee: str, trainer: str) -> None:
    if not trainee or not trainer:
        raise SkillsError("Write the names of trainee and trainer.")
    if trainee.casefold() == trainer.casefold():
        raise SkillsError("Trainee and trainer are the same person. Somebody else has to watch.")


def _check_steps(steps: Mapping[str, str], result: str) -> None:
    """Every step answered, and a result that they bear out."""
    if not steps:
        raise SkillsError("There are no steps to record.")
    for number, said in enumerate(steps.values(), start=1):
        if said not in Said:
            raise SkillsError(f"Step {number} has no answer. Say seen, not yet, or n/a.")
    if result not in Result:
        raise SkillsError("Say the result: passed, or again.")
    if result == Result.PASSED:
        not_yet = [n for n, said in enumerate(steps.values(), 1) if said == Said.NOT_YET]
        if not_yet:
            raise SkillsError(f"Step {not_yet[0]} was not yet seen, so it is not passed. "
                              "The result is “again”.")  # fmt: skip
        if Said.SEEN not in steps.values():
            raise SkillsError("No step was seen, so it is not passed. The result is “again”.")


def title_of(skill: Skill) -> str:
    """What the sheet and the record of a kind of work are called."""
    return f"Skills check: {skill}"


# --- how persons stand ----------------------------------------------------------------------


def _same(name: str) -> str:
    return " ".join(name.split()).casefold()


def latest(checks: Iterable[SkillsCheck] | None = None) -> list[SkillsCheck]:
    """The last check of each person in each skill, the one due first in front."""
    newest: dict[tuple[str, str], SkillsCheck] = {}
    every = SkillsCheck.objects.order_by("observed_on", "pk") if checks is None else checks
    for check in every:
        newest[_same(check.trainee), check.skill] = check
    return sorted(newest.values(), key=lambda check: (check.next_due, check.trainee))


def standings_of(name: str) -> list[Standing]:
    """How a person stands in each kind of work of which a check is on record. One query."""
    today = timezone.localdate()
    found = SkillsCheck.objects.filter(trainee__iexact=" ".join(name.split()))
    checks = latest(found.exclude(kind="").order_by("observed_on", "pk"))
    return [_standing(check, today) for check in checks]


def late() -> list[str]:
    """Who is to be watched now, the longest due first; not who has no account in use any more.
    Two queries."""
    today = timezone.localdate()
    gone = {_same(name_of(user)) for user in get_user_model().objects.filter(is_active=False)}
    checks = latest(SkillsCheck.objects.exclude(kind="").order_by("observed_on", "pk"))
    return [
        f"{check.trainee}, {check.kind}: {one.words}"
        for check in checks
        if not (one := _standing(check, today)).in_date and _same(check.trainee) not in gone
    ]


def _standing(check: SkillsCheck, today: date) -> Standing:
    in_date = check.result == Result.PASSED and check.next_due >= today
    words = f"in date until {day_words(check.next_due)}" if in_date else due_words(check, today)
    return Standing(Skill(check.kind), words, in_date)


def due_words(check: SkillsCheck, today: date) -> str:
    """Whether the next check is due, in words."""
    if check.result != Result.PASSED:
        steps = "1 step" if len(check.not_yet) == 1 else f"{len(check.not_yet)} steps"
        return f"again: {steps} not yet seen" if check.not_yet else "again"
    days = (check.next_due - today).days
    if days < 0:
        return f"overdue by {-days} days" if days < -1 else "overdue since yesterday"
    if days <= 1:
        return "due tomorrow" if days else "due today"
    return f"due in {days} days" if days <= SOON_DAYS else "in date"


def names() -> list[str]:
    """Everybody who can be named: accounts in use and who was checked before. Two queries."""
    users = get_user_model().objects.filter(is_active=True)
    trainees = SkillsCheck.objects.values_list("trainee", flat=True).distinct()
    return sorted({*(name_of(user) for user in users), *trainees})


def _rows() -> Iterator[Row]:
    today = timezone.localdate()
    for check in latest():
        watched = "–" if check.watched is None else str(check.watched)
        yield (check.trainee, check.kind or check.skill, check.observed_on.isoformat(), watched,
               check.trainer, check.get_result_display(), check.next_due.isoformat(),
               due_words(check, today), check.note)  # fmt: skip


SKILLS_DUE = ListKind(
    "skills", "Skills checks: who is due",
    (ListColumn("Trainee", 1.1), ListColumn("Work", 1.0), ListColumn("Observed", 0.8, whole=True),
     ListColumn("Watched", 0.6, "right"), ListColumn("Trainer", 1.1), ListColumn("Result", 0.6),
     ListColumn("Next due", 0.8, whole=True), ListColumn("State", 1.1), ListColumn("Remarks", 1.2)),
    _rows, "The last check of each person; the one due first stands first.",
    permission="reports.view_skillscheck", nothing="No skills check is on record yet.",
)  # fmt: skip
LISTS = [SKILLS_DUE]

RECORDS.append(Record(standings_of, late))
