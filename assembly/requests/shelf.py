"""Where packages are: put away, moved, handed over, opened, damaged, recalled, by scan."""

from __future__ import annotations

from dataclasses import dataclass

from django.db import transaction
from django.db.models import Count, Q, QuerySet
from django.utils import timezone

from assembly.builds import Refused
from assembly.loads.standing import asks_for_release, check_released, released
from assembly.models import (
    Package,
    RequestPackage,
    ShelfMove,
    ShelfPlace,
    ShelfState,
    Shelved,
    StockLevel,
)
from assembly.packages import looks_like_package_code, read_package_code
from assembly.persons import Person
from catalog.actions import record
from catalog.models import Change, Instrument

NEEDS_REASON = (ShelfState.DAMAGED, ShelfState.RECALLED)


def package_at(words: str) -> Package:
    """The package whose label was scanned; Refused says what is wrong with the code."""
    code = read_package_code(words)
    if code is None and looks_like_package_code(words):
        raise Refused(f"“{words}” was misread: its check character does not fit. Scan it again.")
    package = Package.objects.filter(code=code).first() if code else None
    if package is None:
        raise Refused(f"“{words}” is no package on record here. Scan the package's label.")
    return package


def place_at(words: str) -> ShelfPlace | None:
    """The shelf place whose label was scanned; None where it is none in use."""
    return ShelfPlace.objects.filter(code__iexact=words.strip(), retired=False).first()


def check_to_be_had(package: Package) -> None:
    """Refused unless the package is in force and nobody had it yet, with what happened to it."""
    if package.is_void:
        raise Refused(f"{package.code} is void ({package.void_reason}). Do not use it.")
    last = ShelfMove.objects.filter(package=package).last()
    if last and last.state != "on shelf":
        when = timezone.localtime(last.at)
        to = f" to {last.to}" if last.to else ""
        raise Refused(f"{package.code} was {last.get_state_display().lower()}{to} by {last.by} on "
                      f"{when:%Y-%m-%d %H:%M}. Take another package.")  # fmt: skip


@transaction.atomic
def put_away(person: Person, package: Package, place: ShelfPlace) -> ShelfMove:
    """The package lies at this place: put away, or moved there from another one.

    Refused for a package that is void, has left the shelf, or was not released.
    """
    package = Package.objects.select_for_update().get(pk=package.pk)
    check_to_be_had(package)
    check_released(package)
    if place.retired:
        raise Refused(f"{place} is no longer in use. Scan another place.")
    return _write(person, package, ShelfState.ON_SHELF, place=place)


@transaction.atomic
def hand_over(person: Person, package: Package, to: str) -> ShelfMove:
    """The package leaves the department to somebody. Refused if it left before.

    A package that serves a request is handed over with the request, not past it.
    """
    if not to.strip():
        raise Refused("Write who gets it: the theatre or the department.")
    if tied := promise_of(package):
        if tied.request.destination.casefold() != to.strip().casefold():
            raise Refused(f"{package.code} is promised to request {tied.request_id}, "
                          f"{tied.request.destination}. Hand it over there.")  # fmt: skip
        raise Refused(f"Hand {package.code} over on the page of request {tied.request_id}.")
    check_released(package)
    return leave(person, package, ShelfState.HANDED_OVER, to=to.strip())


@transaction.atomic
def take_off(person: Person, package: Package, state: str, reason: str = "") -> ShelfMove:
    """The package is opened, damaged or recalled; the last two with a reason."""
    if state not in (ShelfState.OPENED, *NEEDS_REASON):
        raise Refused("Say whether it was opened, damaged or recalled.")
    if state in NEEDS_REASON and not reason.strip():
        raise Refused("Write the reason: it stays on record with the package.")
    return leave(person, package, state, reason=reason.strip())


@transaction.atomic
def leave(
    person: Person, package: Package, state: str, *, to: str = "", reason: str = ""
) -> ShelfMove:
    """The package is no longer to be had. Refused where it was gone already.

    What was handed over can still be opened, damaged or recalled.
    """
    package = Package.objects.select_for_update().get(pk=package.pk)
    last = ShelfMove.objects.filter(package=package).last()
    back = last and last.state == ShelfState.HANDED_OVER and state != ShelfState.HANDED_OVER
    if not back:
        check_to_be_had(package)
    return _write(person, package, state, to=to, reason=reason)


def _write(
    person: Person, package: Package, state: str, *, place: ShelfPlace | None = None,
    to: str = "", reason: str = "",
) -> ShelfMove:  # fmt: skip
    now = timezone.now()
    before = Shelved.objects.filter(package=package).first()
    number = before.last_move + 1 if before else 1
    move = ShelfMove(package=package, number=number, state=state, place=place, to=to[:90],
                     reason=reason, by=person.name, at=now)  # fmt: skip
    move.save()
    Shelved.objects.update_or_create(
        package=package,
        defaults={"state": state, "place": place, "since": now, "last_move": number},
    )
    record(person.actor(reason), Change.Verb.CHANGED, package, package.code,
           {"at": str(before.place or before.state) if before else "packed"},
           {"at": str(place or state), **({"to": to} if to else {})})  # fmt: skip
    return move


def promise_of(package: Package) -> RequestPackage | None:
    """The running request that the package was promised to; None where there is none."""
    return RequestPackage.objects.filter(
        package=package, let_go_at=None, request__ended_at=None
    ).first()


# --- what is there --------------------------------------------------------------------


def on_the_shelf() -> QuerySet[Package]:
    """Packages in force that lie at a place."""
    return Package.objects.filter(shelved__state=ShelfState.ON_SHELF, void_at=None)


def to_be_had() -> QuerySet[Package]:
    """Packages on the shelf that no request was promised."""
    return on_the_shelf().exclude(
        pk__in=on_the_shelf().filter(ties__let_go_at=None, ties__isnull=False).values("pk")
    )


def waiting_to_be_put_away() -> QuerySet[Package]:
    """Packages that may be put away and that nobody has put anywhere yet, oldest first."""
    found = released() if asks_for_release() else Package.objects.filter(void_at=None)
    return found.filter(shelved=None).order_by("packed_at", "pk")


@dataclass(frozen=True, slots=True)
class Stock:
    """One instrument's single packages on the shelf against its low level."""

    instrument: Instrument
    count: int
    low: int | None
    places: str

    @property
    def short_by(self) -> int:
        """Packages to pack until the level is reached; 0 where no level is set."""
        return max(0, self.low - self.count) if self.low is not None else 0


def stock() -> list[Stock]:
    """Single packages per instrument, where any lie or a level is set; shortest first."""
    lying = Q(packages__in=on_the_shelf().filter(kind=Package.Kind.SINGLE))
    found = (
        Instrument.objects.filter(retired=False)
        .annotate(lying=Count("packages", filter=lying, distinct=True))
        .filter(Q(lying__gt=0) | Q(stock_level__low__isnull=False))
        .select_related("stock_level")
    )
    rows = [Stock(one, one.lying, _level(one), places_of(one)) for one in found]
    return sorted(rows, key=lambda row: (-row.short_by, row.instrument.item_number))


def _level(instrument: Instrument) -> int | None:
    level: StockLevel | None = getattr(instrument, "stock_level", None)
    return level.low if level else None


def places_of(instrument: Instrument) -> str:
    """Where its single packages lie, each place with its count."""
    packages = on_the_shelf().filter(kind=Package.Kind.SINGLE, instrument=instrument)
    return place_words(packages)


def place_words(packages: QuerySet[Package]) -> str:
    """Places with counts, as people read them: ``A1 (2), B3 (1)``."""
    found = (
        packages.order_by("shelved__place__code")
        .values_list("shelved__place__code")
        .annotate(count=Count("pk", distinct=True))
    )
    return ", ".join(f"{code} ({count})" for code, count in found)


def to_pack_next() -> list[Stock]:
    """Instruments under their low level, the shortest first."""
    return [row for row in stock() if row.short_by]
