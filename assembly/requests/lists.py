"""Requests as pages list them: the queue, a department's own, what changed since a look."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db.models import Max, Prefetch, Q, QuerySet
from django.utils import timezone

from assembly.ledger import verb
from assembly.models import (
    LastLook,
    Package,
    Request,
    RequestPackage,
    RequestState,
    RequestStep,
)
from assembly.models.requests import RUNNING
from assembly.packages.shelf import to_be_had
from assembly.packages.standing import Word, standing_of, with_standing
from assembly.persons import Person

MOST_PAST = 30
FAR = {
    Word.UNSEALED: "Packed, waits for its seal",
    Word.PACKED: "Packed, waits for a load",
    Word.IN_A_LOAD: "Packed, in a load",
    Word.RELEASED: "Sterile, to be taken there",
}
"""How far a package for a request is."""


def span(length: timedelta) -> str:
    """A length of time as people say it, in whole minutes; never below nothing.

    >>> span(timedelta(minutes=12, seconds=40)), span(timedelta(hours=3, minutes=5))
    ('12 min', '3 h 5 min')
    >>> span(timedelta(days=2, hours=1)), span(timedelta(seconds=20))
    ('2 days', 'less than a minute')
    """
    minutes = int(length.total_seconds() // 60)
    if minutes < 1:
        return "less than a minute"
    if minutes < 60:
        return f"{minutes} min"
    if minutes < 24 * 60:
        hours, rest = divmod(minutes, 60)
        return f"{hours} h {rest} min" if rest else f"{hours} h"
    days = minutes // (24 * 60)
    return f"{days} day{'' if days == 1 else 's'}"


def clock(moment: datetime, now: datetime) -> str:
    """A time of day; with the date where it is not today."""
    local = timezone.localtime(moment)
    today = timezone.localtime(now).date()
    if local.date() == today:
        return f"{local:%H:%M}"
    year = "" if local.year == today.year else f" {local.year}"
    return f"{local:%a %d %b}{year}, {local:%H:%M}"


@dataclass(frozen=True, slots=True)
class Row:
    """One request as a list shows it."""

    request: Request
    steps: tuple[RequestStep, ...]
    now: datetime
    changed: bool = False
    on_shelf: bool = False
    far: str = ""

    @property
    def stands(self) -> str:
        """How it stands: of what is being packed, how far its package is."""
        return self.far or self.request.get_state_display()

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
        reason = f": {self.last.reason}" if self.last.reason else ""
        what = "asked for" if len(self.steps) == 1 else self.last.get_state_display().lower()
        return f"{what} by {self.last.by}, {clock(self.last.at, self.now)}{reason}"


def rows(found: QuerySet[Request] | Iterable[Request], person: Person | None = None,
         since: int = 0) -> list[Row]:  # fmt: skip
    """Requests with their steps; changed is what others did after step ``since``."""
    if isinstance(found, QuerySet):
        found = found.select_related("instrument", "missing_from").prefetch_related("steps")
    now, requests = timezone.now(), list(found)
    numbers = set(to_be_had().filter(kind=Package.Kind.SINGLE,
                  instrument__in=[r.instrument_id for r in requests if r.instrument_id])
                  .values_list("instrument_id", flat=True))  # fmt: skip
    made, far = [], how_far(requests)
    for request in requests:
        steps = tuple(request.steps.all())
        changed = person is not None and any(
            step.pk > since and step.by != person.name for step in steps
        )
        lies = request.instrument_id in numbers
        made.append(Row(request, steps, now, changed, lies, far.get(request.pk, "")))
    return made


def how_far(requests: Iterable[Request]) -> dict[int, str]:
    """What became of the packages of requests in work, in words, by the requests' numbers."""
    working = [one.pk for one in requests if one.state == RequestState.PACKING]
    if not working:
        return {}
    ties = RequestPackage.objects.filter(request__in=working, let_go_at=None).prefetch_related(
        Prefetch("package", with_standing(Package.objects.all()))
    )
    words = {tie.request_id: FAR.get(standing_of(tie.package).word, "") for tie in ties}
    return {pk: said for pk, said in words.items() if said}


def open_for(department: str, person: Person) -> list[Row]:
    """What this person asked for, or their department, and is not ended; needed first is first."""
    theirs = Q(asker_id=person.pk)
    if department:
        theirs |= Q(department__iexact=department)
    return rows(Request.objects.filter(theirs, state__in=RUNNING).order_by("needed_by", "pk"))


def queue() -> list[Row]:
    """All that is not ended, in the order in which it is needed."""
    return rows(Request.objects.filter(state__in=RUNNING).order_by("needed_by", "pk"))


def of_department(department: str, person: Person, since: int) -> tuple[list[Row], list[Row]]:
    """Open and past requests of a department; of all of them where it is empty."""
    found = Request.objects.all()
    if department:
        found = found.filter(department__iexact=department)
    running = rows(found.filter(state__in=RUNNING).order_by("needed_by", "pk"), person, since)
    past = found.exclude(state__in=RUNNING).order_by("-ended_at", "-pk")[:MOST_PAST]
    return running, rows(past, person, since)


def nothing_can_serve() -> list[Row]:
    """Open requests for which nothing was on record: what the coordinators are told."""
    return [one for one in rows(Request.objects.filter(state=RequestState.OPEN))
            if one.request.told]  # fmt: skip


# --- what somebody has seen -----------------------------------------------------------


def newest_step() -> int:
    """The number of the last step of any request: two equal ones are the same moment."""
    return RequestStep.objects.aggregate(newest=Max("pk"))["newest"] or 0


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
