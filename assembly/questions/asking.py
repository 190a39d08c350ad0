"""A question to the coordinators about one thing, and the answer that comes back."""

from __future__ import annotations

from typing import Any

from django.contrib.auth.models import User
from django.db.models import Q
from django.utils import timezone

from assembly.ledger import Refused, begin, begin_new, note, verb, write
from assembly.models import Build, Question
from assembly.persons import ASSEMBLE, OVERRIDE, Person
from catalog.models import Instrument, InstrumentSet

Thing = Instrument | InstrumentSet | Build
OPEN = (Question.State.ASKED, Question.State.ANSWERED)
LONGEST_FINDING = 400


def _column(about: Thing) -> str:
    if isinstance(about, Build):
        return "build"
    return "instrument" if isinstance(about, Instrument) else "instrument_set"


def about(thing: Thing) -> list[Question]:
    """The questions about a thing that are not closed, the oldest first."""
    return list(Question.objects.filter(**{_column(thing): thing}, state__in=OPEN))


def asked() -> list[Question]:
    """Every question that waits for an answer, the oldest first."""
    return _with_things(Q(state=Question.State.ASKED))


def answers_for(person: Person) -> list[Question]:
    """The answers that this person has not put away, the oldest first."""
    return _with_things(Q(state=Question.State.ANSWERED, asker_id=person.pk))


def _with_things(which: Q) -> list[Question]:
    things = ("instrument", "instrument_set", "build")
    return list(Question.objects.filter(which).select_related(*things))


@verb(ASSEMBLE)
def ask(person: Person, thing: Thing, key: str, finding: str = "", words: str = "") -> Question:
    """A question, in the coordinators' queue at once.

    Refused where the same is asked already and nobody has answered.
    """
    if before := begin_new(Question, key, under=User(pk=person.pk)):
        return before
    finding, words = finding.strip()[:LONGEST_FINDING], words.strip()
    for one in about(thing):
        if one.state == Question.State.ASKED and (one.finding, one.words) == (finding, words):
            raise Refused(f"{one.asked_by} asked this already. The answer shows here.")
    values: dict[str, Any] = {_column(thing): thing}
    question = Question.objects.create(
        key=key, finding=finding, words=words, asker_id=person.pk, asked_by=person.name,
        asked_at=timezone.now(), **values,
    )  # fmt: skip
    write(question, person, key)
    note(person, question, None, {"asked": words or finding or "what to do"})
    return question


@verb(OVERRIDE)
def answer(person: Person, pk: int, key: str, words: str) -> Question:
    """The answer, on the page it was asked from and on the Bench of who asked.

    It lifts no finding: what the rules do not pass is accepted where it is packed.
    """
    question, before = begin(Question, pk, key, [Question.State.ASKED])
    if before:
        return question
    words = words.strip()
    if not words:
        raise Refused(f"Write the answer: {question.asked_by} waits for it.")
    changes = {"state": Question.State.ANSWERED, "answer": words, "answered_by": person.name,
               "answered_at": timezone.now()}  # fmt: skip
    write(question, person, key, changes, reason=words)
    return question


@verb(ASSEMBLE)
def close(person: Person, pk: int, key: str) -> Question:
    """Who asked has read the answer, or needs none any more."""
    question, before = begin(Question, pk, key, OPEN)
    if before:
        return question
    if question.asker_id != person.pk:
        raise Refused(f"{question.asked_by} asked it, and puts it away.")
    write(question, person, key, {"state": Question.State.CLOSED})
    return question
