"""GS1 codes: element strings as a scanner sends them, and as people read them in brackets.

Formats and titles stand in ``gs1.toml``. Separators and first marks: GS1 syntax engine (commit
50657db).
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from stdnum import ean

from catalog.data_files import read_tables
from catalog.scans.dates import full_year, is_digits, month_end
from catalog.scans.elements import Element, IdentifierKind, Reading, Wanted

GS = "\x1d"
"""What a scanner sends for the separator (FNC1) between two elements."""
SYMBOLOGIES = {
    "]C1": "GS1-128",
    "]d2": "GS1 DataMatrix",
    "]e0": "GS1 DataBar",
    "]Q3": "GS1 QR Code",
}
"""First marks that say: this is a GS1 code."""
CHARSET_82 = frozenset(
    "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz!\"%&'()*+,-./:;<=>?_"
)
"""The characters a GS1 value may hold. GS1 General Specifications 7.11, from memory."""
PATIENT = "8018"
PATIENT_PROBLEM = (
    "This code identifies a patient. Nothing of it was kept. "
    "No patient details belong here: scan the instrument or the set instead."
)


@dataclass(frozen=True, slots=True)
class Application:
    """One application identifier: how long its value is and what must stand beside it.

    ``fixed``: its length is predefined, so that no separator follows. ``checked``: this
    many leading digits end in a check digit. ``needs``: one of these must be there too.
    """

    code: str
    title: str
    least: int
    most: int
    fixed: bool = False
    numeric: bool = False
    checked: int = 0
    dated: bool = False
    needs: frozenset[str] = frozenset()
    bars: frozenset[str] = frozenset()
    alone: bool = False


_KINDS = {
    "title": str, "least": int, "most": int, "fixed": bool, "numeric": bool, "checked": int,
    "dated": bool, "needs": list, "bars": list, "alone": bool,
}  # fmt: skip


def _applications() -> Iterator[Application]:
    """The identifiers of ``gs1.toml``; a table "410-417" is one for each of these codes."""
    path = Path(__file__).with_name("gs1.toml")
    for name, table in read_tables(path, _KINDS, needed=("title", "most")).items():
        first, _, last = name.partition("-")
        others = {key: frozenset(table.pop(key, ())) for key in ("needs", "bars")}
        for code in range(int(first), int(last or first) + 1):
            yield Application(
                f"{code:0{len(first)}}", **{"least": table["most"], **table, **others}
            )


APPLICATIONS = {application.code: application for application in _applications()}
_OFTEN_HIDDEN = frozenset({"10", "11", "17", "21", "240", "241"})
_STARTS = ("01", "00", "8003", "8017", PATIENT)
_BRACKETED = re.compile(r"\(([0-9]{2,4})\)")


def check_digit_fits(digits: str) -> bool:
    """Whether the last digit is the mod-10 check digit of the others, any length from two.

    >>> check_digit_fits("6291041500213"), check_digit_fits("6291041500214")
    (True, False)
    """
    return len(digits) > 1 and is_digits(digits) and ean.calc_check_digit(digits[:-1]) == digits[-1]


def looks_like_gs1(text: str) -> bool:
    """Whether a text without a first mark begins as GS1 does, with a check digit to prove it.

    >>> looks_like_gs1("010064316900176317160712"), looks_like_gs1("0100643169001760")
    (True, False)
    """
    for code in _STARTS:
        checked = text[len(code) : len(code) + APPLICATIONS[code].checked]
        whole = len(checked) == APPLICATIONS[code].checked
        if text.startswith(code) and whole and check_digit_fits(checked):
            return True
    return text.startswith(GS)


def is_bracketed(text: str) -> bool:
    """Whether a text begins as the readable form does: a known identifier in brackets."""
    found = _BRACKETED.match(text)
    return bool(found and found[1] in APPLICATIONS)


def names_a_patient(text: str) -> bool:
    """Whether a text carries a patient's number in any form; asked before anything is kept."""
    if f"({PATIENT})" in text:
        return True
    return any(part.startswith(PATIENT) and looks_like_gs1(part) for part in text.split(GS))


def read_gs1(text: str, today: date) -> Reading:
    """Element strings as scanned, without first mark, separators as GS (``\\x1d``).

    Never splits a value by guessing: a separator that the scanner lost gives a warning.
    """
    pairs, rest = _split_raw(text)
    warnings = []
    if rest:
        if not pairs:
            return Reading(
                problem=f"“{rest[:8]}” is no application identifier that Packbench knows, so "
                "that the code cannot be read. Type the item number."
            )
        warnings.append(f"Not read from “{rest[:12]}” on: no application identifier that "
                        "Packbench knows stands there.")  # fmt: skip
    elif not pairs:
        return Reading(problem="The code is empty. Scan again, or type the item number.")
    elif GS not in text:
        warnings += _missing_separator(pairs)
    return _reading(pairs, warnings, today)


def begins_with_element(text: str) -> bool:
    """Whether a raw text begins with an application identifier.

    >>> begins_with_element("8004061414132a/b"), begins_with_element("HF-1042")
    (True, False)
    """
    return _application_at(text, 0) is not None


def read_bracketed(text: str, today: date) -> Reading:
    """The readable form, ``(01)...(21)...``; a bracket inside a value stays in the value."""
    starts = [found for found in _BRACKETED.finditer(text) if found[1] in APPLICATIONS]
    ends = [found.start() for found in starts[1:]] + [len(text)]
    pairs = [
        (APPLICATIONS[found[1]], text[found.end() : end].strip(f" {GS}"))
        for found, end in zip(starts, ends, strict=True)
    ]
    return _reading(pairs, [], today)


Pair = tuple[Application, str]


def _split_raw(text: str) -> tuple[list[Pair], str]:
    """The pairs up to the end, or up to the first unknown identifier and what is left."""
    pairs: list[Pair] = []
    at = 0
    while at < len(text):
        if text[at] == GS:
            at += 1
            continue
        application = _application_at(text, at)
        if application is None:
            return pairs, text[at:]
        start = at + len(application.code)
        separator = text.find(GS, start)
        at = len(text) if separator < 0 else separator
        if application.fixed:
            at = min(start + application.most, len(text))
        pairs.append((application, text[start:at]))
    return pairs, ""


def _application_at(text: str, at: int) -> Application | None:
    found = (APPLICATIONS.get(text[at : at + length]) for length in (2, 3, 4))
    return next((application for application in found if application), None)


def _missing_separator(pairs: Sequence[Pair]) -> list[str]:
    """A warning when the last value may hide another element; nobody can know, so no split."""
    if not pairs or pairs[-1][0].fixed:
        return []
    last, value = pairs[-1]
    seen = {application.code for application, _ in pairs}
    for at in range(1, len(value)):
        hidden = _application_at(value, at)
        if hidden and hidden.code in _OFTEN_HIDDEN - seen and _could_be_elements(value[at:]):
            return [
                f"Separator missing? The {last.title} “{value}” may hide ({hidden.code}) "
                f"{hidden.title}. Compare it with the print; try the scanner test."
            ]
    return []


def _could_be_elements(text: str) -> bool:
    pairs, rest = _split_raw(text)
    return not rest and all(
        _fault(application, value) is None
        and (not application.dated or gs1_day(value, date(2000, 1, 1)) is not None)
        for application, value in pairs
    )


def _fault(application: Application, value: str) -> str | None:
    """What is wrong with a value, in words; None when nothing is."""
    name = f"({application.code}) {application.title} “{value}”"
    if not application.least <= len(value) <= application.most:
        lengths = " to ".join(map(str, sorted({application.least, application.most})))
        hint = "" if application.fixed else " A separator may be missing: try the scanner test."
        return f"{name} is {len(value)} long and must be {lengths}.{hint or ' Scan again.'}"
    if odd := sorted(set(value) - CHARSET_82):
        return (
            f"{name} holds {' '.join(map(repr, odd))}, which no GS1 code may hold. If the "
            "scanner sends that for the separator, set SCANNER_SEPARATOR; try the scanner test."
        )
    figures = value if application.numeric else value[: application.checked]
    if figures and not is_digits(figures):
        return f"{name} must be figures only. Scan again."
    if application.checked and not check_digit_fits(value[: application.checked]):
        return f"{name} has a wrong check digit. Scan again, or compare it with the print."
    return None


def _reading(pairs: Sequence[Pair], warnings: list[str], today: date) -> Reading:
    if any(application.code == PATIENT for application, _ in pairs):
        return Reading(problem=PATIENT_PROBLEM, patient=True)
    values: dict[str, str] = {}
    elements = []
    for application, value in pairs:
        if fault := _fault(application, value):
            return Reading(problem=fault)
        if values.setdefault(application.code, value) != value:
            return Reading(
                problem=f"({application.code}) stands twice with different values, “"
                f"{values[application.code]}” and “{value}”. Scan one code at a time."
            )
        day = gs1_day(value, today) if application.dated else None
        stated = not (application.dated and value.endswith("00"))
        elements.append(Element(application.code, application.title, value, day, stated))
    warnings += [f"({element.key}) “{element.value}” is not a date." for element in elements
                 if APPLICATIONS[element.key].dated and element.day is None]  # fmt: skip
    warnings += _pairing(values)
    return Reading(tuple(dict.fromkeys(elements)), _identifiers(values), tuple(warnings))


def gs1_day(value: str, today: date) -> date | None:
    """The day that YYMMDD means; day 00 is the last of the month. None when it is no date.

    >>> gs1_day("150700", date(2026, 1, 1)), gs1_day("151301", date(2026, 1, 1))
    (datetime.date(2015, 7, 31), None)
    """
    if len(value) != 6 or not is_digits(value):
        return None
    year, month, day = full_year(int(value[:2]), today), int(value[2:4]), int(value[4:])
    try:
        return date(year, month, day) if day else month_end(year, month)
    except ValueError:
        return None


def _pairing(values: dict[str, str]) -> list[str]:
    warnings = []
    for code in values:
        application = APPLICATIONS[code]
        others = values.keys() - {code}
        if application.needs and not application.needs & others:
            partners = ", ".join(f"({need})" for need in sorted(application.needs))
            warnings.append(f"({code}) {application.title} stands without {partners}.")
        if barred := sorted(application.bars & others):
            warnings.append(f"({code}) {application.title} must not stand with ({barred[0]}).")
        if application.alone and others:
            warnings.append(f"({code}) {application.title} should stand alone.")
    return warnings


def _identifiers(values: dict[str, str]) -> tuple[Wanted, ...]:
    """What to look up, the single piece before the model.

    (7023) names the assembly that a piece belongs to, not the piece: it is not looked up.
    """
    wanted = []
    gtin, serial, grai = values.get("01"), values.get("21"), values.get("8003")
    if gtin and serial:
        wanted.append(Wanted(IdentifierKind.GTIN_SERIAL, f"{gtin} {serial}"))
    if gtin:
        wanted.append(Wanted(IdentifierKind.GTIN, gtin))
    if grai:
        base, asset_serial = grai[1:14], grai[14:]
        if asset_serial:
            wanted.append(Wanted(IdentifierKind.GRAI, f"{base} {asset_serial}"))
        wanted.append(Wanted(IdentifierKind.GRAI, base))
    if giai := values.get("8004"):
        wanted.append(Wanted(IdentifierKind.GIAI, giai))
    return tuple(wanted)
