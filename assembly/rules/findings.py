"""What a rule says, and how what several rules say is put together.

Every rule answers with one :class:`Finding` in one of four states. Combining is fixed:
any *not met* rules a package out; else any *cannot tell* leaves it undecided. A missing
fact therefore never passes.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from enum import StrEnum
from typing import Any, Generic, TypeVar

from catalog.vocabulary import Method

Found = TypeVar("Found")

CLOSE_MM = 0.01
"""Lengths closer than this are equal: an exact fit must not depend on rounding."""
CLOSE_G = 0.05
"""The same for weights."""
CLOSE_RATIO = 1e-6
CLOSE_BY_UNIT = {
    "mm": CLOSE_MM, "g": CLOSE_G, "ratio": CLOSE_RATIO, "min": CLOSE_RATIO, "C": CLOSE_RATIO
}  # fmt: skip


class Status(StrEnum):
    """The four states of a finding."""

    MET = "met"
    NOT_MET = "not met"
    DOES_NOT_APPLY = "does not apply"
    CANNOT_TELL = "cannot tell"


def each_once(sources: Iterable[str]) -> str:
    """Sources as one line, what several of them name only once.

    >>> each_once(["CDC; ST79 as reported", "ST79 as reported; ISO 11140-1"])
    'CDC; ST79 as reported; ISO 11140-1'
    """
    return "; ".join(dict.fromkeys(part for one in sources for part in one.split("; ")))


Amount = tuple[float, str]
"""A value with its unit: mm, g, min, C or ratio."""
Show = Callable[[float, str], str]
"""How an amount is written for a reader."""


def in_mm(**lengths: float) -> dict[str, Amount]:
    """Lengths as amounts.

    >>> in_mm(play=3)
    {'play': (3, 'mm')}
    """
    return {name: (length, "mm") for name, length in lengths.items()}


KG_FROM_G = 1000.0
"""From here on a weight reads in kilograms."""


def metric(value: float, unit: str) -> str:
    """An amount in base units, trimmed for reading.

    >>> metric(116.0, "mm"), metric(0.238, "ratio"), metric(11339.81, "g"), metric(2.25, "mm")
    ('116 mm', '23.8 %', '11.34 kg', '2.3 mm')
    """
    if unit == "g" and abs(value) >= KG_FROM_G:
        return f"{value / 1000:.2f} kg"
    if unit == "ratio":
        return f"{_trim(value * 100)} %"
    if unit == "C":
        return f"{_trim(value)} °C"
    return f"{_trim(value)} {unit}" if unit else _trim(value)


def _trim(value: float) -> str:
    # Half away from zero on the shown digit: 2.25 mm reads 2.3, as a person rounds.
    tenths = int(abs(value) * 10 + 0.5 + 1e-9)
    sign = "-" if value < 0 and tenths else ""
    whole, tenth = divmod(tenths, 10)
    return f"{sign}{whole:,}.{tenth}" if tenth else f"{sign}{whole:,}"


_NAME = re.compile(r"\{(\w+)\}")


def filled(text: str, amounts: Mapping[str, Amount], show: Show) -> str:
    """``text`` with each ``{name}`` written by ``show``; braces of anybody's own text stay.

    >>> filled("need {need}, {odd}", {"need": (116, "mm")}, metric)
    'need 116 mm, {odd}'
    """
    return _NAME.sub(
        lambda found: show(*amounts[found[1]]) if found[1] in amounts else found[0], text
    )


@dataclass(frozen=True, slots=True)
class Finding:
    """The outcome of one rule for one package.

    ``figure`` is what the package asks, ``limit`` what it may be at the most, ``margin``
    the distance between them (negative when not met), all in ``unit``; None where the
    rule has no number. ``text`` may hold ``{figure}``, ``{limit}``, ``{margin}`` and the
    names in ``amounts``; :meth:`sentence` writes them in the reader's units.
    """

    rule: str
    status: Status
    text: str
    source: str
    figure: float | None = None
    limit: float | None = None
    unit: str = ""
    amounts: Mapping[str, Amount] = field(default_factory=dict, hash=False)
    missing: tuple[str, ...] = ()

    @property
    def margin(self) -> float | None:
        if self.figure is None or self.limit is None:
            return None
        return self.limit - self.figure

    def about(self, who: str, code: str = "") -> Finding:
        """The finding said of ``who``; what is missing is then a fact of ``code``, if given."""
        missing = tuple(f"{code}.{name}" for name in self.missing) if code else self.missing
        return replace(self, text=f"{who}: {self.text}", missing=missing)

    def sentence(self, show: Show = metric) -> str:
        """The reason in one sentence, amounts written by ``show``."""
        amounts = dict(self.amounts)
        for name in ("figure", "limit", "margin"):
            value = getattr(self, name)
            if value is not None:
                amounts[name] = (abs(value) if name == "margin" else value, self.unit)
        return filled(self.text, amounts, show)

    def as_json(self) -> dict[str, Any]:
        """The finding as plain JSON types."""
        return {
            "rule": self.rule,
            "status": str(self.status),
            "figure": rounded(self.figure),
            "limit": rounded(self.limit),
            "margin": rounded(self.margin),
            "unit": self.unit,
            "sentence": self.sentence(),
            "source": self.source,
        }


def rounded(value: float | None) -> float | None:
    """Six decimals, so that equal inputs print equal bytes."""
    return None if value is None else round(value, 6) + 0.0


@dataclass(frozen=True, slots=True)
class Rule:
    """A rule by its name and where it comes from: each of its findings bears both.

    >>> Rule("vented", "its IFU").cannot_tell("Look at it.", "vented").missing
    ('vented',)
    """

    name: str
    source: str

    def by(self, source: str) -> Rule:
        """The same rule, as it comes from another source."""
        return Rule(self.name, source)

    def finds(self, status: Status, text: str, **more: Any) -> Finding:
        """A finding of this rule; ``more`` are its figure, limit, unit, amounts, missing."""
        return Finding(self.name, status, text, self.source, **more)

    def met(self, text: str, **more: Any) -> Finding:
        return self.finds(Status.MET, text, **more)

    def not_met(self, text: str, **more: Any) -> Finding:
        return self.finds(Status.NOT_MET, text, **more)

    def does_not_apply(self, text: str, **more: Any) -> Finding:
        return self.finds(Status.DOES_NOT_APPLY, text, **more)

    def cannot_tell(self, text: str, *missing: str, **more: Any) -> Finding:
        """The finding that a fact is missing; ``missing`` names it."""
        return self.finds(Status.CANNOT_TELL, text, missing=missing, **more)

    def at_most(
        self, figure: float, limit: float, unit: str, *, met: str, not_met: str, **more: Any
    ) -> Finding:
        """The finding that ``figure`` is at most ``limit``; equal is met.

        >>> Rule("width", "ours").at_most(9, 9, "mm", met="y", not_met="n").status
        <Status.MET: 'met'>
        """
        ok = figure <= limit + CLOSE_BY_UNIT.get(unit, 0.0)
        status, text = (Status.MET, met) if ok else (Status.NOT_MET, not_met)
        return Finding(self.name, status, text, self.source, figure, limit, unit, **more)


STANDING_IN_THE_WAY = frozenset({Status.NOT_MET, Status.CANNOT_TELL})
WORST_FIRST = (Status.NOT_MET, Status.CANNOT_TELL, Status.MET, Status.DOES_NOT_APPLY)


def worst(findings: Iterable[Finding]) -> Finding:
    """The finding that weighs most: the first that is not met, else that cannot be told."""
    return min(findings, key=lambda finding: WORST_FIRST.index(finding.status))


def combined(findings: Iterable[Finding]) -> Status:
    """The state of all findings together: the contract of the rules.

    >>> combined([])
    <Status.CANNOT_TELL: 'cannot tell'>
    """
    states = {finding.status for finding in findings}
    if Status.NOT_MET in states:
        return Status.NOT_MET
    if Status.CANNOT_TELL in states or Status.MET not in states:
        return Status.CANNOT_TELL
    return Status.MET


@dataclass(frozen=True, slots=True)
class Caution:
    """What to take care of, with where it comes from ("common practice" where nothing is)."""

    text: str
    source: str
    amounts: Mapping[str, Amount] = field(default_factory=dict, hash=False)

    def sentence(self, show: Show = metric) -> str:
        return filled(self.text, self.amounts, show)


class once(Generic[Found]):  # noqa: N801 - as ``cached_property``
    """A ``cached_property`` without the lock that Python 3.11 has for it, which took a tenth of a
    decision: what is frozen says the same to two threads."""

    def __init__(self, work: Callable[[Any], Found]) -> None:
        self.work, self.__doc__ = work, work.__doc__

    def __get__(self, one: Any, _kind: Any = None) -> Found:
        found: Found = self.work(one)
        one.__dict__[self.work.__name__] = found
        return found


@dataclass(frozen=True)
class Candidate:
    """One way to package: a supply (or a pair of them) with all its findings.

    ``with_codes`` are the supplies that go with ``code``, such as the outer pouch of a
    double one. ``details`` holds what the kind adds: cut length, fold, sheet side and so on.
    ``order`` sorts equals: least material first, then cost, then code.
    """

    kind: str
    code: str
    findings: tuple[Finding, ...]
    order: tuple[Any, ...]
    with_codes: tuple[str | None, ...] = ()
    details: Mapping[str, Any] = field(default_factory=dict, hash=False)
    cautions: tuple[Caution, ...] = ()

    @once
    def status(self) -> Status:
        return combined(self.findings)

    @once
    def reasons(self) -> tuple[Finding, ...]:
        """The findings that stand in the way, in the order of the rules."""
        return tuple([one for one in self.findings if one.status in STANDING_IN_THE_WAY])

    @property
    def method(self) -> Method | None:
        """What it goes through; None where no cycle is settled."""
        word = self.details.get("method")
        return Method(word) if word else None

    def finding(self, rule: str) -> Finding:
        """The finding of the rule named; KeyError when it was not asked."""
        for finding in self.findings:
            if finding.rule == rule:
                return finding
        raise KeyError(rule)

    def as_json(self) -> dict[str, Any]:
        own = {"kind": self.kind, "code": self.code, "with": list(self.with_codes)}
        of_some_kinds = dict.fromkeys(("cut_length_mm", "fold", "sheet_side_mm"))
        details = {
            name: rounded(value) if isinstance(value, float) else value
            for name, value in self.details.items()
        }
        return own | of_some_kinds | details


class Outcome(StrEnum):
    """How a decision ends."""

    RECOMMENDED = "recommended"
    UNDECIDED = "undecided"
    NONE = "none"


@dataclass(frozen=True, slots=True)
class PassedOver:
    """A candidate that is not taken, and why in a few words."""

    candidate: Candidate
    why: str


@dataclass(frozen=True, slots=True)
class Decision:
    """The findings for one instrument or set and what follows from them."""

    outcome: Outcome
    recommended: Candidate | None
    findings: tuple[Finding, ...]
    alternatives: tuple[Candidate, ...]
    passed_over: tuple[PassedOver, ...]
    cautions: tuple[Caution, ...]
    unknown: tuple[str, ...]
    policy_digest: str

    def as_json(self) -> dict[str, Any]:
        """The decision as plain JSON types; equal inputs give equal bytes."""
        return {
            "status": str(self.outcome),
            "recommended": self.recommended.as_json() if self.recommended else None,
            "findings": [finding.as_json() for finding in self.findings],
            "alternatives": [
                other.as_json() | {"findings": [f.as_json() for f in other.findings]}
                for other in self.alternatives
            ],
            "passed_over": [
                {
                    "kind": item.candidate.kind,
                    "code": item.candidate.code,
                    "with": list(item.candidate.with_codes),
                    "why": item.why,
                    "findings": [finding.as_json() for finding in item.candidate.findings],
                }
                for item in self.passed_over
            ],
            "cautions": [caution.sentence() for caution in self.cautions],
            "unknown": list(self.unknown),
            "policy": self.policy_digest,
        }
