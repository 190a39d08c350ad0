"""Packages that are not on the shelf yet and that no request was promised: how far they are."""

from __future__ import annotations

from collections.abc import Iterable

from django.db.models import Q, QuerySet

from assembly.models import LoadState, Package, ShelfState
from assembly.packages.shelf import not_promised
from assembly.packages.standing import Word, load_in, standing_as, standing_of, with_standing

NOT_PUT_AWAY = "Released, not put away"
IN_STERILIZER = "In the sterilizer"
WAITS_FOR_LOAD = "Packed, waits for a load"
KINDS = (NOT_PUT_AWAY, IN_STERILIZER, WAITS_FOR_LOAD)
HEAVY = ("checks", "closed", "seal_findings")


def coming(packages: QuerySet[Package]) -> dict[str, list[Package]]:
    """Of these packages, what is in none of the shelf's places, by how far it is, the nearest
    first; read with standing."""
    words = standing_as(Word.RELEASED, Word.IN_A_LOAD, Word.PACKED, Word.UNSEALED)
    found = packages.filter(pk__in=words.filter(here=True).values("pk")).exclude(
        shelved__state=ShelfState.ON_SHELF
    )
    found = not_promised(found).order_by("packed_at", "pk")
    held: dict[str, list[Package]] = {}
    for one in with_standing(found).defer(*HEAVY):
        held.setdefault(how_far(one), []).append(one)
    return {kind: held[kind] for kind in KINDS if kind in held}


def coming_of(numbers: Iterable[str]) -> dict[str, list[Package]]:
    """The same of these item numbers and set codes, by number."""
    kinds = Q(kind=Package.Kind.SINGLE, instrument__isnull=False) | Q(kind=Package.Kind.SET)
    by_number: dict[str, list[Package]] = {}
    for packages in coming(Package.objects.filter(kinds, number__in=numbers)).values():
        for one in packages:
            by_number.setdefault(one.number, []).append(one)
    return by_number


def how_far(package: Package) -> str:
    """Which of the ``KINDS`` a package is that comes, read with standing."""
    word, load = standing_of(package).word, load_in(package)
    if word == Word.RELEASED:
        return NOT_PUT_AWAY
    return IN_STERILIZER if load and load.state == LoadState.RUNNING else WAITS_FOR_LOAD


def last_cycles(instruments: Iterable[int]) -> dict[int, list[str]]:
    """The cycles of the last single package of each instrument that had one: one query."""
    found = Package.objects.filter(kind=Package.Kind.SINGLE, instrument__in=instruments)
    rows = (
        found.filter(void_at=None)
        .exclude(method="")
        .order_by("packed_at", "pk")
        .defer(*HEAVY, "contents")
    )
    return {one.instrument_id: one.programmes for one in rows if one.instrument_id}
