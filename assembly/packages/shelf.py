"""Where packages are: put away, moved, handed over, opened, damaged, recalled, by scan."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from typing import Any

from django.db.models import Count, Exists, F, Min, OuterRef, QuerySet, Value
from django.db.models.functions import Coalesce, Least
from django.utils import timezone

from assembly.ledger import Refused, begin, inside, lock, lock_one, note, verb, write
from assembly.models import (
    Package,
    RequestPackage,
    ShelfMove,
    ShelfPlace,
    ShelfState,
    Shelved,
    StockLevel,
)
from assembly.packages.promises import lock_with_requests, tell_of
from assembly.packages.standing import (
    SPOILED,
    Word,
    check_here,
    check_may_go,
    may_go,
    may_go_words,
    standing_as,
    with_standing,
)
from assembly.persons import KEEP_SHELF, Person
from catalog.models import Instrument, InstrumentSet

NEEDS_REASON = (ShelfState.DAMAGED, ShelfState.RECALLED)
AFTER: dict[str, tuple[str, ...]] = {
    ShelfState.HANDED_OVER: (ShelfState.OPENED, *NEEDS_REASON),
    ShelfState.OPENED: (ShelfState.RECALLED,),
}
"""What can still become of a package that has left."""


@verb(KEEP_SHELF)
def put_away(person: Person, package: Package, place: ShelfPlace, key: str) -> ShelfMove:
    """The package lies at this place: put away, or moved there from another one.

    Where it lies there already nothing changes. Refused for a package that is void, has
    left the shelf, was not released, or is past its date.
    """
    package, before = begin(Package, package.pk, key)
    if before:
        return before
    check_may_go(package)
    place = lock_one(ShelfPlace, place.pk)
    if place.retired:
        raise Refused(f"{place} is no longer in use. Scan another place.")
    if Shelved.objects.filter(package=package, place=place).exists():
        return ShelfMove.objects.filter(package=package).latest("pk")
    return _move(person, package, key, ShelfState.ON_SHELF, place=place)


@verb(KEEP_SHELF)
def put_away_all(
    person: Person, packages: Iterable[Package], place: ShelfPlace, key: str
) -> list[ShelfMove]:
    """Each of the packages lies at this place: all of them, or none where one is refused."""
    numbers = [one.pk for one in packages]
    locked = lock(Package.objects.filter(pk__in=numbers))
    return [put_away(person, one, place, f"{key[:50]}:{one.pk}") for one in locked]


@verb(KEEP_SHELF)
def hand_over(person: Person, package: Package, to: str, key: str) -> ShelfMove:
    """The package leaves the department to somebody. Refused if it left before.

    A package that serves a request is handed over with the request, not past it.
    """
    package, before = begin(Package, package.pk, key)
    if before:
        return before
    check_may_go(package)
    if not to.strip():
        raise Refused("Write who gets it: the OR or the department.")
    if tied := promise_of(package):
        if tied.request.destination.casefold() != to.strip().casefold():
            raise Refused(f"{package.code} is promised to request {tied.request_id}, "
                          f"{tied.request.destination}. Hand it over there.")  # fmt: skip
        raise Refused(f"Hand {package.code} over on the page of request {tied.request_id}.")
    return leave(person, package, key, ShelfState.HANDED_OVER, to=to.strip())


@verb(KEEP_SHELF)
def take_off(person: Person, package: Package, state: str, key: str, reason: str = "") -> ShelfMove:
    """The package is opened, damaged or recalled; the last two with a reason."""
    lock_with_requests(Package.objects.filter(pk=package.pk))
    package, before = begin(Package, package.pk, key)
    if before:
        return before
    if state not in (ShelfState.OPENED, *NEEDS_REASON):
        raise Refused("Say whether it was opened, damaged or recalled.")
    if state in NEEDS_REASON and not reason.strip():
        raise Refused("Write the reason: it stays on record with the package.")
    return leave(person, package, key, state, reason=reason.strip())


@inside
def leave(
    person: Person, package: Package, key: str, state: str, *, to: str = "", reason: str = ""
) -> ShelfMove:
    """The package is no longer to be had. Refused where it was gone already.

    What was handed over can still be opened, damaged or recalled; what was opened can
    still be recalled. Requests of a package that is not to be used learn it. The package
    is locked, ``with_requests`` where it may not be used any more.
    """
    last = ShelfMove.objects.filter(package=package).last()
    if not last or state not in AFTER.get(last.state, ()):
        check_here(package)
    move = _move(person, package, key, state, to=to, reason=reason)
    opened_in_use = state == ShelfState.OPENED and last and last.state == ShelfState.HANDED_OVER
    if state != ShelfState.HANDED_OVER and not opened_in_use:
        tell_of(person, package, f"was {state}{f': {reason}' if reason else ''}")
    return move


@inside
def pick_up(person: Person, package: Package) -> None:
    """The package is carried to whoever gets it: it lies at no place until it is handed over,
    or put away again. It is locked."""
    before = Shelved.objects.filter(package=package, state=ShelfState.ON_SHELF).first()
    if before:
        before.delete()
        note(person, package, {"at": str(before.place)}, {"at": "picked up"})


def _move(
    person: Person, package: Package, key: str, state: str, *, place: ShelfPlace | None = None,
    to: str = "", reason: str = "",
) -> ShelfMove:  # fmt: skip
    before = Shelved.objects.filter(package=package).first()
    move: ShelfMove = write(
        package, person, key, {"here": state == ShelfState.ON_SHELF}, state=state, place=place,
        to=to[:90], at_place=str(place or ""), reason=reason,
    )  # fmt: skip
    now = {"state": state, "place": place, "since": move.at}
    Shelved.objects.update_or_create(package=package, defaults=now)
    note(person, package,
         {"at": str(before.place or before.state) if before else "packed"},
         {"at": str(place or state), **({"to": to} if to else {})}, reason)  # fmt: skip
    return move


def promise_of(package: Package) -> RequestPackage | None:
    """The running request that the package was promised to; None where there is none."""
    return promised().filter(package=package).first()


# --- what is there --------------------------------------------------------------------


def on_the_shelf() -> QuerySet[Package]:
    """Packages in force that lie at a place."""
    return Package.objects.filter(shelved__state=ShelfState.ON_SHELF, void_at=None)


def promised() -> QuerySet[RequestPackage]:
    """The ties of packages to requests that still run."""
    return RequestPackage.objects.filter(let_go_at=None, request__ended_at=None)


def not_promised(packages: QuerySet[Package]) -> QuerySet[Package]:
    """Those of the packages that no running request was promised."""
    return packages.filter(~Exists(promised().filter(package=OuterRef("pk"))))


def to_be_had() -> QuerySet[Package]:
    """Packages on the shelf that may go, of nothing that is out of use, and that no request was
    promised."""
    return _to_be_had(may_go_words(), timezone.localdate()).all()


@lru_cache(maxsize=4)
def _to_be_had(words: tuple[Word, ...], today: date) -> QuerySet[Package]:
    """Put together once a day: that takes longer than the database to answer. Never evaluated."""
    found = standing_as(*words).filter(shelved__state=ShelfState.ON_SHELF)
    return not_promised(found.exclude(instrument__retired=True))


def oldest(number: str) -> Package | None:
    """The package of this number to be had that was packed first: first in, first out. A complete
    one before one that goes with shortages; None where none lies there."""
    found = to_be_had().filter(number=number).select_related("shelved__place")
    found = found.order_by("packed_at", "pk")
    return found.filter(shortages=[]).first() or found.first()


def not_to_be_used() -> QuerySet[Package]:
    """Packages that lie at a place though they are past their date or their load failed; the
    oldest date first. What was made void is not expected to lie there."""
    words = (word for word in SPOILED if word != Word.VOID)
    found = standing_as(*words).filter(shelved__state=ShelfState.ON_SHELF)
    return with_standing(found).order_by("use_by", "pk")


def waiting_to_be_put_away() -> QuerySet[Package]:
    """Packages that may be put away and that nobody has put anywhere yet, oldest first."""
    found = not_promised(may_go().filter(shelved=None))
    return found.order_by("packed_at", "pk")


@dataclass(frozen=True, slots=True)
class Stock:
    """How many packages of an instrument or a set lie ready, against its low level."""

    thing: Instrument | InstrumentSet
    count: int
    low: int | None
    places: str = ""

    @property
    def is_set(self) -> bool:
        return isinstance(self.thing, InstrumentSet)

    @property
    def number(self) -> str:
        """The item number or the set's code."""
        return self.thing.code if isinstance(self.thing, InstrumentSet) else self.thing.item_number

    @property
    def short_by(self) -> int:
        """Packages to pack until the level is reached; 0 where no level is set."""
        return max(0, self.low - self.count) if self.low is not None else 0


def sets_to_lie_ready() -> list[Stock]:
    """Every set that has a level, with its packages to be had; shortest first.

    One query where no set has one, else two.
    """
    found = InstrumentSet.objects.filter(retired=False, stock_level__low__isnull=False)
    sets = list(found.select_related("stock_level"))
    codes = [one.code for one in sets]
    ready: Counter[str] = Counter()
    if codes:
        lying = to_be_had().filter(kind=Package.Kind.SET, number__in=codes)
        ready.update(lying.values_list("number", flat=True))
    rows = [Stock(one, ready[one.code], one.stock_level.low) for one in sets]
    return sorted(rows, key=lambda row: (-row.short_by, row.number))


Lying = dict[int, Counter[str]]
"""How many single packages are to be had of each instrument, by the code of the place."""


def lying_singles(**of: Any) -> Lying:
    """Counted in the database, of instruments that are so: one query, a row for each place.

    What is promised to a request or past its date does not count.
    """
    found = to_be_had().filter(kind=Package.Kind.SINGLE, **of).order_by()
    rows = found.values_list("instrument", "shelved__place__code").annotate(n=Count("pk"))
    lying: Lying = {}
    for instrument, place, count in rows:
        lying.setdefault(instrument, Counter())[place] = count
    return lying


def stocked() -> QuerySet[Any, Any]:
    """Instruments of which packages lie there or a level is set, by number, those shortest of
    their level first: found, counted and sorted in the database, ``pk`` first."""
    lying = to_be_had().filter(kind=Package.Kind.SINGLE).order_by()
    level = Coalesce(Min("instrument__stock_level__low"), 0)
    number, short = Min("instrument__item_number"), Least(Value(0), Count("pk") - level)
    some = lying.values("instrument").annotate(n=number, short=short)
    low = Instrument.objects.filter(retired=False, stock_level__low__isnull=False)
    none = low.exclude(Exists(lying.filter(instrument=OuterRef("pk")))).order_by()
    rest = none.annotate(n=F("item_number"), short=-F("stock_level__low"))
    of = [one.values_list(*names) for one, *names in (
        (some, "instrument", "n", "short"), (rest, "pk", "n", "short"))]  # fmt: skip
    return of[0].union(of[1], all=True).order_by("short", "n")


def stock(pks: Iterable[int]) -> list[Stock]:
    """These of the instruments that are `stocked`, in this order: two queries."""
    numbers = list(pks)
    lying = lying_singles(instrument__in=numbers)
    found = Instrument.objects.select_related("stock_level").in_bulk(numbers)
    return [
        Stock(found[pk], _count(lying, pk), _level(found[pk]), in_words(lying.get(pk, {}).items()))
        for pk in numbers
    ]


def short_singles() -> list[Stock]:
    """Instruments with fewer single packages than their level, shortest first: two queries."""
    leveled = Instrument.objects.filter(retired=False, stock_level__low__isnull=False)
    lying = lying_singles(instrument__stock_level__low__isnull=False)
    rows = [Stock(one, _count(lying, one.pk), _level(one))
            for one in leveled.select_related("stock_level")]  # fmt: skip
    short = (row for row in rows if row.short_by)
    return sorted(short, key=lambda row: (-row.short_by, row.number))


def _count(lying: Lying, instrument: int) -> int:
    return lying[instrument].total() if instrument in lying else 0


def _level(instrument: Instrument) -> int | None:
    level: StockLevel | None = getattr(instrument, "stock_level", None)
    return level.low if level else None


def place_words(packages: QuerySet[Package]) -> str:
    """Where these packages lie, as people read it."""
    found = (
        packages.order_by("shelved__place__code")
        .values_list("shelved__place__code")
        .annotate(count=Count("pk", distinct=True))
    )
    return in_words(found)


def in_words(places: Iterable[tuple[str, int]]) -> str:
    """Codes of places with their counts: ``A1 (2), B3 (1)``."""
    return ", ".join(f"{code} ({count})" for code, count in sorted(places))
