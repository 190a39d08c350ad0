"""What the pages of the bench send: a count, each check's answer, what to take, who signs."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, QueryDict

from assembly.judging.taking import MOST_ALIKE, Override, Plan
from assembly.ledger import Refused
from assembly.models import Question
from assembly.persons import OVERRIDE, Person, person_of, person_signing, second_person
from assembly.presses import Press, Scan
from assembly.questions.asking import Thing, allowed_for
from catalog.forms.fields import WholeField, WordsField
from catalog.scans.scales import read_scale
from catalog.units import WEIGHT_UNITS, UnitError, read_weight

SPARE, USE = "spare", "use"
"""Where an instrument comes from: loose in store, or back from use."""
PIECES = WholeField("number of pieces")
INSTRUMENT = WholeField(problem="“{text}” is no instrument. Load the page again.")


# --- counting ------------------------------------------------------------------------------


class OnLine(Press):
    """A press on one line of the count sheet."""

    called = {"line": "line_pk", "remaining": "quantity", "instrument": "instrument_pk"}
    line = WholeField(problem="“{text}” is no line of this set. Load the page again.")


class Counted(Scan):
    """A scan, and the line that the page marks."""

    called = {"marked": "line_pk"}
    marked = WholeField(required=False)


class Damaged(OnLine):
    """What is wrong with one: chosen, or in the person's own words."""

    reason = WordsField()
    other = WordsField()

    def clean(self) -> dict[str, Any]:
        other = self.cleaned_data.pop("other", "")
        return {**self.cleaned_data, "reason": other or self.cleaned_data.get("reason", "")}


class Weight(Press):
    """The scale's reading with its unit, and what the package that was weighed is in."""

    reading = WordsField()
    unit = WordsField()
    weighed_in = WordsField()

    def clean(self) -> dict[str, Any]:
        data = dict(self.cleaned_data)
        text, unit = data.pop("reading", ""), data.pop("unit", "")
        if unit and unit not in WEIGHT_UNITS:
            raise Refused(f"“{unit}” is no unit of weight here. Choose the one the scale shows.")
        try:
            grams = read_weight(text, unit or None)
        except UnitError as problem:
            raise Refused(problem.message) from problem
        return {**data, "grams": grams, "as_read": f"{text} {unit}".strip()}


class WeighedOpen(Press):
    """What a scale types of an open set, in g where it says no unit, and which of those alike."""

    reading = WordsField()
    number = WholeField("number of the physical set", least=1, most=99, absent=1)

    def clean(self) -> dict[str, Any]:
        data = dict(self.cleaned_data)
        text = data.pop("reading", "")
        try:
            return {**data, "grams": read_scale(text, "g"), "as_read": " ".join(text.split())}
        except UnitError as problem:
            raise Refused(problem.message) from problem


# --- closing -------------------------------------------------------------------------------


class Closing(Press):
    """What a closing page sends beside its checks."""

    take = WordsField()
    origin = WordsField()
    container = WordsField(40)
    tray = WordsField(20)
    copies = WholeField("number of packages", least=1, most=MOST_ALIKE, absent=1)


def signed(request: HttpRequest, who: str, permission: str) -> Person | None:
    """The second person on a page, by ``who_name`` and ``who_password``; None where none signs.

    persons.Unknown where they are not recognised.
    """
    name, password = (request.POST.get(f"{who}_{part}", "") for part in ("name", "password"))
    return second_person(request, name, password, permission) if name else None


def answers_from(sent: QueryDict) -> dict[str, str]:
    """The answer of each check the page asked; one press answers the unanswered of one group
    with yes.

    A *no* stays a no. Only checks that the page showed are answered, so that a check that
    came up since is never answered unseen.
    """
    pressed = sent.getlist(f"of:{sent.get('group', '')}")
    given = {
        key: sent.get(f"check:{key}", "yes" if key in pressed else "")
        for key in sent.getlist("asked")
    }
    return {key: answer for key, answer in given.items() if answer in ("yes", "no")}


def plan_from(request: HttpRequest, thing: Thing) -> Plan:
    """The plan of a closing page. persons.Unknown where a second person is not recognised.

    Where nobody signs on the page, what a coordinator signed for ``thing`` beforehand counts.
    """
    sent = Closing.read(request.POST)
    programme = request.GET.get("programme", "").strip()
    override = _override(request) or _signed_before(thing, sent["take"], programme)
    spares = sent["origin"] == SPARE
    return Plan(sent["take"], answers_from(request.POST), override, programme, from_spares=spares,
                copies=sent["copies"], container=sent["container"],
                tray=sent["tray"])  # fmt: skip


def _override(request: HttpRequest) -> Override | None:
    reasons = reasons_from(request.POST)
    if request.user.has_perm(OVERRIDE):
        return Override(person_signing(request, OVERRIDE), reasons)
    second = signed(request, "override", OVERRIDE)
    return Override(second, reasons) if second else None


def _signed_before(thing: Thing, take: str, programme: str) -> Override | None:
    question = allowed_for(thing)
    if question is None or not covers(question, take, programme):
        return None
    reasons = {one["key"]: one["because"] for one in question.allowed["findings"]}
    return Override(person_of(question.answerer), reasons, question.pk)


def covers(question: Question, take: str, programme: str) -> bool:
    """Whether the answer signs for this way to pack it, in this cycle."""
    allowed = question.allowed
    return (allowed["take"], allowed["programme"]) == (take, programme)


def reasons_from(sent: QueryDict) -> dict[str, str]:
    """The findings that are ticked as accepted, each with its reason, blank where none is."""
    return {key: sent.get(f"because:{key}", "").strip() for key in sent.getlist("accept")}
