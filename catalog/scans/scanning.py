"""What a scanner typed, whatever it left out: from a text to what can be looked up.

Scanners type characters. The separator between two GS1 elements has no key: it arrives as
the control character GS, as a stand-in, or not at all; the mark that names the kind of
code (``]d2``) may be switched off. Hand the text over *as it came*: Python's ``strip()``
takes GS and a HIBC code's last space away, so use ``CharField(strip=False)`` in forms.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from catalog.scans import gs1, hibc
from catalog.scans.dates import is_digits
from catalog.scans.elements import Element, IdentifierKind, Reading, Wanted

LONGEST = 400
LONGEST_OWN = 200
ALWAYS_SEPARATORS = ("^]", "{GS}", "\u241d", "\u2194")
"""Ways in which GS is written or typed that no GS1 value can hold (from memory)."""
_SYMBOLOGY = re.compile(r"\][A-Za-z][0-9A-Za-z]")
_STARRED = re.compile(r"\*([^*]+)\* *")
_TRADE_ITEM_SYMBOLOGIES = frozenset({"]E0", "]E4", "]I0", "]I1", "]X0"})
_GTIN_LENGTHS = (8, 12, 13, 14)
_AROUND = "\r\n\t\x00\x02\x03"


class Kind(StrEnum):
    """Which standard a text follows."""

    GS1 = "gs1"
    HIBC = "hibc"
    GTIN = "gtin"
    OWN = "own"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True)
class Scan:
    """One scan, read.

    ``text`` is what was read without the mark of its symbology, with separators as
    ``\\x1d``; empty when a patient's code was refused. ``identifiers`` are what to look up,
    the most particular first. ``symbology`` is the mark ("]d2"), empty when none was sent.
    ``problem`` says why the scan must not be used and what to do; None when it may.
    """

    kind: Kind
    text: str
    elements: tuple[Element, ...] = ()
    warnings: tuple[str, ...] = ()
    identifiers: tuple[Wanted, ...] = ()
    symbology: str = ""
    problem: str | None = None

    @property
    def words(self) -> str:
        """What was read, as a person says it.

        >>> read_scan("]d20100643169001763" + "2121A11F4855").words
        'GTIN 00643169001763, serial 21A11F4855'
        """
        return ", ".join(element.words for element in self.elements) or self.text

    @property
    def names_nothing(self) -> str:
        """Why a code that was read well leads nowhere: it holds no number of the thing."""
        return (
            f"This code has no number of the instrument in it, only {self.words}. Scan the code "
            "with the GTIN, GRAI, GIAI or HIBC."
        )

    @property
    def wrongly_marked(self) -> bool:
        """Marked as GS1 by the reader, with a text that begins with no GS1 element."""
        return self.symbology in gs1.SYMBOLOGIES and not gs1.begins_with_element(self.text)


def stand_in_problem(stand_in: str) -> str | None:
    """Why a text cannot stand for the separator; None when it can.

    >>> stand_in_problem("|") is None, stand_in_problem("%") is None
    (True, False)
    """
    if not stand_in or not stand_in.isprintable() or stand_in.isspace():
        return "The separator's stand-in must be something that can be seen."
    if set(stand_in) <= gs1.CHARSET_82:
        return (
            f"“{stand_in}” may stand inside a GS1 value. Let the scanner send | or ~ or {{GS}} "
            "for the separator instead."
        )
    return None


def read_scan(
    raw: str, separator_stand_in: str | None = None, *, today: date | None = None
) -> Scan:
    """Read what a scanner or a person typed. Never raises, whatever the text.

    ``separator_stand_in`` is what the department's scanners send for GS (``|``, ``{GS}``);
    one that could stand inside a value is not used. ``today`` decides which century two
    figures of a year mean.

    >>> read_scan("0151022222233336" + "10A213B1\\x1d211234").words
    'GTIN 51022222233336, lot A213B1, serial 1234'
    """
    text, symbology = _unwrapped(raw)
    if len(text) > LONGEST:
        return Scan(Kind.UNKNOWN, "", symbology=symbology, problem=(
            f"This is {len(text)} characters long, which no code here is. Scan one code at a "
            "time."))  # fmt: skip
    marked = _with_separators(text, separator_stand_in)
    if gs1.names_a_patient(marked):
        return Scan(Kind.GS1, "", symbology=symbology, problem=gs1.PATIENT_PROBLEM)
    day = today or date.today()
    if symbology in gs1.SYMBOLOGIES:
        return _scan(Kind.GS1, marked, symbology, gs1.read_gs1(marked, day))
    if symbology in _TRADE_ITEM_SYMBOLOGIES:
        return _trade_item(text, symbology)
    return _by_content(text, marked, symbology, day)


def _unwrapped(raw: str) -> tuple[str, str]:
    """Without what readers add: line ends, outer spaces, the symbology's mark (which comes
    second), the stars that begin and end a Code 39. The one place where they are taken off.

    The last space of a HIBC code stays: it may be the check character.
    """
    text = raw.strip(_AROUND).lstrip(" ")
    symbology = ""
    if found := _SYMBOLOGY.match(text):
        symbology, text = found[0], text[found.end() :]
    if found := _STARRED.fullmatch(text):
        text = found[1]
    return (text if hibc.looks_like_hibc(text) else text.strip(" ")), symbology


def _with_separators(text: str, stand_in: str | None) -> str:
    own = (stand_in,) if stand_in and stand_in_problem(stand_in) is None else ()
    for written in (*own, *ALWAYS_SEPARATORS):
        text = text.replace(written, gs1.GS)
    return text


def _by_content(text: str, marked: str, symbology: str, today: date) -> Scan:
    """Without a telling mark: by what the text begins with, in a fixed order."""
    if gs1.is_bracketed(text):
        return _scan(Kind.GS1, text, symbology, gs1.read_bracketed(text, today))
    if hibc.looks_like_hibc(text):
        return _scan(Kind.HIBC, text, symbology, hibc.read_hibc(text, today))
    if not symbology and gs1.looks_like_gs1(marked):
        return _scan(Kind.GS1, marked, symbology, gs1.read_gs1(marked, today))
    if not text or len(text) > LONGEST_OWN or not text.isprintable():
        return _unknown(text, symbology)
    own = Wanted(IdentifierKind.TEXT, text)
    if is_digits(text) and len(text) in _GTIN_LENGTHS and gs1.check_digit_fits(text):
        gtin = Wanted(IdentifierKind.GTIN, text.zfill(14))
        element = Element("01", "GTIN", gtin.value)
        return Scan(Kind.GTIN, text, (element,), (), (own, gtin), symbology)
    return Scan(Kind.OWN, text, (), _doubts(text, symbology), (own,), symbology)


def _doubts(text: str, symbology: str) -> tuple[str, ...]:
    """Warnings about an own text that begins as GS1 codes do."""
    if symbology and gs1.looks_like_gs1(text):
        return ("It reads like a GS1 code, but the symbol is not marked as one.",)
    if text.startswith("01") and len(text) >= 16 and is_digits(text[:16]):
        return ("If this is a GS1 code, its check digit is wrong. Scan again.",)
    return ()


def _trade_item(text: str, symbology: str) -> Scan:
    """The plain number of an EAN, UPC or ITF-14 symbol."""
    if len(text) not in _GTIN_LENGTHS or not gs1.check_digit_fits(text):
        return Scan(Kind.GTIN, text, symbology=symbology, problem=(
            f"“{text}” is no trade item number: its length or its check digit is wrong. "
            "Scan again."))  # fmt: skip
    gtin = Wanted(IdentifierKind.GTIN, text.zfill(14))
    element = Element("01", "GTIN", gtin.value)
    return Scan(Kind.GTIN, text, (element,), (), (gtin,), symbology)


def _unknown(text: str, symbology: str) -> Scan:
    if not text:
        return Scan(Kind.UNKNOWN, text, symbology=symbology, problem="Nothing was read.")
    return Scan(Kind.UNKNOWN, text, symbology=symbology, problem=(
        "This is no code that Packbench can read. Scan the code on the instrument, or type "
        "the item number."))  # fmt: skip


def _scan(kind: Kind, text: str, symbology: str, reading: Reading) -> Scan:
    if reading.patient:
        return Scan(kind, "", symbology=symbology, problem=reading.problem)
    identifiers = () if reading.problem else reading.identifiers
    return Scan(
        kind, text, reading.elements, reading.warnings, identifiers, symbology, reading.problem
    )
