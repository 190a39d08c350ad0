"""One scan at the shelf: a place, or a package that is put away or handed over."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from django.utils import timezone

from assembly.ledger import Refused
from assembly.models import Package, RequestState, ShelfPlace, Shelved
from assembly.packages import shelf
from assembly.packages.search import package_or_kind_at, package_or_place_at
from assembly.packages.standing import check_may_go
from assembly.persons import Person
from assembly.requests import working
from assembly.rules.days import day_words
from catalog.models import Instrument

AWAY, HAND = "away", "hand"


@dataclass(frozen=True, slots=True)
class Scanned:
    """What a scan did, in words; ``place`` is where the next packages go, ``packages`` what waits
    for a place, or for the second scan that hands it over."""

    words: str
    tone: str = "right"
    place: ShelfPlace | None = None
    packages: tuple[Package, ...] = ()


def scan(
    person: Person,
    words: str,
    mode: str,
    key: str,
    place: ShelfPlace | None = None,
    packages: Sequence[Package] = (),
    to: str = "",
) -> Scanned:
    """Puts away to ``place`` or hands over ``to`` somebody; what is refused says why.

    Place and packages come in either order: ``packages`` were scanned before their place.
    """
    held = tuple(packages)
    if not words.strip():
        return Scanned("Nothing was read. Scan it again.", "wrong", place, held)
    try:
        if mode == HAND:
            return _hand(person, words, held, to, key)
        thing = package_or_place_at(words)
        if isinstance(thing, ShelfPlace):
            if not held:
                return Scanned(f"{thing}: now scan what you put here.", place=thing)
            return put_away(person, held, thing, key)
        if place is not None:
            return put_away(person, (thing,), place, key)
        check_may_go(thing)
        held = (*(one for one in held if one != thing), thing)
        more = f"{len(held)} in all. " if len(held) > 1 else ""
        return Scanned(f"{thing.code} {thing.what}: where to? {more}Scan the place.", packages=held)
    except Refused as problem:
        return Scanned(str(problem), "wrong", place, held)


def put_away(person: Person, packages: Sequence[Package], place: ShelfPlace, key: str) -> Scanned:
    """Packages to a place, in words."""
    if len(packages) > 1:
        shelf.put_away_all(person, packages, place, key)
        codes = ", ".join(one.code for one in packages)
        return Scanned(f"{codes}: put away to {place}.", place=place)
    [package] = packages
    lay = Shelved.objects.filter(package=package, place=place).exists()
    move = shelf.put_away(person, package, place, key)
    verb = "lies there already, at" if lay else "put away to" if move.number == 1 else "moved to"
    return Scanned(f"{package.code} {package.what}: {verb} {place}.", place=place)


def _hand(person: Person, words: str, held: Sequence[Package], to: str, key: str) -> Scanned:
    """A package is handed over; what is no package proposes which one.

    Where an older one of its kind lies there, it has to be scanned twice: first in, first out.
    """
    thing = package_or_kind_at(words)
    if not isinstance(thing, Package):
        oldest = shelf.oldest(thing.item_number if isinstance(thing, Instrument) else thing.code)
        if oldest is None:
            raise Refused(f"{thing.name}: none lies on the shelf that may go.")
        return Scanned(f"{thing.name}: take {_oldest_words(oldest)}.", "note")
    if thing not in held and (older := _older(thing)):
        again = f"or scan {thing.code} again to hand that over."
        return Scanned(f"Take {_oldest_words(older)}, {again}", "note", packages=(thing,))
    return Scanned(hand_over(person, thing, to, key))


def _older(package: Package) -> Package | None:
    """A package of the same kind that should go first; None for what a request was promised."""
    if shelf.promise_of(package):
        return None
    oldest = shelf.oldest(package.number)
    before = oldest and (oldest.packed_at, oldest.pk) < (package.packed_at, package.pk)
    return oldest if before else None


def _oldest_words(package: Package) -> str:
    when = timezone.localtime(package.packed_at)
    return f"{package.code} at {package.shelved.place}, the oldest, packed {day_words(when)}"


def hand_over(person: Person, package: Package, to: str, key: str) -> str:
    """A package to whoever it was promised to, with its request; else to ``to``."""
    tied = shelf.promise_of(package)
    if tied is None:
        move = shelf.hand_over(person, package, to, key)
        return f"{package.code} {package.what}: handed over to {move.to}."
    check_may_go(package)
    if tied.request.state != RequestState.ON_THE_WAY:
        state = tied.request.get_state_display().lower()
        raise Refused(f"{package.code} is promised to request {tied.request_id}, which is {state}. "
                      "Send it on its page first.")  # fmt: skip
    codes = [one.package.code for one in tied.request.ties.filter(let_go_at=None)]
    request = working.hand_over(person, tied.request_id, key)
    return (
        f"{', '.join(codes)}: handed over to {request.destination}, request {request.pk} is done."
    )
