"""Why a set came up short, as far as it is on record. Only reads."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

from django.utils import timezone

from assembly.models import Package, Repair, Request, Shortfall
from assembly.requests.clocks import clock
from assembly.rules.telling.missing import MISSING
from assembly.shortfalls.causes import WEEKS, open_on, shortfalls


def why_short(request: Request) -> list[str]:
    """Sentences, from what was packed to how it stands now; empty where no set came up short."""
    if request.missing_from is None or request.instrument_id is None:
        return []
    return [*_as_packed(request), *_now(request), *_before(request)]


def _as_packed(request: Request) -> Iterator[str]:
    package = request.missing_in_package
    if package is None:
        yield (
            "Which package was opened is not on record, so what was counted into it cannot be "
            "told: scan its label when you ask."
        )
        return
    when = clock(package.packed_at, timezone.now())
    number = request.number
    inside = sum(int(one["quantity"]) for one in package.contents
                 if number in (one["item_number"], one.get("instead_of")))  # fmt: skip
    short = _said_missing(package, number)
    packed = f"{package.code} was packed by {package.packed_by}, {when}"
    if short:
        yield f"{packed}, and said so on its label: {short}."
        return
    checked = f", checked by {package.checked_by}" if package.checked_by else ""
    yield (f"{packed}{checked}: {inside} were counted in. Where it went since then is not on "
           "record.")  # fmt: skip


def _said_missing(package: Package, number: str) -> str:
    """What the package said of the piece when it was signed; "" where it was complete."""
    known = package.shortfalls.filter(kind=Shortfall.Kind.PACKED_SHORT, item_number=number)
    begins = [f"{MISSING} {one.quantity} {one.name} (" for one in known]
    return next((one for one in package.shortages if one.startswith(tuple(begins))), "")


def _now(request: Request) -> Iterator[str]:
    """What is known of the piece now: in repair, still waited for, or back."""
    out = Repair.objects.filter(instrument=request.instrument_id, closed_at=None).first()
    if out:
        yield f"One is in repair since {clock(out.sent_at, timezone.now())}: {out.reason}."
    assert request.missing_from is not None
    waiting = [one for one in open_on(request.missing_from) if one.item_number == request.number]
    if waiting:
        many = sum(one.waits_for for one in waiting)
        since = clock(min(one.opened_at for one in waiting), timezone.now())
        yield f"{request.missing_from.code} waits for {many} of it, the first since {since}."
    own = Shortfall.objects.filter(request=request).exclude(closed_at=None).first()
    if own:
        by, why = own.closed_by or "not on record", own.closed_because
        yield f"It is back in the set: {by}{f', {why}' if why else ''}."
    elif not waiting:
        yield f"Nothing of it is waited for in {request.missing_from.code} now."


def _before(request: Request) -> Iterator[str]:
    """How often this set went short of it lately."""
    since = timezone.now() - timedelta(weeks=WEEKS)
    times = shortfalls().filter(instrument_set=request.missing_from, opened_at__gte=since,
                                instrument=request.instrument_id).count()  # fmt: skip
    if times > 1:
        yield f"{times} times short of it in {WEEKS} weeks."
