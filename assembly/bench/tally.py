"""What is in a build: worked out from its events, never stored.

Pieces that are *in* are counted ones and accepted substitutes. A damaged piece goes to
repair, one too many is laid aside; neither is in. A line is short by what was said to be
missing, at the most by what is still missing.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property

from assembly.models import Build, BuildEvent, BuildLine
from assembly.rules.telling.missing import missing_words
from catalog.models import Instrument

Kind = BuildEvent.Kind
UNDOABLE = frozenset(
    {Kind.COUNTED, Kind.SHORT, Kind.DAMAGED, Kind.TAKEN_OUT, Kind.SUBSTITUTED, Kind.OVER,
     Kind.READING}
)  # fmt: skip
"""What can be undone until the set is packed."""
CHANGES = ["state", "last_step", "holder", "holder_name", "held_since", "ended_at"]
"""What verbs change of a build's row."""
CHANGES_IT = UNDOABLE - {Kind.READING} | {Kind.UNDO}
"""What may change what lies in the set."""
HEAVIEST = 3
"""So many are named for the bottom. Common practice, no source."""


@dataclass(frozen=True)
class LineCount:
    """One line with what was counted of it, in pieces."""

    line: BuildLine
    counted: int = 0
    substituted: int = 0
    said_short: int = 0
    damaged: int = 0
    over: int = 0
    instead: tuple[tuple[Instrument, int], ...] = ()

    @property
    def inside(self) -> int:
        """Pieces that are in the set."""
        return self.counted + self.substituted

    @property
    def missing(self) -> int:
        """Pieces that are not in, whether anybody said so or not."""
        return max(0, self.line.wanted - self.inside)

    @property
    def short(self) -> int:
        """Pieces said to be missing that still are."""
        return min(self.said_short, self.missing)

    @property
    def remaining(self) -> int:
        """Pieces nobody has accounted for yet."""
        return self.missing - self.short

    @property
    def state(self) -> str:
        """``done``, ``short`` or ``open``."""
        return "open" if self.remaining else "short" if self.short else "done"

    @property
    def stand_ins(self) -> list[Instrument]:
        """What may stand in for it and is in use."""
        return [one for one in self.line.substitutes.all() if not one.retired]

    @property
    def missing_words(self) -> str:
        """What is said to be missing, as every page and paper says it; "" where nothing is."""
        if not self.short:
            return ""
        return missing_words(self.line.name, missing=self.short, inside=self.counted,
                             wanted=self.line.wanted, substitutes=self.substituted)  # fmt: skip

    @property
    def refuses_to_go(self) -> bool:
        """Short, and not a line the set may go without."""
        return bool(self.short) and not self.line.may_go_without


@dataclass(frozen=True, slots=True)
class Inside:
    """Pieces of one instrument that are in the set, as the rules are told."""

    quantity: int
    instrument: Instrument


@dataclass(frozen=True)
class Tally:
    """A build with its lines, counts and events at one moment."""

    build: Build
    lines: tuple[LineCount, ...]
    events: tuple[BuildEvent, ...]

    @property
    def wanted(self) -> int:
        return sum(one.line.wanted for one in self.lines)

    @property
    def inside(self) -> int:
        return sum(one.inside for one in self.lines)

    @property
    def remaining(self) -> int:
        return sum(one.remaining for one in self.lines)

    @property
    def short(self) -> tuple[LineCount, ...]:
        return tuple(one for one in self.lines if one.short)

    @property
    def over(self) -> int:
        return sum(one.over for one in self.lines)

    @property
    def damaged(self) -> int:
        return sum(one.damaged for one in self.lines)

    @property
    def seen(self) -> int:
        """The number of the last event: two equal ones are the same moment."""
        return self.events[-1].pk if self.events else 0

    @cached_property
    def standing(self) -> tuple[BuildEvent, ...]:
        """Events that were not undone."""
        undone = {event.undoes_id for event in self.events if event.undoes_id}
        return tuple(event for event in self.events if event.pk not in undone)

    @property
    def to_undo(self) -> BuildEvent | None:
        """The step that an undo takes back; None where there is none or it is packed."""
        if self.build.state != Build.State.OPEN:
            return None
        return next((e for e in reversed(self.standing) if e.kind in UNDOABLE), None)

    @property
    def reading_g(self) -> float | None:
        """What the scale read last (g); None where nobody weighed since the last change."""
        return float(self._reading.data["grams"]) if self._reading else None

    @property
    def weighed_in(self) -> str | None:
        """The code of what was weighed; None where nobody said."""
        return self._reading.data.get("weighed_in") if self._reading else None

    @property
    def _reading(self) -> BuildEvent | None:
        last = next((e for e in reversed(self.standing) if e.kind in UNDOABLE), None)
        return last if last and last.kind == Kind.READING else None

    @property
    def weighed_open(self) -> BuildEvent | None:
        """The last reading before the lid, unless something was counted since."""
        last = next(
            (e for e in reversed(self.events) if e.kind in CHANGES_IT | {Kind.WEIGHED}), None
        )
        return last if last and last.kind == Kind.WEIGHED else None

    @property
    def asked(self) -> BuildEvent | None:
        """Who asks for the set, unless it changed hands since."""
        for event in reversed(self.events):
            if event.kind == Kind.TAKEN:
                return None
            if event.kind == Kind.ASKED:
                return event
        return None

    @property
    def taken(self) -> BuildEvent | None:
        """How it last changed hands."""
        return next((e for e in reversed(self.events) if e.kind == Kind.TAKEN), None)

    @property
    def packing(self) -> BuildEvent | None:
        """How it is packed, while it waits to be signed."""
        return next((e for e in reversed(self.events) if e.kind == Kind.PACKED), None)

    @property
    def current(self) -> LineCount | None:
        """The line to go on with: the one last touched while it is open, else the next open."""
        open_lines = [one for one in self.lines if one.remaining]
        last = next((event.line_id for event in reversed(self.events) if event.line_id), None)
        order = next((one.line.order for one in self.lines if one.line.pk == last), 0)
        after = (one for one in open_lines if one.line.order >= order)
        return next(after, open_lines[0] if open_lines else None)

    @property
    def contents(self) -> list[Inside]:
        """What is really in it: counted pieces and substitutes, line by line."""
        found = []
        for one in self.lines:
            if one.counted:
                found.append(Inside(one.counted, one.line.instrument))
            found += [Inside(count, instrument) for instrument, count in one.instead]
        return found

    @property
    def expected(self) -> list[Inside]:
        """What will be in it once all is found that is not said to be short."""
        to_find = [Inside(one.remaining, one.line.instrument)
                   for one in self.lines if one.remaining]  # fmt: skip
        return self.contents + to_find

    @property
    def heaviest(self) -> list[LineCount]:
        """The lines with the heaviest pieces on record, for the bottom of the basket."""
        weighed = [one for one in self.lines if one.line.instrument.weight_g]
        weighed.sort(key=lambda one: one.line.instrument.weight_g or 0, reverse=True)
        return weighed[:HEAVIEST]

    @property
    def begun(self) -> bool:
        """Whether a piece was counted, or said to be missing."""
        return any(event.kind in UNDOABLE for event in self.standing)

    def of(self, line_pk: int) -> LineCount:
        """The count of one line; KeyError where the build has no such line."""
        for one in self.lines:
            if one.line.pk == line_pk:
                return one
        raise KeyError(line_pk)


def tally_of(build: Build) -> Tally:
    """The build as it stands: four queries, however long it is."""
    lines = list(
        build.lines.select_related("instrument").prefetch_related(
            "instrument__cycles", "substitutes__cycles"
        )
    )
    return _with_events(build, lines)


def after(tally: Tally) -> Tally:
    """The same build after what was done since: its row and events are read anew, its lines,
    which stand as they were copied, are not."""
    tally.build.refresh_from_db(fields=CHANGES)
    return _with_events(tally.build, [one.line for one in tally.lines])


def line_of(build: Build, line_pk: int) -> LineCount:
    """The count of one line alone, for who has locked the build; DoesNotExist where it has no
    such line."""
    line = build.lines.select_related("instrument").get(pk=line_pk)
    return _counted([line], build.steps.filter(line=line))[0]


def _with_events(build: Build, lines: Sequence[BuildLine]) -> Tally:
    by_pk = {line.pk: line for line in lines}
    events = tuple(build.steps.select_related("instrument"))
    for event in events:
        if event.line_id in by_pk:
            event.line = by_pk[event.line_id]
    return Tally(build, _counted(lines, events), events)


def _counted(lines: Sequence[BuildLine], events: Iterable[BuildEvent]) -> tuple[LineCount, ...]:
    events = list(events)
    undone = {event.undoes_id for event in events if event.undoes_id}
    sums: dict[int, Counter[str]] = {line.pk: Counter() for line in lines}
    instead: dict[int, Counter[int]] = {line.pk: Counter() for line in lines}
    for event in events:
        if event.line_id is None or event.pk in undone:
            continue
        sums[event.line_id][event.kind] += event.quantity
        if event.kind == Kind.SUBSTITUTED and event.instrument_id:
            instead[event.line_id][event.instrument_id] += event.quantity
    return tuple(_line_count(line, sums[line.pk], instead[line.pk]) for line in lines)


def _line_count(line: BuildLine, sums: Counter[str], instead: Counter[int]) -> LineCount:
    by_pk = {one.pk: one for one in line.substitutes.all()} if instead else {}
    return LineCount(
        line,
        counted=sums[Kind.COUNTED] - sums[Kind.TAKEN_OUT],
        substituted=sums[Kind.SUBSTITUTED],
        said_short=sums[Kind.SHORT],
        damaged=sums[Kind.DAMAGED] + sums[Kind.TAKEN_OUT],
        over=sums[Kind.OVER],
        instead=tuple((by_pk[pk], count) for pk, count in instead.items() if pk in by_pk),
    )
