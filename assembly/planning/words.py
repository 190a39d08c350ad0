"""The shift's board in words, as its page, its paper and its command say it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from assembly.planning.work import Board
from assembly.requests.clocks import clock, span
from assembly.rules.computing.ahead import Job, Load, Task

NOT_KNOWN = ("Whether what goes into a set is back and clean is not on record here. One order is "
             "searched: fewer loads, or a later start, may be possible.")  # fmt: skip
"""What the board does not know."""


@dataclass(frozen=True, slots=True)
class Begin:
    """One thing to do: ``act`` it ``by`` a time; ``length`` by its ``source``, "" for none.

    ``own``: that is the department's own median. ``going`` is where it goes and when that
    can start, ``late`` how much too late it is, ``note`` what else is to be known.
    """

    by: str
    act: str
    what: str
    number: str
    where: str
    due: str
    length: str
    source: str
    going: str
    late: str
    note: str
    own: bool


@dataclass(frozen=True, slots=True)
class Run:
    """One load: by when it starts, in which sterilizer, and what is in it."""

    by: str
    sterilizer: str
    cycle: str
    code: str
    inside: tuple[str, ...]
    late: str
    doubt: str


@dataclass(frozen=True, slots=True)
class Out:
    """A load that runs: by when it is released, and for what."""

    by: str
    load: str
    inside: tuple[str, ...]
    late: str


@dataclass(frozen=True, slots=True)
class Unknown:
    """What nobody can tell, and why."""

    what: str
    number: str
    where: str
    due: str
    why: str


@dataclass(frozen=True, slots=True)
class Said:
    """The whole board; each part in the order of its times."""

    now: str
    until: str
    hands: str
    begin: tuple[Begin, ...]
    runs: tuple[Run, ...]
    out: tuple[Out, ...]
    unknown: tuple[Unknown, ...]
    idle: tuple[str, ...]

    @property
    def empty(self) -> bool:
        """Whether nothing waits."""
        return not (self.begin or self.out or self.unknown)


def said_of(board: Board) -> Said:
    """The board in words."""
    now = board.now
    people = "1 person packs" if board.hands == 1 else f"{board.hands} people pack"
    return Said(
        clock(now, now), clock(board.until, now), f"{people} at a time ({board.hands_source})",
        tuple(_begin(one, now) for one in board.plan.tasks),
        tuple(_run(one, now) for one in board.plan.loads),
        tuple(Out(clock(one.by, now), one.load, one.what, _late(one.late))
              for one in board.releases),
        tuple(_unknown(job, why, now) for job, why in board.plan.unknown),
        board.idle,
    )  # fmt: skip


def _begin(one: Task, now: datetime) -> Begin:
    job, hands = one.job, one.job.hands
    act = "goes on, pack" if job.goes_on else "begin" if one.begin_by else "load"
    length = f"{hands.minutes:g} min" if hands else ""
    if job.goes_on and hands and not hands.minutes:
        length = "over its time"
    starts = max(one.load.start_by, one.load.free or one.load.start_by)
    return Begin(
        clock(one.begin_by or one.packed_by, now), act, job.what, job.number, job.where,
        clock(job.due, now), length,
        hands.source if hands else "", f"{one.load.machine} {clock(starts, now)}",
        _late(one.late), job.note, bool(hands and hands.own),
    )  # fmt: skip


def _run(one: Load, now: datetime) -> Run:
    doubt = "" if one.room_told else "whether there is room cannot be told"
    inside = tuple(f"{job.what} ({job.number})" for job in one.jobs)
    return Run(clock(one.start_by, now), one.machine, one.way.programme.code, one.code, inside,
               _late(one.late), doubt)  # fmt: skip


def _unknown(job: Job, why: str, now: datetime) -> Unknown:
    return Unknown(job.what, job.number, job.where, clock(job.due, now), why)


def _late(length: timedelta | None) -> str:
    return f"{span(length)} too late" if length else ""
