"""A decision as plain sentences: the page, the printout and the command all read from here.

In the order in which a technician needs them: what to take, what must be known first,
what could go wrong, why not the next smaller one, what could be taken instead.
"""

from __future__ import annotations

from dataclasses import dataclass

from assembly.rules.deciding.boxes import BOX
from assembly.rules.deciding.giving_way import CHOICE
from assembly.rules.findings import Candidate, Decision, Finding, Outcome, Show, Status, metric
from assembly.rules.kinds.lying import AS_GIVEN
from assembly.rules.limits.loaned import IFU
from assembly.rules.picking import OUT
from catalog.vocabulary import Kind

DEFERS = (
    "The instructions of the instrument's maker, the packaging's maker and the sterilizer's "
    "maker come first, then facility policy. This is a check, not a replacement for them."
)


@dataclass(frozen=True, slots=True)
class Section:
    """A heading and its sentences."""

    heading: str
    sentences: tuple[str, ...]


def headline(decision: Decision, show: Show = metric) -> str:
    """The decision in a few words."""
    if decision.outcome is Outcome.RECOMMENDED and decision.recommended:
        taken, out = name(decision.recommended, show), out_words(decision)
        return f"{out}; the next that fits: {taken}" if out else f"Take {taken}"
    if decision.outcome is Outcome.UNDECIDED:
        doubt = lent_words(decision) or box_words(decision, show)
        return f"Not decided: {doubt or 'something must be known first'}"
    out = out_words(decision)
    return f"{out}, and nothing else in stock serves it" if out else _why_none(decision, show)


def out_words(decision: Decision) -> str:
    """What would be taken if its box were not empty; "" where nothing is out.

    >>> from assembly.rules.findings import PassedOver
    >>> gone = PassedOver(Candidate("pouch", "P04", (), ()), OUT)
    >>> out_words(Decision(Outcome.NONE, None, (), (), (gone,), (), (), ""))
    'Pouch P04 is out'
    """
    gone = [item.candidate for item in decision.passed_over if item.why == OUT]
    if not gone:
        return ""
    codes = ", ".join(dict.fromkeys(one.code for one in gone))
    return (
        f"{Kind(gone[0].kind).words.capitalize()} {codes} {'is' if len(gone) == 1 else 'are'} out"
    )


def lent_words(decision: Decision) -> str:
    """That the IFU of what is lent is not here; "" where it is, or nothing is lent."""
    open_ = [f for f in decision.findings if f.status is Status.CANNOT_TELL and f.rule == IFU.name]
    return open_[0].text.partition(":")[0] if open_ else ""


def box_words(decision: Decision, show: Show = metric) -> str:
    """The empty box that alone leaves it undecided; "" where something else does too."""
    open_ = [f for f in decision.findings if f.status is Status.CANNOT_TELL]
    if decision.outcome is not Outcome.UNDECIDED or any(f.rule != BOX.name for f in open_):
        return ""
    return open_[0].sentence(show).rstrip(".") if open_ else ""


WEIGHTS = ("gross weight", "load weight", "net weight", "rated weight", "basket weight",
           "contents weight")  # fmt: skip
"""The limits of policy and supplies, in the order in which one is told."""
CYCLES = ("common cycle", "method", "programme")
"""Rules about the contents: where one of them fails everywhere, more stock would not help."""


def _why_none(decision: Decision, show: Show) -> str:
    """The true reason why nothing is recommended: what every supply fails by."""
    every = [item.candidate for item in decision.passed_over]
    for finding in _failed(decision.findings, CYCLES):
        shared = all(_failed_alike(finding, one) for one in every)
        if finding.rule == "common cycle" or (every and shared):
            return f"Not as it stands: {finding.sentence(show).rstrip('.')}"
    heavy = sorted(_failed(decision.findings, WEIGHTS), key=lambda f: WEIGHTS.index(f.rule))
    if heavy and all(_failed(one.findings, WEIGHTS) for one in every):
        words = heavy[0].sentence(show).rstrip(".")
        return f"Over the weight limit: {words.removeprefix('Over: ')}"
    soft = [one for one in every if one.kind != Kind.CONTAINER]
    if soft and all(_failed(one.findings, ("sharp points",)) for one in soft):
        return "Its sharp point goes without a protector, and no container in stock serves it"
    for finding in _failed(decision.findings):
        if len(every) > 1 and all(_failed_alike(finding, one) for one in every):
            return f"Not as it stands: {finding.sentence(show).rstrip('.')}"
    return "Nothing in stock serves it"


WAYS_OUT = {
    "undecided": "Measure what is missing and propose it on its page; a coordinator confirms it.",
    "cycle": "A coordinator can have it packed in parts, or choose a cycle that every IFU names.",
    "weight": "A coordinator can have it packed in parts.",
    "lent": "Put its IFU on record under Upkeep, On loan, when it is here.",
    "box": "Fetch a box, then press that it is there.",
    "": "A coordinator can accept it with a reason, or choose other packaging.",
}
"""Who can help, by what stands in the way. Our own words, no source."""


def way_out(decision: Decision) -> str:
    """Who can help, and how, where nothing is recommended; "" where something is."""
    if decision.outcome is Outcome.RECOMMENDED:
        return ""
    if decision.outcome is Outcome.UNDECIDED:
        doubt = "lent" if lent_words(decision) else "box" if box_words(decision) else "undecided"
        return WAYS_OUT[doubt]
    if _failed(decision.findings, CYCLES):
        return WAYS_OUT["cycle"]
    return WAYS_OUT["weight" if _failed(decision.findings, WEIGHTS) else ""]


def _failed(findings: tuple[Finding, ...], rules: tuple[str, ...] = ()) -> list[Finding]:
    """The findings that are not met, of these rules where any are named."""
    return [f for f in findings
            if f.status is Status.NOT_MET and (not rules or f.rule in rules)]  # fmt: skip


def _failed_alike(finding: Finding, candidate: Candidate) -> bool:
    """Whether a candidate fails for the same reason, in the same words."""
    return finding.text in [one.text for one in _failed(candidate.findings)]


def name(candidate: Candidate, show: Show = metric) -> str:
    """A candidate in words: kind, code and what goes with it.

    >>> name(Candidate("pouch", "P04", (), (), with_codes=("P07",)))
    'pouch P04 in pouch P07'
    >>> name(Candidate("roll", "R150", (), (), details={"cut_length_mm": 230.0}))
    'roll R150 cut to 230 mm'
    >>> name(Candidate("wrap", "W900", (), (), details={"fold": "envelope"}))
    'wrap W900, envelope fold'
    >>> name(Candidate("pouch", "P04", (), (), details={"way_to_lie": "on its side"}))
    'pouch P04, on its side'
    """
    kind = Kind(candidate.kind).words
    others = [code for code in candidate.with_codes if code]
    words = f"{kind} {candidate.code}"
    if candidate.kind == Kind.POUCH:
        words += "".join(f" in {kind} {code}" for code in others)
    cut, fold = candidate.details.get("cut_length_mm"), candidate.details.get("fold")
    if cut is not None:
        words += f" cut to {show(cut, 'mm')}"
    if fold:
        words += f", {fold} fold"
    lies = candidate.details.get("way_to_lie", AS_GIVEN)
    if lies != AS_GIVEN:
        words += f", {lies}"
    if candidate.kind != Kind.POUCH and others:
        words += f", with basket {', '.join(others)}"
    return words


def sections(decision: Decision, show: Show = metric) -> list[Section]:
    """All that is to be said, in order; empty sections are left out."""
    parts = [
        Section("What to take", _take(decision, show)),
        Section("What stands in the way", _in_the_way(decision, show)),
        Section("Not known", _not_known(decision, show)),
        Section("Take care", tuple(caution.sentence(show) for caution in decision.cautions)),
        Section("Why not a smaller one", _smaller(decision, show)),
        Section("Instead", _instead(decision, show)),
        Section("Before anything else", (DEFERS,)),
    ]
    return [part for part in parts if part.sentences]


def _take(decision: Decision, show: Show) -> tuple[str, ...]:
    found = decision.findings if decision.recommended else ()
    why = (finding.sentence(show) for finding in found if finding.rule == CHOICE)
    return (f"{headline(decision, show)}.", *why)


def _in_the_way(decision: Decision, show: Show) -> tuple[str, ...]:
    """Every rule that is not met, where nothing is recommended: each sentence once."""
    if decision.outcome is not Outcome.NONE:
        return ()
    refused = (f.sentence(show) for f in decision.findings if f.status is Status.NOT_MET)
    return tuple(dict.fromkeys(refused))


def _not_known(decision: Decision, show: Show) -> tuple[str, ...]:
    open_ = (f.sentence(show) for f in decision.findings if f.status is Status.CANNOT_TELL)
    return tuple(dict.fromkeys(open_))


SMALLER_SHOWN = 2
"""How many of the next smaller ones are explained; all are listed as passed over."""


def _smaller(decision: Decision, show: Show) -> tuple[str, ...]:
    """Why the nearest candidates that use less material than the one taken do not serve."""
    taken = decision.recommended
    if taken is None:
        return ()
    smaller = [
        item.candidate
        for item in decision.passed_over
        if item.candidate.kind == taken.kind and item.candidate.order < taken.order
    ]
    smaller.reverse()
    nearest = sorted(smaller, key=lambda other: len(other.reasons))[:SMALLER_SHOWN]
    return tuple(
        f"{_capital(name(other, show))}: {_reasons(other.reasons, show)}" for other in nearest
    )


def _instead(decision: Decision, show: Show) -> tuple[str, ...]:
    return tuple(
        f"{_capital(name(other, show))} also serves: {tightest(other, show)}."
        for other in decision.alternatives
    )


NO_ROOM = ("side seal", "cut length")
"""Rules in lengths that say nothing of the room round the instrument."""


def tightest(candidate: Candidate, show: Show = metric) -> str:
    """The room that a candidate leaves, for the rules that measure it in lengths."""
    rooms = [
        f"{show(f.margin, f.unit)} to spare in {f.rule}"
        for f in candidate.findings
        if f.margin is not None and f.unit == "mm" and f.rule not in NO_ROOM
    ]
    return ", ".join(rooms) or "no size limits it"


def _reasons(findings: tuple[Finding, ...], show: Show) -> str:
    return " ".join(finding.sentence(show) for finding in findings)


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]
