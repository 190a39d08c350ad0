"""Requests as pages list them: the queue, a department's own, what changed since a look."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime

from django.db import connection, models
from django.db.models import Max, Prefetch, Q, QuerySet
from django.utils import timezone

from assembly.ledger import verb
from assembly.models import (
    LastLook,
    LoadState,
    LoadStep,
    Package,
    Request,
    RequestPackage,
    RequestState,
    RequestStep,
)
from assembly.models.requests import HELD, RUNNING
from assembly.packages.standing import Word, every_with_standing, load_in, standing_of
from assembly.persons import Person
from assembly.requests.clocks import clock, span
from assembly.requests.falling import Falling, counted, lying
from assembly.requests.timing import Timing
from assembly.requests.urgency import urgency_of
from assembly.rules.computing.ready import Ready, latest

MOST_PAST = 30
EVER = datetime(2000, 1, 1, tzinfo=UTC)
"""Before any request: what ended at all is a range of an index."""
WITH = ("instrument", "missing_from", "instead", "instead_set")
"""What a list shows of a request beyond its own row."""
THERE = "there"
WORKING = (RequestState.TAKEN, RequestState.PACKING)
FAR = {
    Word.UNSEALED: "Packed, waits for its seal",
    Word.PACKED: "Packed, waits for a load",
    Word.IN_A_LOAD: "Packed, in a load that is not started",
    LoadState.RUNNING: "In the sterilizer",
    Word.RELEASED: "Released, to be taken there",
}
"""How far a package for a request is, what is furthest back first."""


@dataclass(frozen=True, slots=True)
class Row:
    """One request as a list shows it; ``held`` are the packages that serve it while it runs."""

    request: Request
    steps: tuple[RequestStep, ...]
    now: datetime
    changed: bool = False
    on_shelf: bool = False
    far: str = ""
    ready: Ready | None = None
    urgency: Request.Urgency = Request.Urgency.ROUTINE
    held: tuple[Package, ...] = ()

    @property
    def urgent(self) -> bool:
        """Whether it is more than routine, while it runs."""
        return self.request.running and self.urgency != Request.Urgency.ROUTINE

    @property
    def about(self) -> str:
        """When it can be there, on the clock; "" where that cannot be told."""
        at = self.ready.shown if self.ready else None
        return clock(at, self.now) if at else ""

    @property
    def behind(self) -> str:
        """How much later than it is needed it can be there, in words; "" where it is not."""
        late = self.ready.late(self.request.needed_by) if self.ready else None
        return span(late) if late else ""

    @property
    def behind_words(self) -> str:
        """That it cannot be there in time, as both sides read it; "" where it can."""
        return f"Falls behind: about {self.about} at the earliest" if self.behind else ""

    @property
    def nothing_there(self) -> bool:
        """Whether nothing on record could serve it when it was asked."""
        return not any(one["answer"] == THERE for one in self.request.sources)

    @property
    def stands(self) -> str:
        """How it stands: of what is being packed, how far its package is."""
        asked = "Asked" if self.request.state == RequestState.OPEN else ""
        return self.far or asked or self.request.get_state_display()

    @property
    def overdue(self) -> bool:
        return self.request.running and self.request.needed_by < self.now

    @property
    def due(self) -> str:
        """By when, and how long that is; said in words when it is over."""
        by = clock(self.request.needed_by, self.now)
        if not self.request.running:
            return f"was needed by {by}"
        if self.overdue:
            return f"overdue by {span(self.now - self.request.needed_by)}, was needed by {by}"
        return f"needed by {by}, in {span(self.request.needed_by - self.now)}"

    @property
    def last(self) -> RequestStep:
        return self.steps[-1]

    @property
    def last_words(self) -> str:
        """The last step: what, who, when and why."""
        same = len(self.steps) > 1 and self.last.state == self.steps[-2].state
        if same and self.last.reason:
            return f"{self.last.reason}: {self.last.by}, {clock(self.last.at, self.now)}"
        reason = f": {self.last.reason}" if self.last.reason else ""
        what = "asked for" if len(self.steps) == 1 else self.last.get_state_display().lower()
        return f"{what} by {self.last.by}, {clock(self.last.at, self.now)}{reason}"


@dataclass(frozen=True, slots=True)
class Together:
    """What was asked for in one press, as one card: its lines, one or more."""

    rows: tuple[Row, ...]

    @property
    def row(self) -> Row:
        """The line that the card opens: the first that still runs."""
        return next((one for one in self.rows if one.request.running), self.rows[0])

    @property
    def changed(self) -> bool:
        return any(one.changed for one in self.rows)

    @property
    def ready(self) -> Ready | None:
        """When all that still runs is there: the latest of its lines."""
        running = [one for one in self.rows if one.request.running]
        if not running or any(one.ready is None for one in running):
            return None
        return latest([one.ready for one in running if one.ready])

    @property
    def whole(self) -> Row:
        """The request as a whole: its first line that runs, with the time of all."""
        return replace(self.row, ready=self.ready)


def together(found: Iterable[Row]) -> list[Together]:
    """Lines that were asked for in one press side by side, where the first of them stands."""
    by_request: dict[int, list[Row]] = {}
    for one in found:
        by_request.setdefault(one.request.first_pk, []).append(one)
    return [Together(tuple(sorted(each, key=lambda one: one.request.line)))
            for each in by_request.values()]  # fmt: skip


def rows(
    found: QuerySet[Request] | Iterable[Request], person: Person | None = None, since: int = 0,
    *, reckon: bool = True, timing: Timing | None = None,
) -> list[Row]:  # fmt: skip
    """Requests with their steps; changed is what others did after step ``since``.

    ``reckon``: with the time at which each can be there, from ``timing`` where the page has one.
    """
    if isinstance(found, QuerySet):
        found = found.select_related(*WITH).prefetch_related("steps")
    now, requests = timezone.now(), list(found)
    running = [one for one in requests if one.running]
    there = lying(one.served_by for one in running if one.served_by)
    made, held = [], packages_of(requests)
    timing = timing or (Timing() if running else None)
    falling = Falling(running, held, there, timing) if timing and running and reckon else None
    for request in requests:
        steps = tuple(request.steps.all())
        changed = person is not None and any(
            step.pk > since and step.by != person.name for step in steps
        )
        lies = bool(request.number) and request.served_by in there
        ready = falling.ready(request) if falling and request.running else None
        serve = tuple(held.get(request.pk, ()))
        far = _how_far(request, serve)
        urgency = urgency_of(request, now, timing.policy) if timing else request.Urgency.ROUTINE
        made.append(Row(request, steps, now, changed, lies, far, ready, urgency,
                        serve))  # fmt: skip
    return made


def packages_of(requests: Iterable[Request]) -> dict[int, list[Package]]:
    """The packages that serve each running request, read with standing, by its number."""
    working = [one.pk for one in requests if one.state in HELD]
    held: dict[int, list[Package]] = {}
    if working:
        for tie in RequestPackage.objects.filter(
            request__in=working, let_go_at=None
        ).prefetch_related(Prefetch("package", every_with_standing())):
            held.setdefault(tie.request_id, []).append(tie.package)
    return held


def _how_far(request: Request, packages: Sequence[Package]) -> str:
    """What became of the packages of a request in work, in words: the one that is furthest
    back, and of how many of the pieces that is said."""
    if request.state not in WORKING:
        return ""
    good = [one for one in packages if standing_of(one).to_be_had]
    words = {_far(one) for one in good}
    far = next((said for word, said in FAR.items() if word in words), "")
    pieces = sum(counted(one.kind, one.pieces) for one in good)
    if not far or pieces >= request.quantity:
        return far
    said = f"{pieces} of {request.quantity}: {far[0].lower()}{far[1:]}"
    return f"{request.get_state_display()}; {said}"


def _far(package: Package) -> str:
    word, load = standing_of(package).word, load_in(package)
    return load.state if load and word == Word.IN_A_LOAD and load.state in FAR else word


def open_for(department: str, person: Person) -> list[Row]:
    """What this person asked for, or their department, and is not ended; needed first is first."""
    theirs = Q(asker_id=person.pk)
    if department:
        theirs |= Q(department__folded=department)
    return rows(Request.objects.filter(theirs, state__in=RUNNING).order_by("needed_by", "pk"))


def queue() -> list[Row]:
    """All that is not ended, in the order in which it is needed."""
    return rows(Request.objects.filter(state__in=RUNNING).order_by("needed_by", "pk"))


def of_department(department: str, person: Person, since: int) -> tuple[list[Row], list[Row]]:
    """Open and past requests of a department; of all of them where it is empty."""
    found = Request.objects.all()
    if department:
        found = found.filter(department__folded=department)
    running = rows(found.filter(state__in=RUNNING).order_by("needed_by", "pk"), person, since)
    past = found.filter(ended_at__gt=EVER).order_by("-ended_at", "-pk")[:MOST_PAST]
    return running, rows(past, person, since)


def nothing_can_serve() -> list[Row]:
    """What the coordinators are told: open requests for which nothing was on record, and those
    that cannot be met in time."""
    told = rows(Request.objects.filter(state__in=RUNNING).exclude(told=[]), reckon=False)
    return [one for one in told
            if one.request.state == RequestState.OPEN or not one.nothing_there]  # fmt: skip


# --- what somebody has seen -----------------------------------------------------------


def newest_step() -> int:
    """The number of the last step of any request: two equal ones are the same moment."""
    return RequestStep.objects.aggregate(newest=Max("pk"))["newest"] or 0


def seen(*logs: type[models.Model]) -> str:
    """Another text with every step of a request or of a load, with every row of these ``logs``,
    and with every minute: what a page that renews itself asks first. One query, by keys alone."""
    every: tuple[type[models.Model], ...] = (RequestStep, LoadStep, *logs)
    tables = (connection.ops.quote_name(one._meta.db_table) for one in every)
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT {', '.join(f'(SELECT MAX(id) FROM {one})' for one in tables)}")
        newest = cursor.fetchone()
    return f"{'-'.join(str(one or 0) for one in newest)}-{timezone.now():%H%M}"


@verb("assembly.view_request")
def look(person: Person) -> int:
    """Notes that the person looks now, and says up to which step they had seen before.

    At the first look nothing is new.
    """
    newest = newest_step()
    before = LastLook.objects.filter(user_id=person.pk).first()
    LastLook.objects.update_or_create(
        user_id=person.pk, defaults={"step": newest, "at": timezone.now()}
    )
    return before.step if before else newest
