"""Work ahead: by when each thing must begin to be there in time, and which loads that takes.

Reckoned backward from when each thing is due: its way, its cycle, the way to its load, its
packing. Things that one cycle serves go together as far as the rack has room; two things at one
bench begin one after the other, two loads of one sterilizer too. What nobody knows the length of
is named, never guessed.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta

from assembly.rules.computing.ready import Stage, after_cycle, cycle_stages
from assembly.rules.facts.cycles import Programme
from assembly.rules.limits.racks import Piece, arranged
from assembly.rules.policy.values import Policy
from assembly.rules.telling.loading import Rack
from catalog.vocabulary import Method


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """One thing that waits: ``what`` by its ``number``, wherever it goes, is due then.

    ``hands`` is what is left to do at the bench; None: it is packed. ``goes_on``: somebody is at
    it now. ``cycles`` are those that serve it, in words. ``load`` is the one that it lies in.
    ``size`` is how each of its ``pieces`` stands in a rack, None where nobody knows. ``unknown``
    says why nothing can be reckoned of it, ``note`` what else is to be known.
    """

    number: str
    what: str
    due: datetime
    where: str = ""
    hands: Stage | None = None
    goes_on: bool = False
    cycles: tuple[str, ...] = ()
    load: str = ""
    size: Piece | None = None
    pieces: int = 1
    implant: bool = False
    unknown: str = ""
    note: str = ""

    @property
    def sizes(self) -> list[Piece | None]:
        """The size of each of its pieces."""
        return [self.size] * self.pieces


@dataclass(frozen=True, slots=True)
class Machine:
    """A sterilizer in use with its cycles; ``free`` None: now. ``out``: which of its cycles it
    cannot run today, in words, and why."""

    code: str
    programmes: tuple[Programme, ...]
    free: datetime | None = None
    rack: Rack | None = None
    out: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Begun:
    """A load that is filled and not started; the size of what is in it, None where unknown."""

    code: str
    machine: str
    cycle: str
    sizes: tuple[Piece | None, ...] = ()


@dataclass(frozen=True, slots=True)
class Way:
    """How one job may go: a cycle, its minutes, the minutes after it, who runs it."""

    programme: Programme
    minutes: float
    after: float
    machines: tuple[str, ...]

    def start_by(self, due: datetime) -> datetime:
        """By when the cycle must be started to be there when due."""
        return due - timedelta(minutes=self.minutes + self.after)


@dataclass
class Load:
    """A load that is needed: its jobs, and by when a sterilizer must start it; ``latest`` is that
    of each job alone.

    ``free`` is when that sterilizer can, where that is later. ``room_told`` is False where the
    size of something in it is not on record.
    """

    way: Way
    start_by: datetime
    code: str = ""
    machine: str = ""
    jobs: list[Job] = field(default_factory=list)
    latest: list[datetime] = field(default_factory=list)
    sizes: list[Piece | None] = field(default_factory=list)
    room_told: bool = True
    free: datetime | None = None

    @property
    def method(self) -> Method:
        return self.way.programme.method

    @property
    def late(self) -> timedelta | None:
        """How much too late it can be started; None where it is not."""
        return self.free - self.start_by if self.free and self.free > self.start_by else None


@dataclass(frozen=True, slots=True)
class Task:
    """What is to be done by when: ``begin_by`` None for what is packed or goes on already."""

    job: Job
    load: Load
    packed_by: datetime
    begin_by: datetime | None
    late: timedelta | None = None


@dataclass(frozen=True, slots=True)
class Plan:
    """What must begin, soonest first; the loads it takes; what nobody can tell, and why."""

    tasks: tuple[Task, ...]
    loads: tuple[Load, ...]
    unknown: tuple[tuple[Job, str], ...]


def latest_start(due: datetime, stages: Iterable[Stage]) -> datetime | None:
    """By when the first of the stages must begin; None where the length of one is not known.

    >>> latest_start(datetime(2026, 1, 6, 7, 30), [Stage("packing", 25), Stage("cycle", 57)])
    datetime.datetime(2026, 1, 6, 6, 8)
    """
    lengths = [one.minutes for one in stages]
    known = [one for one in lengths if one is not None]
    return due - timedelta(minutes=sum(known)) if len(known) == len(lengths) else None


def plan(
    jobs: Iterable[Job], machines: Sequence[Machine], begun: Sequence[Begun], now: datetime,
    policy: Policy,
) -> Plan:  # fmt: skip
    """By when each job must begin, with the fewest loads that one pass finds.

    No other order is searched: fewer loads, or later times, may be possible.
    """
    found, unknown = list[tuple[Job, tuple[Way, ...]]](), list[tuple[Job, str]]()
    for job in sorted(jobs, key=lambda one: (one.due, one.what)):
        ways, why = _ways(job, machines, begun, policy)
        if ways:
            found.append((job, ways))
        else:
            unknown.append((job, why))
    loads = _loads(found, machines, begun, now, policy)
    _shared_out(loads, machines, now)
    return Plan(
        tuple(sorted(_tasks(loads, now, policy), key=lambda one: one.begin_by or one.packed_by)),
        tuple(sorted(loads, key=lambda one: one.start_by)),
        tuple(unknown),
    )


def _ways(
    job: Job, machines: Sequence[Machine], begun: Sequence[Begun], policy: Policy
) -> tuple[tuple[Way, ...], str]:
    """The ways it may go, the shortest first; or why none can be told."""
    if job.unknown or (job.hands and job.hands.minutes is None):
        return (), job.unknown or (job.hands.source if job.hands else "")
    own = [one.machine for one in begun if one.code == job.load]
    runs: dict[str, tuple[Programme, list[str]]] = {}
    why = [f"no sterilizer in use runs {' or '.join(job.cycles)}"
           if job.cycles else "its cycle is not on record"]  # fmt: skip
    for machine in machines:
        for one in machine.programmes:
            if str(one) not in job.cycles or (own and machine.code not in own):
                continue
            if reason := machine.out.get(str(one)):
                why.append(reason)
                continue
            runs.setdefault(str(one), (one, []))[1].append(machine.code)
    ways = []
    for programme, codes in runs.values():
        stages = cycle_stages(programme)
        after = after_cycle(programme.method, policy, job.implant)
        if open_ := [one.source for one in (*stages, *after) if one.minutes is None]:
            why += open_
            continue
        length, rest = (sum(one.minutes or 0 for one in part) for part in (stages, after))
        ways.append(Way(programme, length, rest, tuple(codes)))
    ways.sort(key=lambda one: (one.minutes + one.after, one.programme.code))
    return tuple(ways), "; ".join(dict.fromkeys(why[1:] or why))


def _loads(
    found: Iterable[tuple[Job, tuple[Way, ...]]], machines: Sequence[Machine],
    begun: Sequence[Begun], now: datetime, policy: Policy,
) -> list[Load]:  # fmt: skip
    """The jobs in as few loads as come of filling one after the other, what is due first first."""
    racks = {one.code: one.rack for one in machines}
    gap, loads = policy.number("rack_gap_mm"), list[Load]()
    for job, ways in sorted(found, key=lambda one: one[1][0].start_by(one[0].due)):
        load = next((one for one in loads if _takes(one, job, ways, racks, gap, now)), None)
        if load is None:
            left = [one for one in begun if all(one.code != each.code for each in loads)]
            load = _new(job, ways, left, racks, gap)
            loads.append(load)
        way = next(one for one in ways if one.programme == load.way.programme)
        load.way = replace(load.way, machines=_both(load.way, way))
        load.start_by = min(load.start_by, way.start_by(job.due))
        load.jobs.append(job)
        load.latest.append(way.start_by(job.due))
        if not job.load:
            load.sizes += job.sizes
        load.room_told &= _room(load.sizes, load.way.machines, racks, gap) is not None
    return loads


def _new(
    job: Job, ways: Sequence[Way], begun: Sequence[Begun], racks: dict[str, Rack | None], gap: float
) -> Load:
    """The load that is filled already and takes it, its own first; else one that is begun."""
    for one in begun:
        way = next((each for each in ways if str(each.programme) == one.cycle
                    and one.machine in each.machines), None)  # fmt: skip
        if way is None or (job.load and one.code != job.load):
            continue
        sizes = list(one.sizes)
        if job.load or _room([*sizes, *job.sizes], (one.machine,), racks, gap):
            way = replace(way, machines=(one.machine,))
            return Load(way, way.start_by(job.due), one.code, sizes=sizes)
    return Load(ways[0], ways[0].start_by(job.due))


def _takes(
    load: Load, job: Job, ways: Sequence[Way], racks: dict[str, Rack | None], gap: float,
    now: datetime,
) -> bool:  # fmt: skip
    """Whether a job goes into a load: its cycle serves it, there is room, and it would be too late
    for the run after this one."""
    way = next((one for one in ways if one.programme == load.way.programme), None)
    both = _both(load.way, way) if way else ()
    if way is None or not both or (job.load and job.load != load.code):
        return False
    if job.load:
        return True
    next_run = max(load.start_by, now) + timedelta(minutes=load.way.minutes)
    if way.start_by(job.due) >= next_run:
        return False
    return _room([*load.sizes, *job.sizes], both, racks, gap) is not False


def _both(one: Way, other: Way) -> tuple[str, ...]:
    return tuple(code for code in one.machines if code in other.machines)


def _room(
    sizes: Sequence[Piece | None], machines: Iterable[str], racks: dict[str, Rack | None],
    gap: float,
) -> bool | None:  # fmt: skip
    """Whether all of it stands in the rack of each of these; None where that cannot be told."""
    answers: list[bool | None] = []
    for code in machines:
        rack, pieces = racks.get(code), [one for one in sizes if one]
        if rack is None or (rack.most_g is not None and any(one.gross_g is None for one in pieces)):
            answers.append(None)
            continue
        shelves = arranged(pieces, rack.shelf, gap, rack.most_g)
        fits = shelves is not None and len(shelves) <= rack.shelves
        answers.append(None if fits and len(pieces) < len(sizes) else fits)
    return False if False in answers else None if None in answers else True


def _shared_out(loads: Sequence[Load], machines: Sequence[Machine], now: datetime) -> None:
    """Each load's sterilizer and start, the last first: two of one never overlap. Then how soon it
    can be started, after those before it."""
    free = {one.code: max(one.free or now, now) for one in machines}
    after: dict[str, datetime] = {}
    never = max((one.start_by for one in loads), default=now) + timedelta(days=1)
    for load in sorted(loads, key=lambda one: one.start_by, reverse=True):
        length = timedelta(minutes=load.way.minutes)
        starts = {code: min(load.start_by, after[code] - length if code in after else load.start_by)
                  for code in load.way.machines}  # fmt: skip
        # of equal starts the sterilizer that has most time until its next
        load.machine = max(starts, key=lambda code: (starts[code], after.get(code, never)))
        load.start_by = after[load.machine] = starts[load.machine]
    for load in sorted(loads, key=lambda one: one.start_by):
        load.free = free[load.machine]
        free[load.machine] += timedelta(minutes=load.way.minutes)


def _tasks(loads: Iterable[Load], now: datetime, policy: Policy) -> Iterator[Task]:
    """What is to be done for each load, as late as so many hands can."""
    carried = timedelta(minutes=policy.number("load_way_min"))
    wanted = [
        (_packed_by(load, latest) - carried, load, job)
        for load in loads
        for job, latest in zip(load.jobs, load.latest, strict=True)
    ]
    hands: list[list[Task]] = [[] for _ in range(int(policy.number("ahead_hands")))]
    for by, load, job in sorted(wanted, key=lambda one: (one[0], one[2].due), reverse=True):
        length = timedelta(minutes=(job.hands.minutes or 0) if job.hands else 0)
        if job.hands is None or job.goes_on:
            yield Task(job, load, by, None, _behind(now + length, by))
            continue
        # whoever has to begin latest so far, or has nothing to do yet
        own = max(hands, key=lambda one: (not one, one[-1].begin_by if one else by))
        end = min(by, own[-1].begin_by or by) if own else by
        own.append(Task(job, load, by, end - length))
    for one in hands:
        yield from _one_after_the_other(reversed(one), now)


def _packed_by(load: Load, latest: datetime) -> datetime:
    """By when a job must be at its load: where that starts late, it waits for the job as well."""
    return max(load.start_by, min(latest, load.free or latest))


def _one_after_the_other(tasks: Iterable[Task], now: datetime) -> Iterator[Task]:
    """The tasks of one pair of hands, each as late as it is when all before it are done at once."""
    for task in tasks:
        yield replace(task, late=_behind(now, task.begin_by or now))
        now += timedelta(minutes=(task.job.hands.minutes or 0) if task.job.hands else 0)


def _behind(now: datetime, by: datetime) -> timedelta | None:
    return now - by if now > by else None
