"""What is in your hand: the one question that the Bench's field asks.

Scanned or typed, the answer is one thing, several to choose from, or nothing; and for
nothing, why. Codes of makers (GS1, HIBC) are read by ``catalog.scans``.
"""

from __future__ import annotations

from dataclasses import dataclass

from django.conf import settings

from assembly.models import Package
from assembly.packages.recording import looks_like_package_code, read_package_code
from catalog.models import Instrument, InstrumentSet
from catalog.scans.scanning import Kind, read_scan
from catalog.search import find_by_scan, find_instruments, find_sets

MOST_FOUND = 12


@dataclass(frozen=True, slots=True)
class Found:
    """What the words mean. ``one`` is the single thing meant; ``problem`` says why none is."""

    words: str
    one: Instrument | InstrumentSet | Package | None = None
    instruments: tuple[Instrument, ...] = ()
    sets: tuple[InstrumentSet, ...] = ()
    more: bool = False
    problem: str = ""

    @property
    def nothing(self) -> bool:
        return self.one is None and not self.instruments and not self.sets


def what_is(words: str) -> Found:
    """The thing that bears this code, number or nickname; else all that fit the words.

    In this order: a package's label, a maker's code, an item number, a set code, then
    names and nicknames. One thing alone is meant; several are offered.
    """
    raw, words = words, words.strip()
    if not words:
        return Found(words)
    if looks_like_package_code(words):
        return _package(words)
    if scanned := _makers_code(raw):
        return scanned
    instrument = Instrument.objects.filter(item_number__iexact=words, retired=False).first()
    instrument_set = InstrumentSet.objects.filter(code__iexact=words, retired=False).first()
    if instrument and instrument_set:
        return Found(words, instruments=(instrument,), sets=(instrument_set,))
    exact = instrument or instrument_set or find_by_scan(read_scan(raw, settings.SCANNER_SEPARATOR))
    return Found(words, one=exact) if exact else _by_name(words)


def _package(words: str) -> Found:
    code = read_package_code(words)
    if code is None:
        return Found(words, problem=f"“{words}” is a package label that was misread: its check "
                     "character does not fit. Scan it again.")  # fmt: skip
    package = Package.objects.filter(code=code).first()
    if package is None:
        return Found(words, problem=f"No package {code} is on record here.")
    return Found(words, one=package)


MAKERS = (Kind.GS1, Kind.HIBC, Kind.GTIN)


def _makers_code(raw: str) -> Found | None:
    """A GS1, HIBC or plain code on an instrument, read as scanned: never stripped first.

    None where it is no such code: the words are then looked up as they are. A patient's
    code is refused and not repeated.
    """
    scan = read_scan(raw, settings.SCANNER_SEPARATOR or None)
    if scan.problem:
        return Found(scan.text, problem=scan.problem)
    if scan.kind not in MAKERS:
        return None
    found = find_by_scan(scan)
    if found is not None:
        return Found(scan.text, one=found)
    problem = f"{scan.words} No instrument bears this code. Find it by name and put the code on "
    return Found(scan.text, problem=f"{problem}its page.")


def _by_name(words: str) -> Found:
    instruments = tuple(find_instruments(words)[: MOST_FOUND + 1])
    sets = tuple(find_sets(words)[:MOST_FOUND])
    named = [one for one in instruments if getattr(one, "rank", 2) < 2]
    if len(named) == 1:
        return Found(words, one=named[0])
    if len(instruments) + len(sets) == 1:
        return Found(words, one=instruments[0] if instruments else sets[0])
    if not instruments and not sets:
        return Found(words, problem=f"Nothing is called “{words}”. Try fewer letters, the item "
                     "number, or another name for it.")  # fmt: skip
    return Found(words, instruments=instruments[:MOST_FOUND], sets=sets,
                 more=len(instruments) > MOST_FOUND)  # fmt: skip
