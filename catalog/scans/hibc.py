"""HIBC codes (ANSI/HIBC 2): the primary, the secondary, both in one symbol.

Structure: public descriptions by barcode makers and FDA's "UDI formats by FDA-accredited
issuing agency" 1.3, 2017; check character: hibcc.org/m43. Date flags other than 5, and the
quantity flags 8 and 9, are from memory.
"""

from __future__ import annotations

import re
from datetime import date, datetime

from catalog.scans.dates import full_year, is_digits, month_end
from catalog.scans.elements import Element, IdentifierKind, Reading, UnreadableError, Wanted

CHARACTERS = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ-. $/+%"
"""The 43 characters in the order of their values."""
_PRIMARY = re.compile(r"\+([A-Z][A-Z0-9]{3})([A-Z0-9]{1,18})([0-9])")
_SECONDARY_ALONE = re.compile(r"\+[$0-9]")
# Date flag: how many figures, where the year's two stand, the layout with a full year.
_DATES = {
    "2": (6, 4, "%m%d%Y"),
    "3": (6, 0, "%Y%m%d"),
    "4": (8, 0, "%Y%m%d%H"),
    "5": (5, 0, "%Y%j"),
    "6": (7, 0, "%Y%j%H"),
}
_NO_DATE = "7"
_QUANTITIES = {"8": 2, "9": 5}
_DAY_LENGTH = 8
_KEYBOARD = "If this happens with every code, the keyboard layout is wrong: try the scanner test."


def check_character(text: str) -> str | None:
    """The mod-43 check character of ``text``; None when it holds a foreign character.

    >>> check_character("+A123BJC5D6E71")
    'G'
    """
    if any(character not in CHARACTERS for character in text):
        return None
    return CHARACTERS[sum(map(CHARACTERS.index, text)) % len(CHARACTERS)]


def looks_like_hibc(text: str) -> bool:
    """Whether a text begins as HIBC does: a plus, perhaps after an asterisk left over."""
    return text.startswith(("+", "*+"))


def read_hibc(text: str, today: date) -> Reading:
    """A HIBC text with its check character, its printed asterisks taken off.

    A space as check character is printed as ``_``. Small letters are read as capitals
    when the check character then fits: Caps Lock is on.
    """
    body, check = text[:-1], text[-1:].replace("_", " ")
    warnings = []
    if check_character(body) != check and check_character(body.upper()) == check.upper():
        body, check = body.upper(), check.upper()
        warnings.append("Small letters were read as capitals: Caps Lock seems to be on.")
    if len(body) < 2 or check_character(body) != check:
        return Reading(problem=f"The check character of “{text}” does not fit. "
                       f"Scan again. {_KEYBOARD}")  # fmt: skip
    try:
        elements, identifiers = _read_body(body, today, warnings)
    except UnreadableError as fault:
        return Reading(problem=str(fault))
    if not identifiers:
        return Reading(tuple(elements), (), tuple(warnings), problem=(
            "This is the second part of a code in two parts, which says lot and date only. "
            "Scan the first part."))  # fmt: skip
    return Reading(tuple(elements), tuple(identifiers), tuple(warnings))


def _read_body(body: str, today: date, warnings: list[str]) -> tuple[list[Element], list[Wanted]]:
    """Everything between the plus and the check character."""
    if _SECONDARY_ALONE.match(body):
        elements = [Element("link", "link to the first part", body[-1])]
        parts, identifiers = body[1:-1].split("/"), []
    else:
        first, *parts = body.split("/")
        found = _PRIMARY.fullmatch(first)
        if not found:
            raise UnreadableError(
                f"“{first}” is no HIBC: after the plus come a maker's four characters, a "
                f"product number and one figure. Scan again. {_KEYBOARD}"
            )
        labeler, product, unit = found.groups()
        elements = [Element("labeler", "labeler", labeler), Element("product", "product", product),
                    Element("unit", "unit of measure", unit)]  # fmt: skip
        identifiers = [Wanted(IdentifierKind.HIBC, labeler + product + unit)]
    for part in parts:
        read = _read_part(part, today)
        if part and not read:
            warnings.append(f"Not read: “{part}”.")
        warnings += [f"{item.title.capitalize()} “{item.value}” is not a date." for item in read
                     if item.key in ("expiry", "made") and item.day is None]  # fmt: skip
        elements += read
    return elements, identifiers


def _read_part(part: str, today: date) -> list[Element]:
    """One part of the secondary, by what it begins with; nothing when that is unknown."""
    for start, key in (("$$+", "serial"), ("$$", "lot")):
        if part.startswith(start):
            return _dated(part.removeprefix(start), key, today)
    for start, key in (("$+", "serial"), ("$", "lot"), ("S", "serial"), ("Q", "quantity")):
        if part.startswith(start):
            return _filled(key, part.removeprefix(start))
    for start, key in (("16D", "made"), ("14D", "expiry")):
        if part.startswith(start):
            digits = part.removeprefix(start)
            return [Element(key, key, digits, _day(digits, "%Y%m%d", _DAY_LENGTH))]
    if is_digits(part[:5]):
        return [_expiry(part[:5], 0, "%Y%j", today), *_filled("lot", part[5:])]
    return []


def _dated(text: str, key: str, today: date) -> list[Element]:
    """What follows ``$$``: perhaps a quantity, a date by its flag, then lot or serial."""
    if (length := _QUANTITIES.get(text[:1])) is not None:
        quantity = _filled("quantity", text[1 : 1 + length])
        return [*quantity, *_dated_only(text[1 + length :], key, today)]
    return _dated_only(text, key, today)


def _dated_only(text: str, key: str, today: date) -> list[Element]:
    flag = text[:1]
    if flag == _NO_DATE:
        return _filled(key, text[1:])
    if flag in _DATES:
        length, year_at, layout = _DATES[flag]
        digits, rest = text[1 : 1 + length], text[1 + length :]
        return [_expiry(digits, year_at, layout, today), *_filled(key, rest)]
    if not is_digits(flag):
        return _filled(key, text)
    return [_month(text[:4], today), *_filled(key, text[4:])]


def _filled(key: str, value: str) -> list[Element]:
    return [Element(key, key, value)] if value else []


def _expiry(digits: str, year_at: int, layout: str, today: date) -> Element:
    day = None
    if is_digits(digits) and len(digits) >= year_at + 2:
        year = full_year(int(digits[year_at : year_at + 2]), today)
        full = f"{digits[:year_at]}{year}{digits[year_at + 2 :]}"
        day = _day(full, layout, len(digits) + 2)
    return Element("expiry", "expiry", digits, day)


def _month(digits: str, today: date) -> Element:
    """MMYY, the form without a flag."""
    day = None
    if len(digits) == 4 and is_digits(digits) and 1 <= int(digits[:2]) <= 12:
        day = month_end(full_year(int(digits[2:]), today), int(digits[:2]))
    return Element("expiry", "expiry", digits, day, day_stated=False)


def _day(digits: str, layout: str, length: int) -> date | None:
    if len(digits) != length or not is_digits(digits):
        return None
    try:
        return datetime.strptime(digits, layout).date()
    except ValueError:
        return None
