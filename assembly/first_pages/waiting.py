"""What waits on the Bench, in one order: needed first is first; what has no time follows, oldest
first; then what is below its level, sets before single packages. Only reads."""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db.models import F, Min
from django.urls import reverse
from django.utils import timezone

from assembly.models import (
    Build,
    Package,
    Repair,
    Request,
    RequestState,
    SetNeed,
    ShelfMove,
    ShelfState,
    Shortfall,
)
from assembly.packages.shelf import Stock, sets_to_lie_ready, short_singles, to_be_had
from assembly.packages.standing import waiting_for_their_seal
from assembly.requests.clocks import clock, span
from assembly.requests.lists import Row, queue
from assembly.shortfalls.causes import shortfalls

LATE_STILL_SHOWN = timedelta(hours=12)
"""How long a set that was needed and never went stays on the list. Our own bound."""
RUNNING = (Build.State.OPEN, Build.State.PACKED)
URGENT, LATE = "urgent", "late"


@dataclass(frozen=True, slots=True)
class Wait:
    """One thing that waits: ``what`` opens ``page``.

    ``act`` says what is next, and opens ``act_page``; without one it says how it stands.
    ``order`` is None where no time is known. ``row`` is a request with its own presses,
    ``behind`` says that it cannot be there in time.
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


def waits() -> list[Wait]:
    """All that waits on the Bench, in its order."""
    now = timezone.now()
    needed = list(_sets(now))
    listed = {one.page for one in needed}
    low_sets = (one for one in _low_sets() if one.page not in listed)
    found = [*_requests(), *needed, *_items(now), *_unsealed(now), *_back(now), *low_sets, *_low()]
    never = datetime.max.replace(tzinfo=now.tzinfo)
    return sorted(found, key=lambda one: (one.order or never, one.since or never))


def seen(found: Iterable[Wait]) -> str:
    """Another text where the list shows something else: what a page that renews itself asks."""
    shown = [
        (one.page, one.due, one.what, one.small, one.tone, one.act, one.behind) for one in found
    ]
    return hashlib.sha256(repr(shown).encode()).hexdigest()[:16]


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


# --- sets needed next -----------------------------------------------------------------


def _sets(now: datetime) -> Iterator[Wait]:
    """Sets that are needed and of which none is ready, nor went since that was said."""
    needs = _next_needs(now)
    codes = [one.number for one in needs]
    ready = set(_ready(codes))
    went = _went(codes)
    held = _held_by(codes)
    for need in needs:
        code = need.number
        if code in ready or went.get(code, need.at) > need.at:
            continue
        late = need.needed_at < now
        page = reverse("set", args=[code])
        holder = held.get(code)
        yield Wait(
            kind="set",
            order=need.needed_at,
            since=need.at,
            due=_due(need, now),
            what=need.thing.name,
            page=page,
            small=f"{code}{f' · for {need.where}' if need.where else ''} · none is ready",
            tone=LATE if late else "",
            act=f"{holder} is assembling it" if holder else "Assemble",
            act_page="" if holder else page,
        )


def _items(now: datetime) -> Iterator[Wait]:
    """Instruments that are needed and of which too few lie ready for all that need them."""
    needs = list(
        SetNeed.still()
        .filter(needed_at__gt=now - LATE_STILL_SHOWN, instrument__retired=False)
        .select_related("instrument")
    )
    if not needs:
        return
    numbers = [one.number for one in needs]
    lying, went = Counter(_ready(numbers)), _went(numbers)
    for need in needs:
        lying[need.number] -= need.quantity
        if lying[need.number] >= 0 or went.get(need.number, need.at) > need.at:
            continue
        late = need.needed_at < now
        page = reverse("instrument", args=[need.number])
        yield Wait(
            kind="item",
            order=need.needed_at,
            since=need.at,
            due=_due(need, now),
            what=f"{need.quantity} × {need.instrument}"
            if need.quantity > 1
            else str(need.instrument),
            page=page,
            small=f"{f'for {need.where} · ' if need.where else ''}too few are ready",
            tone=LATE if late else "",
            act="Pack",
            act_page=f"{page}?for=shelf",
        )


def _due(need: SetNeed, now: datetime) -> str:
    """By when it is needed, in words."""
    by = clock(need.needed_at, now)
    if need.needed_at < now:
        return f"overdue by {span(now - need.needed_at)}, was needed by {by}"
    return f"needed by {by}, in {span(need.needed_at - now)}"


def _next_needs(now: datetime) -> list[SetNeed]:
    """The next time that each set is needed, or was needed a short while ago."""
    found = SetNeed.still().filter(
        needed_at__gt=now - LATE_STILL_SHOWN, instrument_set__retired=False
    )
    first: dict[str, SetNeed] = {}
    for need in found.select_related("instrument_set").order_by("needed_at", "pk"):
        first.setdefault(need.number, need)
    return list(first.values())


def _ready(codes: list[str]) -> list[str]:
    lying = to_be_had().filter(number__in=codes)
    return list(lying.values_list("number", flat=True))


def _went(codes: list[str]) -> dict[str, datetime]:
    """When a package of each set or instrument was handed over last."""
    moves = ShelfMove.objects.filter(state=ShelfState.HANDED_OVER,
                                     package__number__in=codes).order_by("at")  # fmt: skip
    return dict(moves.values_list("package__number", "at"))


def _held_by(codes: list[str]) -> dict[str, str]:
    """Who is assembling each set."""
    found = Build.objects.filter(set_code__in=codes, state__in=RUNNING).order_by("-started_at")
    return dict(found.values_list("set_code", "holder_name"))


# --- what has no time -----------------------------------------------------------------


def _unsealed(now: datetime) -> Iterator[Wait]:
    """Packages whose label is out and whose seal nobody has looked at; a strip is one."""
    strips: dict[int, list[Package]] = {}
    for one in waiting_for_their_seal().defer("decision", "checks", "contents", "serves"):
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
        page, holder = reverse("set", args=[row.number]), held.get(row.number)
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
