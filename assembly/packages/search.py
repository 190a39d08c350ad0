"""What assembly offers to the look-up: packages, places, loads, containers, our labels' prefix."""

from __future__ import annotations

from collections.abc import Iterable

from assembly.judging.facts_from_catalog import policy_in_force
from assembly.ledger import Refused
from assembly.models import Load, OwnContainer, Package, PolicyOverride, ShelfPlace
from assembly.packages.recording import looks_like_package_code, read_package_code
from assembly.rules.policy.values import NOT_SET
from catalog.lookup.finding import INSTRUMENTS, Want, find
from catalog.lookup.offered import OFFERS, PREFIXES, Kind, MisreadError, Offer
from catalog.models import Instrument, InstrumentSet

PREFIX = "gs1_company_prefix"
PACKAGES = Want(kinds=frozenset({Kind.PACKAGES}))
AT_THE_SHELF = Want(kinds=frozenset({Kind.PACKAGES, Kind.PLACES}))
TO_HAND_OVER = Want(kinds=frozenset({Kind.PACKAGES, Kind.SETS}) | INSTRUMENTS, forgiving=False)
PLACES = Want(kinds=frozenset({Kind.PLACES}))


def offer() -> None:
    """Called once when the program starts."""
    OFFERS[Kind.PACKAGES] = Offer(
        _package, looks_like_package_code, "is the label of a package. Scan or type what is in it."
    )
    OFFERS[Kind.PLACES] = Offer(_place)
    OFFERS[Kind.LOADS] = Offer(_load)
    OFFERS[Kind.CONTAINERS] = Offer(_container)
    PREFIXES.append(_prefixes)


def _package(words: str) -> Package | None:
    if not looks_like_package_code(words):
        return None
    code = read_package_code(words)
    if code is None:
        raise MisreadError(f"“{words}” is a package label that was misread: its check character "
                           "does not fit. Scan it again.")  # fmt: skip
    package = Package.objects.filter(code=code).first()
    if package is None:
        raise MisreadError(f"No package {code} is on record here.")
    return package


def _place(words: str) -> ShelfPlace | None:
    return ShelfPlace.objects.filter(code__folded=words, retired=False).first()


def _container(words: str) -> OwnContainer | None:
    return OwnContainer.objects.filter(number__folded=words).first()


def _load(words: str) -> Load | None:
    """The load with this lot number; the latest, where a number came again."""
    return Load.objects.filter(lot__folded=words).order_by("-day", "-pk").first()


def _prefixes() -> Iterable[str]:
    """The prefix in force, and those that labels printed earlier may still bear."""
    yield policy_in_force().text(PREFIX)
    yield from (
        str(value)
        for value in PolicyOverride.objects.filter(name=PREFIX).values_list("value", flat=True)
        if value != NOT_SET
    )


def package_at(words: str) -> Package:
    """The package whose label was scanned; Refused says what is wrong with the code."""
    thing = _scanned(words, PACKAGES)
    assert isinstance(thing, Package)
    return thing


def package_or_place_at(words: str) -> Package | ShelfPlace:
    """The package or the shelf place that was scanned; Refused where it is neither."""
    thing = _scanned(words, AT_THE_SHELF)
    assert isinstance(thing, Package | ShelfPlace)
    return thing


def package_or_kind_at(words: str) -> Package | Instrument | InstrumentSet:
    """The package that was scanned, or the instrument or set that was named; Refused where it is
    none, or words for several."""
    thing = _scanned(words, TO_HAND_OVER)
    assert isinstance(thing, Package | Instrument | InstrumentSet)
    return thing


def _scanned(words: str, want: Want) -> object:
    found = find(words, want)
    if found.one is None and (found.instruments or found.sets):
        raise Refused(f"“{found.words}” fits more than one thing. Write the number.")
    if found.one is None:
        raise Refused(found.problem or f"“{found.words}” is no package on record here. Scan the "
                      "package's label.")  # fmt: skip
    return found.one


def place_at(words: str) -> ShelfPlace | None:
    """The shelf place whose label was scanned; None where it is none in use."""
    place = find(words, PLACES).one
    return place if isinstance(place, ShelfPlace) else None
