"""Asking for what is missing, and withdrawing it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass, replace
from datetime import datetime, timedelta
from typing import Any

from django.contrib.auth.models import User
from django.db.models import Count, Max, Q
from django.utils import timezone

from assembly.ledger import Refused, begin, begin_new, note, verb, write
from assembly.models import Package, Request, RequestState, Shortfall
from assembly.models.requests import RUNNING
from assembly.packages.promises import let_go
from assembly.persons import ASK, Person, name_of
from assembly.requests.sources import Source, can_serve, sources_for
from assembly.requests.timing import Timing
from assembly.requests.working import accepted_numbers
from assembly.rules.days import day_words, time_words
from assembly.rules.facts.from_json import plain
from catalog.lookup.values import values_in
from catalog.models import CountSheet, Instrument, InstrumentSet, Line

MOST_PIECES = 20
"""More of one thing than this is a slip or an order, not a request. Our own bound."""
MOST_LINES = 20
"""More lines than this is a whole set. Our own bound."""
MOST_PLACES = 8
LATELY = 500
"""So many requests tell where things are asked for: any other place is written. Our own bound."""
"""How many places are offered to tap: what fits a phone's first screen."""
LONGEST_PLACE = 40
MOST_DAYS = 60
"""Further away than this is a slip in the date, or a plan and no request. Our own bound."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is missing: an instrument, a set, or words for what the catalog does not know.

    ``missing_from`` and ``package`` say which set came up short of it; ``instead`` is the other
    source that was chosen: a substitute that the count sheet accepts, or a set that holds it.
    """

    instrument: Instrument | None = None
    instrument_set: InstrumentSet | None = None
    words: str = ""
    missing_from: InstrumentSet | None = None
    package: Package | None = None
    instead: Instrument | InstrumentSet | None = None

    @property
    def name(self) -> str:
        thing = self.instrument or self.instrument_set
        return thing.name if thing else self.words

    @property
    def number(self) -> str:
        if self.instrument:
            return self.instrument.item_number
        return self.instrument_set.code if self.instrument_set else ""


@dataclass(frozen=True, slots=True)
class Ask:
    """How much, for where and by when. No patient details, in no field.

    ``urgency``: said by hand, where it is more urgent than its time makes it. ``tell``: the
    coordinators are told, also where something is there.
    """

    department: str
    where: str
    needed_by: datetime
    quantity: int = 1
    urgency: str = Request.Urgency.ROUTINE
    note: str = ""
    tell: bool = False


@verb(ASK)
def ask(person: Person, wanted: Wanted, asked: Ask, key: str) -> Request:
    """A new request for one thing: :func:`ask_together` with one line."""
    return ask_together(person, [(wanted, asked.quantity)], asked, key)


@verb(ASK)
def ask_together(
    person: Person, lines: Sequence[tuple[Wanted, int]], asked: Ask, key: str
) -> Request:
    """A new request, all of its lines on the queue at once; the same key gives the same request.

    ``lines``: what, and how many of it. Returns the first. Refused for nothing, for what is
    retired, for a time that has passed: then nothing is asked for. What the catalog does not know
    may be asked for in words: no source can be named and the coordinators are told.
    """
    if before := begin_new(Request, key, under=User(pk=person.pk)):
        return before
    if not 1 <= len(lines) <= MOST_LINES:
        raise Refused(f"Ask for 1 to {MOST_LINES} lines at once; {len(lines)} were read.")
    each = [(wanted, replace(asked, quantity=pieces)) for wanted, pieces in lines]
    for wanted, one in each:
        _check(wanted, one)
    timing, first = Timing(), None
    for place, (wanted, one) in enumerate(each, start=1):
        found = sources_for(wanted.instrument, wanted.instrument_set, one.needed_by,
                            wanted.missing_from, wanted.package, timing)  # fmt: skip
        made = _made(person, wanted, one, found)
        made.key = key if place == 1 else f"{key[:60]}:{place}"
        made.asked_with, made.line, made.lines = first, place, len(each)
        check_source(made)
        made.save()
        first = first or made
        write(made, person, made.key)
        note(person, made, None, {"what": str(made), "for": made.destination})
        _note_shortfall(made)
    assert first is not None  # at least one line
    return first


def _made(person: Person, wanted: Wanted, asked: Ask, found: list[Source]) -> Request:
    """The row of one line, not saved yet."""
    instead = wanted.instead
    return Request(
        instrument=wanted.instrument,
        wanted_set=wanted.instrument_set,
        what=wanted.name.strip(),
        number=wanted.number,
        quantity=asked.quantity,
        missing_from=wanted.missing_from,
        missing_in_package=wanted.package,
        instead=instead if isinstance(instead, Instrument) else None,
        instead_set=instead if isinstance(instead, InstrumentSet) else None,
        department=known_spelling(asked.department),
        where=" ".join(asked.where.split()),
        needed_by=asked.needed_by,
        urgency=asked.urgency,
        note=asked.note.strip(),
        sources=[plain(asdict(one)) for one in found],
        told=who_is_told() if asked.tell or not can_serve(found) else [],
        asker_id=person.pk,
        asked_by=person.name,
        asked_at=timezone.now(),
    )


def check_source(request: Request) -> None:
    """Refused where the other source that was chosen can hold nothing of what is wanted."""
    if request.instead and request.instead.item_number not in accepted_numbers(request):
        raise Refused(f"No count sheet accepts {request.instead} for {request.what}. Choose "
                      "another source.")  # fmt: skip
    one = request.instead_set
    if one and not Line.objects.filter(
        count_sheet__instrument_set=one, count_sheet__state=CountSheet.State.CURRENT,
        instrument=request.instrument_id,
    ).exists():  # fmt: skip
        raise Refused(f"{one} has no {request.what} on its count sheet. Choose another source.")


def _note_shortfall(request: Request) -> None:
    """The set that came up short waits for it, unless its package was known to go without."""
    short, package = request.instrument, request.missing_in_package
    if request.missing_from is None or short is None:
        return
    known = Shortfall.objects.filter(kind=Shortfall.Kind.PACKED_SHORT, instrument=short)
    if package and known.filter(package=package).exists():
        return
    Shortfall.objects.create(
        kind=Shortfall.Kind.MISSED,
        instrument_set=request.missing_from,
        package=package,
        request=request,
        instrument=short,
        item_number=request.number,
        name=request.what,
        quantity=request.quantity,
        opened_by=request.asked_by,
        opened_at=request.asked_at,
    )


def _check(wanted: Wanted, asked: Ask) -> None:
    thing = wanted.instrument or wanted.instrument_set
    if not wanted.name.strip():
        raise Refused("Say what is missing: a number, a name, or in your own words.")
    if thing and thing.retired:
        raise Refused(f"{thing} is retired and no longer kept. Ask for another one.")
    if not 1 <= asked.quantity <= MOST_PIECES:
        raise Refused(f"Ask for 1 to {MOST_PIECES} pieces; {asked.quantity} was read.")
    for field, text in (("department", asked.department), ("place", asked.where)):
        if not text.strip():
            raise Refused(f"Write the {field} it is for.")
        if len(text) > LONGEST_PLACE:
            raise Refused(f"Write the {field} in {LONGEST_PLACE} letters or fewer: "
                          "it goes on the label.")  # fmt: skip
    if asked.urgency not in Request.Urgency.values:
        raise Refused("Say how urgent it is.")
    check_time(asked.needed_by)


def check_time(needed_by: datetime) -> None:
    """Refused for a time that has passed, and for one too far away."""
    if needed_by <= timezone.now():
        when = timezone.localtime(needed_by)
        raise Refused(f"{time_words(when)} has passed. Choose a time that is still to come.")
    if needed_by > timezone.now() + timedelta(days=MOST_DAYS):
        raise Refused(f"{day_words(needed_by)} is more than {MOST_DAYS} days away. Choose a "
                      "nearer day.")  # fmt: skip


@verb(ASK)
def withdraw(person: Person, pk: int, key: str, reason: str = "") -> Request:
    """It is no longer wanted. Refused once it is handed over or ended.

    What somebody else asked for needs a reason: they read it.
    """
    request, before = begin(Request, pk, key, RUNNING)
    if before:
        return request
    reason = reason.strip()
    if request.asker_id != person.pk and not reason:
        raise Refused(f"{request.asked_by} asked for it. Write why it is not wanted any more.")
    let_go(request)
    return write(request, person, key, {"state": RequestState.WITHDRAWN}, reason=reason).request


@verb(ASK)
def choose_source(person: Person, pk: int, key: str, instead: Any = None) -> Request:
    """It is to be served from another source: a substitute, or a set; None: by itself again.

    Refused once it is being packed: somebody has made something for it.
    """
    request, before = begin(Request, pk, key, (RequestState.OPEN, RequestState.TAKEN))
    if before:
        return request
    request.instead = instead if isinstance(instead, Instrument) else None
    request.instead_set = instead if isinstance(instead, InstrumentSet) else None
    check_source(request)
    changes = {"instead_id": request.instead_id, "instead_set_id": request.instead_set_id}
    words = request.chosen or f"{request.what} after all"
    return write(request, person, key, changes, reason=f"wanted: {words}").request


@verb(ASK)
def tell(person: Person, pk: int, key: str) -> Request:
    """The coordinators are told that it cannot be there in time; told before, nothing changes.

    Refused where there is none to be told.
    """
    request, before = begin(Request, pk, key, RUNNING)
    if before or request.told:
        return request
    if not (names := who_is_told()):
        raise Refused("No coordinator is on record to be told. Call the department.")
    return write(request, person, key, {"told": names},
                 reason=f"told: {', '.join(names)}").request  # fmt: skip


def known_spelling(department: str) -> str:
    """A department as it was written first, so that its list stays one list."""
    words = " ".join(department.split())
    before = Request.objects.filter(department__folded=words).order_by("pk").first()
    return before.department if before else words


def places_to_tap(person: Person) -> list[dict[str, Any]]:
    """Where the last hundreds of things were asked for, this person's own first, the last first:
    ``where``, ``department``, and the number of the ``last`` request there."""
    newest = Request.objects.aggregate(newest=Max("pk"))["newest"] or 0
    lately = Request.objects.filter(pk__gt=newest - LATELY)
    found = lately.values("where", "department").annotate(
        last=Max("pk"), own=Count("pk", filter=Q(asker_id=person.pk))
    )
    rows: list[dict[str, Any]] = [{**one} for one in found.order_by("-last")]
    return sorted(rows, key=lambda one: not one["own"])[:MOST_PLACES]


def departments() -> Sequence[str]:
    """Every department that ever asked, by name."""
    return values_in(Request, "department")


def who_is_told() -> list[str]:
    """The coordinators: who may set stock levels sees on their page what nothing can serve."""
    may = Q(groups__permissions__codename="set_stock_level") | Q(
        user_permissions__codename="set_stock_level"
    )
    users = User.objects.filter(may, is_active=True).distinct().order_by("pk")
    return [name_of(user) for user in users]
