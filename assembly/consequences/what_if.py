"""What would change if another preset, value, supply or sterilizer were in force: nothing is."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from django.utils import timezone

from assembly.consequences.every_set import sets_with_lines
from assembly.consequences.policy_actions import check_limited
from assembly.consequences.whole_catalog import names_of, rows_now
from assembly.judging.decisions import decide_for_set
from assembly.judging.facts_from_catalog import Department, department
from assembly.judging.questions_from_catalog import Lent, Shared, lent_now
from assembly.rules.comparing.sheets import Terms
from assembly.rules.comparing.what_if import Watched, compared
from assembly.rules.facts.cycles import Programme
from assembly.rules.facts.supplies import Supply
from assembly.rules.findings import Outcome, Status
from assembly.rules.policy.presets import presets
from assembly.rules.policy.values import Policy, PolicyError, Value
from catalog.models import CountSheet, Instrument, InstrumentSet, Line, Sterilizer

Tell = Callable[[int], None]
UNDECIDED = str(Outcome.UNDECIDED)
SOURCE = "if it were in force"


@dataclass(frozen=True, slots=True)
class Supposed:
    """What is asked about: values by name, supplies and cycles more, and codes of those gone."""

    values: Mapping[str, Value] = field(default_factory=dict)
    supplies: tuple[Supply, ...] = ()
    programmes: tuple[Programme, ...] = ()
    without: frozenset[str] = frozenset()
    without_programmes: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Change:
    """An instrument or a set whose package is another ("pouch P01", "undecided" or "none"), or a
    set that goes ``over`` a limit."""

    what: str
    code: str
    name: str
    before: str
    after: str
    over: bool = False

    @property
    def place(self) -> tuple[bool, bool, bool, bool, str]:
        """Its place on the list: over, undecided, nothing left, then sets, then instruments."""
        after = (self.after != UNDECIDED, self.after != str(Outcome.NONE))
        return (not self.over, *after, self.what != "set", self.code)


@dataclass(frozen=True, slots=True)
class Consequences:
    """All that would change, what hurts most first.

    Of the ``instruments`` so many were judged by the rules for one package (``by_rules``), all
    others by arrays.
    """

    found: tuple[Change, ...]
    instruments: int
    sets: int
    by_rules: int

    @property
    def changed(self) -> tuple[Change, ...]:
        """What goes into another package, or into none."""
        return tuple(one for one in self.found if one.before != one.after)

    @property
    def undecided(self) -> tuple[str, ...]:
        """The codes of what is decided now and would not be."""
        return tuple(one.code for one in self.changed if one.after == UNDECIDED)

    @property
    def over(self) -> tuple[str, ...]:
        """The sets that would go over a limit."""
        return tuple(one.code for one in self.found if one.over)

    def as_json(self) -> dict[str, Any]:
        """As plain JSON types."""
        names = ("what", "code", "before", "after")
        return {
            "changed": [{name: getattr(one, name) for name in names} for one in self.changed],
            "undecided": list(self.undecided),
            "over": list(self.over),
            "asked": {"instruments": self.instruments, "sets": self.sets},
            "by_the_rules_one_by_one": self.by_rules,
        }


def preset_values(name: str) -> dict[str, Value]:
    """The values of a preset today; PolicyError for an unknown one."""
    preset = presets().get(name)
    if preset is None:
        raise PolicyError("presets", name, f"choose from {', '.join(presets())}")
    return {key: entry.value for key, entry in preset.on(timezone.localdate()).items()}


def run_alone(sterilizer: Sterilizer) -> frozenset[str]:
    """The cycles in use that no other sterilizer in use runs."""
    others = Sterilizer.objects.filter(active=True).exclude(pk=sterilizer.pk)
    shared = set(others.values_list("programmes__code", flat=True))
    own = sterilizer.programmes.filter(active=True).values_list("code", flat=True)
    return frozenset(code for code in own if code not in shared)


def supposed(here: Department, asked: Supposed) -> Department:
    """The department as it would be. PolicyError for a value that it cannot have, ValueError for
    a code that is not there, or is there already."""
    today = timezone.localdate()
    now = here.policy(today)
    values: dict[str, Any] = {name: now.entry(name) for name in now.parameters}
    policy = Policy(now.parameters, today, {**values, **asked.values}, SOURCE)
    check_limited(policy)
    stock = _with(here.stock, asked.supplies, asked.without)
    runs = here.programmes
    if asked.programmes or asked.without_programmes:
        runs = _with(runs or (), asked.programmes, asked.without_programmes)
    return _department(policy, stock, runs, here)


def _department(
    policy: Policy, stock: tuple[Supply, ...], runs: tuple[Programme, ...] | None, here: Department
) -> Department:
    made = Department(None)
    made.keep(timezone.localdate(), policy)
    for name, part in (("stock", stock), ("programmes", runs), ("protectors", here.protectors)):
        made.keep(name, part)
    return made


def _with(there: Iterable[Any], more: Iterable[Any], without: frozenset[str]) -> tuple[Any, ...]:
    codes = {one.code for one in there}
    if missing := without - codes:
        raise ValueError(f"{', '.join(sorted(missing))}: not in use, so nothing changes without it")
    left = [one for one in there if one.code not in without]
    for one in more:
        if one.code in codes - without:
            raise ValueError(f"{one.code}: in use already, so nothing changes with it")
    return (*left, *more)


def terms_of(here: Department) -> Terms:
    """What single instruments are decided with."""
    policy = here.policy(timezone.localdate())
    return Terms(here.stock, here.programmes, here.protectors, policy)


def in_use() -> tuple[int, int]:
    """How many instruments, and how many sets with an approved count sheet."""
    sheets = CountSheet.objects.filter(
        state=CountSheet.State.CURRENT, instrument_set__retired=False
    )
    return Instrument.objects.filter(retired=False).count(), sheets.count()


def steps_of() -> int:
    """How many steps a run takes: each instrument and each set in use is one."""
    return sum(in_use())


def what_if(asked: Supposed, tell: Tell = lambda done: None) -> Consequences:
    """What would change; ``tell`` is told how many instruments and sets are done."""
    now = department()
    then, lent = supposed(now, asked), lent_now()
    rows = rows_now(tell)
    unread = {pk for pk, received in lent.instruments.items() if not all(received)}
    held = [n for n, key in enumerate(rows.keys) if key in unread]
    found = compared(rows.catalog, terms_of(now), terms_of(then), held,
                     lambda done, of: tell(len(rows.keys)))  # fmt: skip
    named = names_of(rows.keys[one.row] for one in found.changed)
    changed = [
        Change(
            "instrument", rows.numbers[one.row], named[rows.keys[one.row]], one.before, one.after
        )
        for one in found.changed
    ]
    sets = _Sets(now, then, lent)
    for done, (one, lines) in enumerate(sets_with_lines(), start=1):
        sets.ask(one, lines)
        tell(len(rows.keys) + done)
    every = sorted((*changed, *sets.found), key=lambda one: one.place)
    return Consequences(tuple(every), found.rows, sets.asked, found.asked)


class _Sets:
    """Each set by the rules before and after; asked once where nothing that they read changes."""

    def __init__(self, now: Department, then: Department, lent: Lent) -> None:
        self.watched = Watched(now.policy(timezone.localdate()))
        before = _department(self.watched, now.stock, now.programmes, now)
        self.before, self.after = Shared(before, lent), Shared(then, lent)
        self.policy = then.policy(timezone.localdate())
        kinds = "for_sets", "programmes", "protectors"
        self.same = all(getattr(now, kind) == getattr(then, kind) for kind in kinds)
        self.found: list[Change] = []
        self.asked = 0

    def ask(self, one: InstrumentSet, lines: Sequence[Line]) -> None:
        """One set more."""
        self.asked += 1
        before, was_over = _stands(one, lines, self.before)
        if self.same and not self.watched.tells_apart(self.policy):
            return
        after, is_over = _stands(one, lines, self.after)
        over = is_over and not was_over
        if after != before or over:
            self.found.append(Change("set", one.code, one.name, before, after, over))


def _stands(one: InstrumentSet, lines: Sequence[Line], shared: Shared) -> tuple[str, bool]:
    """What a set is packed in, and whether its weight is over a limit."""
    answer = decide_for_set(one, lines, out=(), shared=shared)
    taken = answer.decision.recommended
    word = f"{taken.kind} {taken.code}" if taken else str(answer.decision.outcome)
    return word, answer.weight.finding.status is Status.NOT_MET
