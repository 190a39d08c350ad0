"""A question to the coordinators about one thing, and the answer that comes back."""

from __future__ import annotations

from typing import Any

from django.contrib.auth.models import User
from django.db.models import Q
from django.utils import timezone

from assembly.judging.decisions import Answer, SetAnswer
from assembly.judging.taking import Plan, accepted, open_findings, settled
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

    It lifts no finding: :func:`allow` does, or what the rules do not pass is accepted where it
    is packed.
    """
    question, before = begin(Question, pk, key, [Question.State.ASKED])
    if before:
        return question
    words = words.strip()
    if not words:
        raise Refused(f"Write the answer: {question.asked_by} waits for it.")
    return _answered(person, question, key, words)


@verb(OVERRIDE)
def allow(
    person: Person, pk: int, key: str, decided: Answer | SetAnswer, plan: Plan, words: str = ""
) -> Question:
    """The answer with which one package may be packed against the rules: what to take, in which
    cycle, each open finding accepted with its reason. It is used up by that package.

    NotClosed where a finding is not accepted, or where nobody may take it (:func:`settled`);
    Refused where the rules pass it as it is.
    """
    question, before = begin(Question, pk, key, [Question.State.ASKED])
    if before:
        return question
    option = settled(decided, plan)
    if not option.needs_override or plan.override is None:
        raise Refused(f"The rules pass {option.name} as it is: there is nothing to sign. Write "
                      "an answer.")  # fmt: skip
    accepted(option, plan.override)
    reasons = plan.override.reasons
    allowed = {
        "take": option.key,
        "programme": plan.programme,
        "findings": [
            {"key": one.key, "sentence": one.sentence(), "because": reasons[one.key]}
            for one in open_findings(option)
        ],
    }
    how = f"{option.name}, {option.method}"
    return _answered(person, question, key, (words.strip() or f"Pack it in {how}.")[:300],
                     allowed=allowed, answerer_id=person.pk)  # fmt: skip


def _answered(person: Person, question: Question, key: str, words: str, **more: object) -> Question:
    changes = {"state": Question.State.ANSWERED, "answer": words, "answered_by": person.name,
               "answered_at": timezone.now(), **more}  # fmt: skip
    write(question, person, key, changes, reason=words)
    return question


def allowed_for(thing: Thing) -> Question | None:
    """The last answer that signs an override for a thing and was not used yet. What is signed
    for a set serves the set that is assembled."""
    which = Q(**{_column(thing): thing})
    if isinstance(thing, Build):
        which |= Q(instrument_set=thing.instrument_set_id)
    found = Question.objects.filter(which, state=Question.State.ANSWERED, answerer__isnull=False)
    return found.select_related("answerer").order_by("answered_at").last()


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
