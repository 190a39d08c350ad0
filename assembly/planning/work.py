"""Work ahead: from what the day needs, and how far each thing is, to what must begin by when.

Only reads, a fixed number of queries for the whole board. What is needed first gets what is there
first, as on a day's list.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Any

from django.db.models import OuterRef, Subquery

from assembly.judging.decisions import decide_for_set
from assembly.judging.facts_from_catalog import lines_of_many
from assembly.judging.questions_from_catalog import shared_now
from assembly.models import Build, LoadState, Package, RequestPackage, RequestState
from assembly.packages.implants import numbers_in
from assembly.packages.standing import NOT_YET, load_in, standing_of, with_standing
from assembly.requests.coming import HEAVY, coming_of
from assembly.requests.falling import counted, lying, packing_left
from assembly.requests.needs import BEING_MADE, Needed, list_between
from assembly.requests.timing import Timing
from assembly.rules.computing.ahead import Begun, Job, Machine, Plan, plan
from assembly.rules.computing.ready import Ready
from assembly.rules.limits.racks import Piece
from assembly.sterilizing.lists import now as loads_now
from assembly.sterilizing.racking import rack_of, stand_in, stands_of
from catalog.models import CountSheet, Instrument, InstrumentSet, Sterilizer

MOST_PIECES = 99
LATE_STILL_SHOWN = timedelta(hours=12)
"""How long what was needed and never went stays on the board. Our own bound, as on the Bench."""


@dataclass(frozen=True, slots=True)
class Release:
    """A load that runs: what in it is needed, by when it must be released for it."""

    load: str
    what: tuple[str, ...]
    by: datetime
    ready: Ready
    late: timedelta | None


@dataclass(frozen=True, slots=True)
class Board:
    """What a shift does, from now to ``until``; ``hands`` at a time, as the policy says.

    ``idle`` are loads that are filled and hold nothing of all this.
    """

    now: datetime
    until: datetime
    hands: int
    hands_source: str
    plan: Plan
    releases: tuple[Release, ...]
    idle: tuple[str, ...]

    @property
    def empty(self) -> bool:
        """Whether nothing waits."""
        return not (self.plan.tasks or self.plan.unknown or self.releases)


def board() -> Board:
    """The shift's board as it is now."""
    timing = Timing()
    hours = timing.policy.number("ahead_hours")
    until = timing.now + timedelta(hours=hours)
    reading = _Reading(timing, _wanted(timing.now, until))
    jobs = list(reading.jobs())
    begun = _begun(timing)
    found = plan(jobs, _machines(timing), begun, timing.now, timing.policy)
    used = {one.code for one in found.loads}
    return Board(
        timing.now, until, int(timing.policy.number("ahead_hands")),
        timing.policy.source("ahead_hands"), found, tuple(reading.released()),
        tuple(one.code for one in begun if one.code not in used),
    )  # fmt: skip


def _wanted(now: datetime, until: datetime) -> list[Needed]:
    """What is needed until then and still runs, in the order of its times; what is ready takes
    its share of what is there, and so is in it."""
    found = list_between(now - LATE_STILL_SHOWN, until, running=True)
    return [one for one in found if not one.went]


def _machines(timing: Timing) -> list[Machine]:
    """Every sterilizer in use, with what it cannot run today."""
    racks = {one.code: rack_of(one) for one in Sterilizer.objects.filter(active=True)}
    by_code = defaultdict(list)
    for run in timing.runs:
        by_code[run.sterilizer].append(run)
    return [
        Machine(
            code, tuple(one.programme for one in runs),
            max((one.free for one in runs if one.free), default=None), racks.get(code),
            {str(one.programme): one.unknown for one in runs if one.unknown},
        )
        for code, runs in by_code.items()
    ]  # fmt: skip


def _begun(timing: Timing) -> list[Begun]:
    """Loads that are filled and not started: two queries for each."""
    filled = loads_now().filter(state=LoadState.GATHERING)
    return [
        Begun(str(load), load.sterilizer_code, load.programme,
              tuple(one.piece for one in stand_in(load, timing.policy)))
        for load in filled.select_related("sterilizer") if load.inside  # type: ignore[attr-defined]
    ]  # fmt: skip


class _Reading:
    """What stands behind what is wanted, read once for all of it."""

    def __init__(self, timing: Timing, wanted: list[Needed]) -> None:
        self.timing, self.wanted = timing, wanted
        numbers = {_number(one) for one in wanted}
        self.lying = lying(numbers)
        self.pool = coming_of(numbers) if numbers else {}
        self.held = _held([one for one in wanted if one.row])
        sets = InstrumentSet.objects.filter(code__in=numbers, retired=False)
        sets = sets.select_related("container", "basket", "wrap")
        made = {one.code: one for one in sets.annotate(last=_last_package("code"))}
        loose = Instrument.objects.filter(item_number__in=numbers, retired=False)
        things = {one.item_number: one for one in loose.annotate(last=_last_package("item_number"))}
        # what says its cycle and how it stands in a rack is how it was packed last
        every: Iterable[Any] = (*made.values(), *things.values())
        self.last = _packages(one.last for one in every)
        self.sets, self.instruments = dict(made), dict(things)
        self.assembling = timing.assembling_each([one.pk for one in self.sets.values()])
        self.cycles = _cycles_of([one for code, one in self.sets.items() if code not in self.last])
        self.builds: dict[str, list[Build]] = defaultdict(list)
        open_ = Build.objects.filter(set_code__in=numbers, state__in=BEING_MADE)
        for build in open_.select_related("instrument_set").order_by("started_at"):
            self.builds[build.set_code].append(build)
        self._releases: dict[str, list[tuple[str, datetime, Ready]]] = defaultdict(list)

    def jobs(self) -> Iterator[Job]:
        """Each thing that is to be done for what is wanted."""
        for one in self.wanted:
            number, left = _number(one), _quantity(one)
            held = self.held.get(one.row.request.pk, []) if one.row else []
            if one.row and one.is_ready:
                continue
            for package in held:
                left -= counted(package.kind, package.pieces)
                yield from self._of_package(one, package)
            there = min(max(0, left), self.lying[number])
            self.lying[number] -= there
            left -= there
            while left > 0 and self.pool.get(number):
                package = self.pool[number].pop(0)
                left -= counted(package.kind, package.pieces)
                yield from self._of_package(one, package)
            while left > 0 and self.builds[number]:
                left -= 1
                yield self._going_on(one, self.builds[number].pop(0))
            if left > 0:
                yield self._to_make(one, number, left)

    def released(self) -> Iterator[Release]:
        """Loads that run and hold something of it, by when they must be released."""
        way = timedelta(minutes=self.timing.policy.number("way_there_min"))
        for load, inside in self._releases.items():
            what, due, ready = min(inside, key=lambda one: one[1])
            late = ready.late(due)
            names = tuple(dict.fromkeys([what, *(one[0] for one in inside)]))
            yield Release(load, names, due - way, ready, late)

    def _of_package(self, one: Needed, package: Package) -> Iterator[Job]:
        """What is left to do for a package as it stands; nothing for what is sterile."""
        standing, load = standing_of(package), load_in(package)
        if standing.may_go and standing.word not in NOT_YET:
            return
        ready = self.timing.of_package(package)
        if load and load.state == LoadState.RUNNING and ready:
            self._releases[str(load)].append((_what(one), one.at, ready))
            return
        made = _job(one, package.number)
        if ready is None or standing.may_go:
            yield replace(made, unknown=standing.why or "releases are kept elsewhere")
            return
        gathering = load if load and load.state == LoadState.GATHERING else None
        yield replace(
            made, note=package.code,
            cycles=(gathering.programme,) if gathering else tuple(package.programmes),
            load=str(gathering) if gathering else "", size=self._size(package),
            implant=self._has_implant(package),
        )  # fmt: skip

    def _going_on(self, one: Needed, build: Build) -> Job:
        whole = self.assembling.get(build.instrument_set_id)
        made = self._to_make(one, build.set_code, 1)
        left = self.timing.left_of(build, whole)
        return replace(made, hands=left, goes_on=True, note=f"{build.holder_name} is at it")

    def _to_make(self, one: Needed, number: str, many: int) -> Job:
        """So many that are to be packed or assembled."""
        made = replace(_job(one, number), pieces=min(many, MOST_PIECES))
        found, thing = self.sets.get(number), self.instruments.get(number)
        last = self.last.get(number)
        if found:
            stage, note = self.assembling[found.pk], ""
        elif thing:
            stage, note = self.timing.packing, _spares(thing, many)
        else:
            return replace(made, unknown="it is not in the catalog, or out of use")
        if thing and thing.spares_on_hand == 0:
            return replace(made, unknown="no loose spare is on hand")
        hands = replace(stage, minutes=None if stage.minutes is None else many * stage.minutes)
        goes_on = one.row is not None and one.row.request.state == RequestState.PACKING
        if one.row and goes_on:
            hands = packing_left(hands, one.row.steps, self.timing.now)
            note = f"{one.row.request.holder_name} is at it"
        cycles = tuple(last.programmes) if last else self.cycles.get(number) or _asked_with(one)
        size = self._size(last) if last else _box(found) if found else None
        implant = bool(thing and thing.implant) or bool(last and self._has_implant(last))
        return replace(made, hands=hands, cycles=cycles, size=size, implant=implant, note=note,
                       goes_on=goes_on)  # fmt: skip

    def _size(self, package: Package) -> Piece | None:
        return stands_of(package, self.timing.policy).piece

    def _has_implant(self, package: Package) -> bool:
        return bool(self.timing.implants & numbers_in(package.contents))


def _number(one: Needed) -> str:
    return one.row.request.served_by if one.row else one.need.number if one.need else ""


def _quantity(one: Needed) -> int:
    return one.row.request.quantity if one.row else one.need.quantity if one.need else 0


def _what(one: Needed) -> str:
    return str(one.row.request) if one.row else str(one.need)


def _job(one: Needed, number: str) -> Job:
    return Job(number=number, what=_what(one), due=one.at, where=one.where)


def _asked_with(one: Needed) -> tuple[str, ...]:
    """The cycles that a loose piece would be packed for, as they were when it was asked for."""
    sources = one.row.request.sources if one.row else ()
    return next((tuple(each["cycles"]) for each in sources if each.get("cycles")), ())


def _spares(thing: Instrument, many: int) -> str:
    if thing.spares_on_hand is None:
        return "nobody has counted the spares"
    return f"{thing.spares_on_hand} loose" if thing.spares_on_hand < many else ""


def _box(one: InstrumentSet) -> Piece | None:
    """How a set stands that was never packed here: its container, else its basket, outside."""
    holder = one.container or one.basket
    sides = [getattr(holder, f"outer_{side}_mm", None) for side in ("length", "width", "height")]
    if None in sides:
        return None
    length, width, height = (float(side) for side in sides if side is not None)
    return Piece(one.code, length, width, height)


def _held(asked: Iterable[Needed]) -> dict[int, list[Package]]:
    """The packages that serve each request, by its key: two queries."""
    keys = [one.row.request.pk for one in asked if one.row]
    ties = RequestPackage.objects.filter(request__in=keys, let_go_at=None)
    of = dict(ties.values_list("package", "request"))
    found: dict[int, list[Package]] = defaultdict(list)
    for package in with_standing(Package.objects.filter(pk__in=of)).defer(*HEAVY):
        if standing_of(package).to_be_had:
            found[of[package.pk]].append(package)
    return found


def _last_package(number: str) -> Subquery:
    """The key of the last package of a thing, by the name of its number."""
    packed = Package.objects.filter(number=OuterRef(number), void_at=None).exclude(method="")
    return Subquery(packed.order_by("-pk").values("pk")[:1])


def _packages(keys: Iterable[int | None]) -> dict[str, Package]:
    """These packages by number, with what says how they stand in a rack: one query."""
    rows = Package.objects.filter(pk__in=[one for one in keys if one]).defer(*HEAVY)
    rows = rows.select_related("instrument", "build__instrument_set__basket")
    return {one.number: one for one in rows}


def _cycles_of(sets: list[InstrumentSet]) -> dict[str, tuple[str, ...]]:
    """The cycle of each set that was never packed, as the rules recommend it now; six queries for
    all, none where there is none."""
    current = CountSheet.objects.filter(instrument_set__in=sets, state=CountSheet.State.CURRENT)
    sheets = list(current) if sets else []
    if not sheets:
        return {}
    lines, shared = lines_of_many(sheets), shared_now()
    by_pk, found = {one.pk: one for one in sets}, dict[str, tuple[str, ...]]()
    for sheet in sheets:
        one = by_pk[sheet.instrument_set_id]
        taken = decide_for_set(one, lines[sheet.pk], out=(), shared=shared).decision.recommended
        if taken and taken.details.get("cycle"):
            found[one.code] = (str(taken.details["cycle"]),)
    return found
