"""What a day's list of cases needs, and whether it is ready: what was said, and what was asked for.

Only reads. What is needed first gets what is there first: two needs of one package are not both
ready.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta

from django.utils import timezone

from assembly.models import (
    Build,
    Package,
    Request,
    RequestState,
    SetNeed,
    ShelfMove,
    ShelfState,
)
from assembly.models.requests import RUNNING
from assembly.requests import lists
from assembly.requests.clocks import clock, span
from assembly.requests.coming import coming_of, how_far
from assembly.requests.falling import Falling, counted, lying
from assembly.requests.timing import Timing
from assembly.rules.computing.ready import Ready

BEING_MADE = (Build.State.OPEN, Build.State.PACKED)


@dataclass(frozen=True, slots=True)
class Needed:
    """One thing of a day's list: ``row`` where it was asked for, ``need`` where it was said.

    ``lies`` whether it is on the shelf for it, ``went`` to whom it was handed over, ``maker`` who
    assembles one.
    """

    at: datetime
    where: str
    need: SetNeed | None = None
    row: lists.Row | None = None
    lies: bool = False
    went: str = ""
    maker: str = ""
    ready: Ready | None = None

    @property
    def is_ready(self) -> bool:
        """Whether nothing more is to be done to it but the way."""
        if self.row:
            return self.row.request.state == RequestState.HANDED_OVER or self.lies
        return self.lies or bool(self.went)

    @property
    def late(self) -> str:
        """How much too late it can be there, in words; "" where it is not."""
        late = self.ready.late(self.at) if self.ready and not self.is_ready else None
        return span(late) if late else ""

    @property
    def stands(self) -> str:
        """How it stands, in words."""
        if self.went:
            return f"Handed over: {self.went}"
        if self.lies:
            return "Ready, on the shelf"
        if self.row and not (self.row.request.state == RequestState.OPEN and self.ready):
            return self.row.stands
        if self.ready and self.ready.shown:
            return f"Not ready: about {clock(self.ready.shown, timezone.now())} {self.ready.when}"
        if self.maker:
            return f"Not ready: {self.maker} is assembling it"
        why = self.ready.unknown if self.ready else "none is on record"
        return f"Not ready: {why}"


@dataclass(frozen=True, slots=True)
class Share:
    """What one need has of what is there: ``lying`` on the shelf, of which so ``many`` go to it
    and to all that is needed before it. ``went``: to whom what met it was handed over, and when;
    "" where it was not.
    """

    need: SetNeed
    many: int
    lying: int
    went: str = ""

    @property
    def lies(self) -> bool:
        """Whether it is on the shelf for it."""
        return self.lying >= self.many


def bounds(day: date) -> tuple[datetime, datetime]:
    """The beginning and the end of a day, by the department's clock."""
    begin = timezone.make_aware(datetime.combine(day, time.min))
    return begin, timezone.make_aware(datetime.combine(day + timedelta(days=1), time.min))


def list_of(day: date) -> list[Needed]:
    """What the day needs, in the order of its times."""
    return list_between(*bounds(day))


def list_between(begin: datetime, end: datetime, *, running: bool = False) -> list[Needed]:
    """What is needed from ``begin`` to before ``end``; of what was asked for all, or what runs."""
    found = SetNeed.still().filter(needed_at__gte=min(begin, timezone.now()), needed_at__lt=end)
    needs = list(found.select_related("instrument_set", "instrument"))
    asked = Request.objects.filter(needed_by__gte=begin, needed_by__lt=end)
    timing = Timing()
    states = asked.exclude(state=RequestState.WITHDRAWN)
    rows = lists.rows(asked.filter(state__in=RUNNING) if running else states, timing=timing)
    said = [one for one in _said(needs, timing) if one.at >= begin]
    made = [Needed(row.request.needed_by, row.request.destination, row=row, ready=row.ready,
                   lies=_lies_for(row)) for row in rows]  # fmt: skip
    return sorted([*said, *made], key=lambda one: one.at)


def _lies_for(row: lists.Row) -> bool:
    """Whether what was asked for waits for its way alone."""
    sent = row.request.state == RequestState.ON_THE_WAY
    return sent or row.far == lists.FAR[lists.Word.RELEASED]


def _said(needs: Sequence[SetNeed], timing: Timing) -> Iterable[Needed]:
    """Each need with how it stands, after what is needed before it got its share."""
    numbers = {one.number for one in needs}
    shares = shares_of(needs)
    wanted = {one.need.pk: _as_asked(one) for one in shares}
    falling = Falling(wanted.values(), {}, {one.need.number: one.lying for one in shares}, timing)
    makers = dict(Build.objects.filter(set_code__in=numbers, state__in=BEING_MADE)
                  .values_list("set_code", "holder_name"))  # fmt: skip
    for share in shares:
        need = share.need
        if share.went:
            yield Needed(need.needed_at, need.where, need, went=share.went)
            continue
        ready = falling.ready(wanted[need.pk])
        yield Needed(need.needed_at, need.where, need, lies=share.lies,
                     maker=makers.get(need.number, ""), ready=ready)  # fmt: skip


def shares_of(needs: Sequence[SetNeed]) -> list[Share]:
    """What each of these needs, in the order of their times, has of what is there: four queries."""
    if not needs:
        return []
    numbers = {one.number for one in needs}
    last = max(one.needed_at for one in needs)
    there, gone = lying(numbers), _gone(needs, numbers)
    before = [(one.needed_by, one.number, one.quantity) for one in Request.objects.filter(
        number__in=numbers, needed_by__lte=last, state__in=RUNNING, ties=None)]  # fmt: skip
    # what went to a place serves whom that place was said for, before those who said none
    went = {one.pk: _went(one, gone) for one in sorted(needs, key=lambda one: not one.where)}
    taken, found = Counter[str](), []
    for need in needs:
        number = need.number
        if not went[need.pk]:
            taken[number] += need.quantity
        ahead = sum(many for at, of, many in before if of == number and at <= need.needed_at)
        found.append(Share(need, taken[number] + ahead, there[number], went[need.pk]))
    return found


@dataclass(frozen=True, slots=True)
class Comes:
    """What a need waits for: a package, how far it is, when it can be there, and whether that is
    in ``time``."""

    package: Package
    far: str
    ready: Ready
    at: datetime
    time: bool = False


def comes_for(shares: Sequence[Share]) -> dict[int, Comes]:
    """Of what lies too few of, what comes to meet each need, by the need: the package by which
    enough are there. None where too few come, or at no time that can be told.

    Two queries where nothing comes.
    """
    found = coming_of({one.need.number for one in shares}) if shares else {}
    timing, by_number = Timing(), dict[str, list[Comes]]()
    for number, packages in found.items():
        for one in packages:
            ready = timing.of_package(one)
            if ready and ready.at:
                comes = Comes(one, how_far(one), ready, ready.at)
                by_number.setdefault(number, []).extend([comes] * counted(one.kind, one.pieces))
    met = {}
    for share in shares:
        each = sorted(by_number.get(share.need.number, ()), key=lambda one: one.at)
        last = share.many - share.lying - 1
        if 0 <= last < len(each):
            met[share.need.pk] = replace(each[last], time=each[last].at <= share.need.needed_at)
    return met


def _as_asked(share: Share) -> Request:
    """The need as a request that nobody made, to be reckoned like one, after what is before it."""
    need = share.need
    return Request(instrument=need.instrument, wanted_set=need.instrument_set, number=need.number,
                   quantity=share.many, needed_by=need.needed_at)  # fmt: skip


def _gone(needs: Sequence[SetNeed], numbers: set[str]) -> list[ShelfMove]:
    """What of these went since the first of the needs was said, the first first; each serves one
    need."""
    since = min(one.at for one in needs)
    moves = ShelfMove.objects.filter(state=ShelfState.HANDED_OVER, at__gte=since,
                                     package__number__in=numbers)  # fmt: skip
    found = moves.order_by("at", "pk").select_related("package")
    return list(found.defer("package__checks"))


def _went(need: SetNeed, gone: list[ShelfMove]) -> str:
    """To whom, and when, what serves this need was handed over; "" where it was not."""
    serve, pieces = list[ShelfMove](), 0
    for one in gone:
        serves = one.package.number == need.number and one.at > need.at
        if not serves or need.where.casefold() not in one.to.casefold():
            continue
        serve.append(one)
        pieces += counted(one.package.kind, one.package.pieces)
        if pieces >= need.quantity:
            for each in serve:
                gone.remove(each)
            return f"{one.to}, {clock(one.at, timezone.now())}"
    return ""
