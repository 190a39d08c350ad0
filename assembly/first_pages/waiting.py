"""What waits on the Bench, in one order: needed first is first; what has no time follows, oldest
first; then what is below its level, sets before single packages. Only reads."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db.models import F, Min, Q
from django.urls import reverse
from django.utils import timezone

from assembly.models import (
    Build,
    Package,
    Repair,
    Request,
    RequestState,
    SetNeed,
    Shortfall,
)
from assembly.packages.shelf import Stock, sets_to_lie_ready, short_singles
from assembly.packages.standing import waiting_for_their_seal
from assembly.requests.clocks import clock, span
from assembly.requests.coming import IN_STERILIZER
from assembly.requests.lists import Row, queue
from assembly.requests.needs import Comes, Share, comes_for, shares_of
from assembly.shortfalls.causes import shortfalls

LATE_STILL_SHOWN = timedelta(hours=12)
"""How long a set that was needed and never went stays on the list. Our own bound."""
RUNNING = (Build.State.OPEN, Build.State.PACKED)
URGENT, LATE = "urgent", "late"


@dataclass(frozen=True, slots=True)
class Wait:
    """One thing that waits: ``what`` opens ``page``.

    ``act`` says what is next, and opens ``act_page``; without one it says how it stands.
    ``order`` is None where no time is known; ``pk`` tells needs of one thing apart. ``row`` is a
    request with its own presses, ``behind`` says that it cannot be there in time.
    """

    kind: str
    order: datetime | None
    since: datetime | None
    due: str
    what: str
    page: str
    small: str = ""
    tone: str = ""
    act: str = ""
    act_page: str = ""
    row: Row | None = None
    behind: str = ""
    pk: int = 0


def waits() -> list[Wait]:
    """All that waits on the Bench, in its order."""
    now = timezone.now()
    needed = list(_needed(now))
    listed = {one.page for one in needed}
    low_sets = (one for one in _low_sets() if one.page not in listed)
    found = [*_requests(), *needed, *_unsealed(now), *_back(now), *low_sets, *_low()]
    never = datetime.max.replace(tzinfo=now.tzinfo)
    return sorted(found, key=lambda one: (one.order or never, one.since or never))


# --- requests -------------------------------------------------------------------------


def _requests() -> Iterator[Wait]:
    for row in queue():
        one = row.request
        yield Wait(
            kind="request",
            order=one.needed_by,
            since=one.asked_at,
            due=row.due,
            what=str(one),
            page=reverse("request", args=[one.pk]),
            small=_about(one),
            behind=row.behind_words,
            tone=LATE if row.overdue or row.behind else URGENT if row.urgent else "",
            act=row.far or _stands(one),
            row=row,
        )


def _about(one: Request) -> str:
    """Its number, what is wanted instead, for where, and its line of a request with several."""
    line = f"request {one.called}" if one.lines > 1 else ""
    return " · ".join(filter(None, (one.number, one.chosen, f"for {one.destination}", line)))


def _stands(one: Request) -> str:
    """How a request stands, with who has it; nothing where anybody may take it."""
    if one.state == RequestState.OPEN:
        return ""
    return f"{one.get_state_display()}, {one.holder_name}"


# --- what is needed next --------------------------------------------------------------


def _needed(now: datetime) -> Iterator[Wait]:
    """Each need of a set or an instrument that nothing there is for, and that nothing met yet."""
    in_use = Q(instrument_set__retired=False) | Q(instrument__retired=False)
    needs = (
        SetNeed.still()
        .filter(in_use, needed_at__gt=now - LATE_STILL_SHOWN)
        .select_related("instrument_set", "instrument")
        .order_by("needed_at", "pk")
    )
    open_ = [one for one in shares_of(list(needs)) if not one.went and not one.lies]
    held, near = _held_by([one.need.number for one in open_]) if open_ else {}, comes_for(open_)
    for one in open_:
        comes, makers = near.get(one.need.pk), held.get(one.need.number)
        yield _need(one, comes, makers.pop(0) if makers and not (comes and comes.time) else "", now)


def _need(share: Share, comes: Comes | None, holder: str, now: datetime) -> Wait:
    need = share.need
    of_set = need.instrument_set is not None
    page = reverse("set" if of_set else "instrument", args=[need.number])
    act, act_page = ("Assemble", page) if of_set else ("Pack", f"{page}?for=shelf")
    where = f"for {need.where}" if need.where else ""
    few = "too few are ready" if share.lying or not of_set else "none is ready"
    if holder:
        act, act_page = f"{holder} is assembling it", ""
    elif comes and comes.time:
        act, act_page, few = *_next_of(comes, now), comes.package.code
    elif comes:
        few = f"{comes.package.code} comes about {_at(comes, now)}"
    return Wait(
        kind="set" if of_set else "item",
        order=need.needed_at,
        since=need.at,
        due=_due(need, now),
        what=str(need),
        page=page,
        small=" · ".join(filter(None, (need.number, where, few))),
        tone=LATE if need.needed_at < now else "",
        act=act,
        act_page=act_page,
        pk=need.pk,
    )


def _next_of(comes: Comes, now: datetime) -> tuple[str, str]:
    """How far it is that comes in time, and where its next step is; "" where that is to wait."""
    if comes.far == IN_STERILIZER:
        return f"{comes.far}, about {_at(comes, now)}", ""
    return comes.far, reverse("package", args=[comes.package.code])


def _at(comes: Comes, now: datetime) -> str:
    return clock(comes.ready.shown or comes.at, now)


def _due(need: SetNeed, now: datetime) -> str:
    """By when it is needed, in words."""
    by = clock(need.needed_at, now)
    if need.needed_at < now:
        return f"overdue by {span(now - need.needed_at)}, was needed by {by}"
    return f"needed by {by}, in {span(need.needed_at - now)}"


def _held_by(codes: list[str]) -> dict[str, list[str]]:
    """Who is assembling each set, the first first."""
    found = Build.objects.filter(set_code__in=codes, state__in=RUNNING).order_by("started_at")
    held: dict[str, list[str]] = {}
    for code, holder in found.values_list("set_code", "holder_name"):
        held.setdefault(code, []).append(holder)
    return held


# --- what has no time -----------------------------------------------------------------


def _unsealed(now: datetime) -> Iterator[Wait]:
    """Packages whose label is out and whose seal nobody has looked at; a strip is one."""
    strips: dict[int, list[Package]] = {}
    for one in waiting_for_their_seal().defer("checks", "contents", "serves"):
        strips.setdefault(one.packed_with_id or one.pk, []).append(one)
    for strip in strips.values():
        first, many = strip[0], len(strip) > 1
        page = reverse("alike" if many else "package", args=[first.code])
        yield Wait(
            kind="seal",
            order=None,
            since=first.packed_at,
            due=f"packed {clock(first.packed_at, now)}, not sealed",
            what=first.what,
            page=page,
            small=f"{f'{len(strip)} from {first.code} on' if many else first.code} · "
            f"{first.packed_by}",
            act="Look at each seal" if many else "Look at its seal",
            act_page=page,
        )


def _back(now: datetime) -> Iterator[Wait]:
    """Instruments in use that are back from repair, and the sets that went without them."""
    repaired = F("instrument__repairs__closed_at")
    found = (
        shortfalls()
        .filter(
            closed_at=None,
            instrument__retired=False,
            instrument__repairs__closed_at__gte=F("opened_at"),
            instrument__repairs__outcome=Repair.Outcome.BACK,
        )
        .annotate(back_at=Min(repaired))
        .order_by("back_at", "pk")
    )
    by_instrument: dict[str, list[Shortfall]] = {}
    for one in found:
        by_instrument.setdefault(one.item_number, []).append(one)
    for number, short in by_instrument.items():
        sets = ", ".join(dict.fromkeys(one.instrument_set.code for one in short))
        back_at = short[0].back_at  # type: ignore[attr-defined]
        yield Wait(
            kind="repair",
            order=None,
            since=back_at,
            due=f"back from repair, {clock(back_at, now)}",
            what=short[0].name,
            page=reverse("instrument", args=[number]),
            small=f"{number} · {sets} went without it",
            act_page=reverse("replenish", args=[number]),
            act="Put it back",
        )


def _low_sets() -> Iterator[Wait]:
    """Sets with fewer packages on the shelf than their level."""
    short = [row for row in sets_to_lie_ready() if row.short_by]
    held = _held_by([row.number for row in short]) if short else {}
    for row in short:
        page, holder = reverse("set", args=[row.number]), "".join(held.get(row.number, ())[:1])
        act = f"{holder} is assembling it" if holder else f"Assemble {row.short_by}"
        yield _below(row, page, act, "" if holder else page)


def _low() -> Iterator[Wait]:
    """Instruments with fewer packages on the shelf than their level."""
    for row in short_singles():
        page = reverse("instrument", args=[row.number])
        yield _below(row, page, f"Pack {row.short_by}", f"{page}?for=shelf")


def _below(row: Stock, page: str, act: str, act_page: str) -> Wait:
    return Wait(
        kind="shelf",
        order=None,
        since=None,
        due=f"{row.count} on the shelf, low under {row.low}",
        what=row.thing.name,
        page=page,
        small=row.number,
        act=act,
        act_page=act_page,
    )
