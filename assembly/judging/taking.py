"""What can be taken for a package: every supply that was judged, as a person chooses it.

The rules have judged them; here they are named, ordered and compared. Taking one that the
rules refuse, or cannot judge, needs somebody who may override them, and a reason.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from hashlib import sha256
from typing import Any

from assembly.judging.asked_again import check_asked
from assembly.judging.decisions import Answer, SetAnswer
from assembly.ledger import Refused, check_may
from assembly.persons import OVERRIDE, Person
from assembly.rules.deciding.boxes import boxes_of, emptied_for
from assembly.rules.deciding.carried import (
    Carried,
    as_json,
    carried_in,
    cycle_is_met,
    cycle_words,
    may_serve,
    not_labelled,
)
from assembly.rules.facts.cycles import Programme
from assembly.rules.findings import Candidate, Finding, Show, Status, metric
from assembly.rules.picking import OUT
from assembly.rules.telling import explain
from assembly.rules.telling.checks import Check
from assembly.rules.telling.guidance import Guidance
from catalog.vocabulary import Method

MOST_ALIKE = 50
"""Packages closed alike in one press: as many as one person lays out and looks at in one go, and
as one strip of labels is cut to. Our own bound."""
LONGEST_REASON = 300
"""Signs that the record of a package keeps of all reasons together."""
VERDICTS = {
    Status.MET: "serves",
    Status.NOT_MET: "does not meet the rules",
    Status.CANNOT_TELL: "cannot tell",
}


@dataclass(frozen=True, slots=True, eq=False)
class Option:
    """One way to pack it."""

    key: str
    candidate: Candidate
    recommended: bool
    name: str
    cost: str

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Option) and self.key == other.key

    def __hash__(self) -> int:
        return hash(self.key)

    @property
    def verdict(self) -> str:
        return "recommended" if self.recommended else VERDICTS[self.candidate.status]

    @property
    def needs_override(self) -> bool:
        """Whether the rules do not pass it: refused, or a fact is missing."""
        return self.candidate.status is not Status.MET

    @property
    def method(self) -> str:
        return str(self.candidate.details.get("cycle", ""))

    def not_known(self, show: Show = metric) -> list[str]:
        """What *cannot tell* hides, a sentence each: to be read before the label prints."""
        return self._sentences(Status.CANNOT_TELL, show)

    def refused(self, show: Show = metric) -> list[str]:
        """Why the rules refuse it, a sentence each."""
        return self._sentences(Status.NOT_MET, show)

    def _sentences(self, status: Status, show: Show) -> list[str]:
        found = (f.sentence(show) for f in self.candidate.findings if f.status is status)
        return list(dict.fromkeys(found))


def options(answer: Answer | SetAnswer) -> list[Option]:
    """All that was judged: the recommended one, its alternatives, then the others."""
    decision = answer.decision
    ranked = [
        *([decision.recommended] if decision.recommended else []),
        *decision.alternatives,
        *(item.candidate for item in decision.passed_over),
    ]
    found: dict[str, Option] = {}
    for candidate in ranked:
        key = key_of(candidate)
        taken = candidate is decision.recommended
        name = explain.name(candidate, answer.show)
        cost = "" if taken else compared(candidate, decision.recommended, answer.show)
        found.setdefault(key, Option(key, candidate, taken, name, cost))
    return list(found.values())


def key_of(candidate: Candidate) -> str:
    """A way to pack it as a page sends it and a package keeps it (:func:`supplies_in` reads it)."""
    parts = [candidate.kind, candidate.code, *(code for code in candidate.with_codes if code)]
    fold = candidate.details.get("fold")
    return ":".join([*parts, str(fold)] if fold else parts)


def supplies_in(key: str) -> tuple[str, tuple[str, ...]]:
    """The kind of package that an option's key names, and the codes of what it is packed in.

    The fold of a wrap stands last in its key and is no supply; it is among the codes.

    >>> supplies_in("pouch:P-1:P-2")
    ('pouch', ('P-1', 'P-2'))
    """
    kind, *codes = key.split(":")
    return kind, tuple(codes)


def chosen(answer: Answer | SetAnswer, key: str = "") -> Option | None:
    """The option named; without a name the recommended one, else the one that is shown."""
    every = options(answer)
    if key:
        return next((one for one in every if one.key == key), None)
    shown = next((one for one in every if one.candidate is answer.shown), None)
    return next((one for one in every if one.recommended), shown)


def compared(candidate: Candidate, taken: Candidate | None, show: Show = metric) -> str:
    """What a candidate costs in margin against the one recommended, rule by rule.

    Empty where there is nothing to compare with.
    """
    if taken is None:
        return ""
    before = {f.rule: f.margin for f in taken.findings if f.unit == "mm"}
    words = []
    for finding in candidate.findings:
        was = before.get(finding.rule)
        if finding.margin is None or was is None or finding.rule in explain.NO_ROOM:
            continue
        change = finding.margin - was
        if abs(change) >= 1:
            more = "more" if change > 0 else "less"
            words.append(f"{show(abs(change), finding.unit)} {more} room in {finding.rule}")
    return ", ".join(words)


# --- closing --------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Override:
    """Who takes what the rules do not pass: each open finding by its key, with the reason.

    ``question`` is the one whose answer signed it, which serves one package.
    """

    by: Person
    reasons: Mapping[str, str]
    question: int | None = None


@dataclass(frozen=True, slots=True)
class Plan:
    """What a person sends when the package is closed: what it is in, and each answer.

    ``programme`` is the code of the one it is to go in, where a person chose it.
    ``from_spares``: what is packed lay loose in store and is counted down there.
    ``copies``: how many packages are closed alike, each under a label of its own.
    ``container``: the number on the container that it goes into; blank where nobody said.
    ``tray``: which of several identical sets it is, as it was written.
    """

    option: str
    answers: Mapping[str, str]
    override: Override | None = None
    programme: str = ""
    from_spares: bool = False
    copies: int = 1
    container: str = ""
    tray: str = ""


class NotClosed(Refused):
    """The package is not recorded: a check is open or answered no, or the rules refuse.

    ``said_no`` are the checks that lead to something to do first.
    """

    def __init__(self, problem: str, said_no: tuple[Check, ...] = ()) -> None:
        self.said_no = said_no
        super().__init__(problem)


def checked(guidance: Guidance, plan: Plan, show: Show = metric) -> list[dict[str, str]]:
    """Every check with its answer, for the record; NotClosed unless all are answered yes."""
    said_no = tuple(c for c in guidance.checks if plan.answers.get(c.key) == "no")
    if said_no:
        raise NotClosed("Something is not right yet. Do this first, then pack it again.", said_no)
    left = [c for c in guidance.checks if plan.answers.get(c.key) != "yes"]
    if left:
        raise NotClosed(f"Answer every check: {left[0].asked(show)}")
    return [{"key": c.key, "question": c.asked(), "answer": "yes"} for c in guidance.checks]


def settled(answer: Answer | SetAnswer, plan: Plan) -> Option:
    """The option that may be taken; NotClosed where the rules refuse and nobody overrides.

    Refused where whoever overrides may not. No override reaches past an IFU that does not
    name the method, or packaging that is not labelled for it.
    """
    option = chosen(answer, plan.option)
    if option is None:
        raise NotClosed("What you chose is no longer offered. Look at the page again.")
    if not option.needs_override:
        return option
    if plan.override is None:
        raise NotClosed(
            f"The rules do not pass {option.name}. Only a coordinator can take it all the same, "
            "with a reason for each finding."
        )
    check_may(plan.override.by, OVERRIDE)
    if plan.override.question is None:  # else it was signed before
        check_asked(plan.override.by, answer.policy)
    if not option.method:
        raise NotClosed(_no_cycle(answer, option))
    if why := barred(answer, option):
        raise NotClosed(f"Nobody may take {option.method} for it. {why}")
    accepted(option, plan.override)
    return option


def _no_cycle(answer: Answer | SetAnswer, option: Option) -> str:
    if cycles_offered(answer, option):
        return ("Choose the cycle it is to go in first: what is found is worked out anew for that "
                "one.")  # fmt: skip
    return ("No cycle that is run is named by every IFU and labelled on all packaging: no reason "
            "lifts that. Pack it in parts, or in other packaging.")  # fmt: skip


# --- against the rules -----------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Open:
    """One finding that stands in the way, as a person accepts it: by itself, as it was read."""

    key: str
    finding: Finding

    def sentence(self, show: Show = metric) -> str:
        return self.finding.sentence(show)


def open_findings(option: Option) -> list[Open]:
    """What must be accepted, one by one. The key is that of the sentence: what says something
    else by the time it is sent was not accepted."""
    found = {}
    for one in option.candidate.reasons:
        said = f"{one.rule}|{one.status}|{one.sentence()}"
        key = sha256(said.encode()).hexdigest()[:12]
        found[key] = Open(key, one)
    return list(found.values())


def accepted(option: Option, override: Override | None) -> list[dict[str, Any]]:
    """Each open finding with who accepted it and why, for the record; NotClosed unless all are."""
    if override is None or not option.needs_override:
        return []
    record = []
    for one in open_findings(option):
        reason = override.reasons.get(one.key, "").strip()
        if not reason:
            raise NotClosed("Accept each finding by itself, with its reason: it stays on record "
                            f"with the package. Not accepted yet: {one.sentence()}")  # fmt: skip
        record.append(
            {
                "rule": one.finding.rule,
                "status": str(one.finding.status),
                "sentence": one.sentence(),
                "source": one.finding.source,
                "by": override.by.name,
                "reason": reason,
                **({"question": override.question} if override.question else {}),
            }
        )
    return record


def reasons_in(accepted: Iterable[Mapping[str, Any]]) -> str:
    """The reasons of an override in one line, each once, cut where the record ends."""
    return "; ".join(dict.fromkeys(one["reason"] for one in accepted))[:LONGEST_REASON]


def cycles_offered(answer: Answer | SetAnswer, option: Option) -> list[Programme]:
    """The programmes that somebody may choose for it: every IFU names the method, and all
    that it is packed in is labelled for it."""
    return [one for one in answer.question.programmes or ()
            if not not_labelled(_while_open(answer, option), one, answer.policy)]  # fmt: skip


def cycles_barred(answer: Answer | SetAnswer, option: Option) -> list[str]:
    """Why each other programme is not offered, a sentence each."""
    carried = _while_open(answer, option)
    asked = ((one, not_labelled(carried, one, answer.policy))
             for one in answer.question.programmes or ())  # fmt: skip
    return [f"{one.code}: {why}" for one, why in asked if why]


def barred(answer: Answer | SetAnswer, option: Option) -> str:
    """Why its own cycle may be taken by nobody; "" where it may."""
    details, known = option.candidate.details, answer.question.programmes or ()
    programme = next((one for one in known if one.code == details["programme"]), None)
    programme = programme or Programme(code=str(details["programme"] or option.method),
                                       method=Method(details["method"]),
                                       temperature_c=details["temperature_c"])  # fmt: skip
    return not_labelled(_while_open(answer, option), programme, answer.policy)


def _while_open(answer: Answer | SetAnswer, option: Option) -> Carried:
    """What is carried before it is closed: its indicators can still be put in."""
    return replace(carried_in(answer.question, option.candidate), indicators=None)


# --- on record -------------------------------------------------------------------------


def around_on_record(answer: Answer | SetAnswer, option: Option) -> list[dict[str, Any]]:
    """The pouches, wraps or containers around it, as they will be on record."""
    around: list[dict[str, Any]] = as_json(carried_in(answer.question, option.candidate))["around"]
    return around


def carried_on_record(answer: Answer | SetAnswer, option: Option) -> dict[str, Any]:
    """What programmes are judged by once it is closed, and those that serve now.

    Where the cycle itself was taken against the rules, that one alone will do.
    """
    question, policy = answer.question, answer.policy
    carried = carried_in(question, option.candidate)
    if not cycle_is_met(option.candidate):
        return as_json(carried) | {"its_own_alone": True}
    serving = [one for one in question.programmes or () if may_serve(carried, one, policy)]
    words = cycle_words(serving) if len(serving) > 1 else ""
    return as_json(carried) | {"programmes": [str(one) for one in serving], "words": words}


def boxes_shown(
    answer: Answer | SetAnswer | None, candidate: Candidate | None
) -> dict[str, object]:
    """For a page: ``empty``, the boxes that the decision goes round or waits for, and ``boxes``,
    what the candidate takes out of others, key and short name."""
    if answer is None or candidate is None:
        return {"empty": [], "boxes": []}
    gone = (item.candidate for item in answer.decision.passed_over if item.why == OUT)
    empty = dict.fromkeys(
        box for one in (*gone, candidate) for box in emptied_for(one, answer.question)
    )
    said = {one.supply for one in answer.question.out}
    every = boxes_of(candidate, answer.question).items()
    return {"empty": list(empty), "boxes": [one for one in every if one[0] not in said]}
