"""One scan at the shelf: a place, or a package that is put away or handed over."""

from __future__ import annotations

from dataclasses import dataclass

from assembly.ledger import Refused
from assembly.models import Package, RequestState, ShelfPlace, Shelved
from assembly.packages import shelf
from assembly.packages.search import package_at, package_or_place_at
from assembly.packages.standing import check_may_go
from assembly.persons import Person
from assembly.requests import working

AWAY, HAND = "away", "hand"


@dataclass(frozen=True, slots=True)
class Scanned:
    """What a scan did, in words; ``place`` is where the next packages go, ``package`` what waits
    for its place."""

    words: str
    right: bool = True
    place: ShelfPlace | None = None
    package: Package | None = None

    @property
    def tone(self) -> str:
        return "right" if self.right else "wrong"


def scan(
    person: Person,
    words: str,
    mode: str,
    key: str,
    place: ShelfPlace | None = None,
    package: Package | None = None,
    to: str = "",
) -> Scanned:
    """Puts away to ``place`` or hands over ``to`` somebody; what is refused says why.

    Place and package come in either order: ``package`` was scanned before its place.
    """
    if not words.strip():
        return Scanned("Nothing was read. Scan it again.", False, place, package)
    try:
        if mode == HAND:
            return Scanned(hand_over(person, package_at(words), to, key))
        thing = package_or_place_at(words)
        if isinstance(thing, ShelfPlace):
            if package is None:
                return Scanned(f"{thing}: now scan what you put here.", place=thing)
            return put_away(person, package, thing, key)
        if place is not None:
            return put_away(person, thing, place, key)
        check_may_go(thing)
        return Scanned(f"{thing.code} {thing.what}: where to? Scan the place.", package=thing)
    except Refused as problem:
        return Scanned(str(problem), False, place, package)


def put_away(person: Person, package: Package, place: ShelfPlace, key: str) -> Scanned:
    """A package to a place, in words."""
    lay = Shelved.objects.filter(package=package, place=place).exists()
    move = shelf.put_away(person, package, place, key)
    verb = "lies there already, at" if lay else "put away to" if move.number == 1 else "moved to"
    return Scanned(f"{package.code} {package.what}: {verb} {place}.", place=place)


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
