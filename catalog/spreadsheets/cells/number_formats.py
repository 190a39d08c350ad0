"""What a number format shows of a cell: fixed texts around its digits, and a unit after them.

Formats are as ECMA-376 part 1, 18.8.31 describes them: sections with a semicolon between them,
fixed texts in quotes, after a backslash or in [$...], and [..] for colors, conditions, languages.
"""

from __future__ import annotations

import re
from functools import lru_cache

from catalog.spreadsheets.workbook.cell import CSV_FORMAT, Cell
from catalog.units import unit_of_word

_PART = re.compile(
    r'"(?P<quoted>[^"]*)"|\\(?P<escaped>.)|\[\$(?P<money>[^\]-]*)[^\]]*\]|(?P<hint>\[[^\]]*\])'
    r"|_.|\*.|(?P<general>General)|(?P<digit>[0#?])|(?P<typed>@)|(?P<bare>[- ()])|(?P<next>;)"
    r"|(?P<other>.)",
    re.IGNORECASE,
)
_CONDITION = re.compile(r"\[[<>=]")
Part = tuple[str, str]
"""What a part of a format is: fixed, digit, general, typed, or other; and its text."""


@lru_cache(maxsize=1024)
def _sections(number_format: str) -> tuple[tuple[Part, ...], ...]:
    sections: list[list[Part]] = [[]]
    for found in _PART.finditer(number_format):
        sort, text = found.lastgroup or "", found[found.lastgroup or 0] or ""
        if sort == "next":
            sections.append([])
        elif sort in ("quoted", "escaped", "money", "bare"):
            sections[-1].append(("fixed" if sort != "bare" else "bare", text))
        elif sort in ("digit", "general", "typed", "other"):
            sections[-1].append((sort, text))
    return tuple(map(tuple, sections))


def shown(cell: Cell) -> str | None:
    """A whole number or a text as its format shows it; None where that is what is typed, or where
    the format does more than to put texts around it.

    >>> shown(Cell(1, "A", 1042, None, '"HF-"0000')), shown(Cell(1, "A", 421, None, "00-00"))
    ('HF-1042', '04-21')
    >>> shown(Cell(1, "A", "42", None, '"HF-"@')), shown(Cell(1, "A", 42, None, "0.0"))
    ('HF-42', None)
    """
    value = cell.value
    if cell.formula is not None or cell.number_format in ("", "General", CSV_FORMAT):
        return None
    if isinstance(value, str):
        return _text_shown(value, cell.number_format)
    if isinstance(value, bool) or not isinstance(value, int | float) or value < 0:
        return None
    if value != value // 1 or _CONDITION.search(cell.number_format):
        return None
    return _number_shown(str(int(value)), _sections(cell.number_format)[0])


def _text_shown(text: str, number_format: str) -> str | None:
    for parts in _sections(number_format):
        if ("typed", "@") in parts and all(sort in ("fixed", "bare", "typed") for sort, _ in parts):
            return "".join(text if sort == "typed" else fixed for sort, fixed in parts)
    return None


def _number_shown(number: str, parts: tuple[Part, ...]) -> str | None:
    sorts = [sort for sort, _ in parts]
    if "other" in sorts or "typed" in sorts:
        return None
    if "general" in sorts:
        return "".join(number if sort == "general" else text for sort, text in parts)
    places = sorts.count("digit")
    if not places:
        return None
    digits, found = list(number), list[str]()
    for sort, text in reversed(parts):
        if sort != "digit":
            found.append(text)
            continue
        places -= 1
        last = digits if places == 0 else digits[-1:]
        found.append("".join(last) or ("0" if text == "0" else ""))
        del digits[len(digits) - len(last) :]
    return "".join(reversed(found))


def says_more_than_is_in_it(cell: Cell) -> bool:
    """Whether a number's format puts letters or digits beside it, and nobody here can tell how.

    >>> says_more_than_is_in_it(Cell(1, "A", 104.5, None, '"HF-"0.0'))
    True
    >>> says_more_than_is_in_it(Cell(1, "A", 1042, None, '"HF-"0'))
    False
    """
    if isinstance(cell.value, bool) or not isinstance(cell.value, int | float):
        return False
    fixed = any(
        sort == "fixed" and any(map(str.isalnum, text))
        for parts in _sections(cell.number_format)
        for sort, text in parts
    )
    return fixed and shown(cell) is None


def unit_in_format(number_format: str) -> str | None:
    """The unit a number format shows after a number above zero, None when it shows none, or not
    the number itself but thousands of it.

    >>> unit_in_format('0.0" cm"'), unit_in_format("General"), unit_in_format('0" mm";-0" mm"')
    ('cm', None, 'mm')
    >>> unit_in_format('0.0," kg"'), unit_in_format("0.0[$ cm]")
    (None, 'cm')
    """
    if not any(mark in number_format for mark in '"\\[') or _CONDITION.search(number_format):
        return None
    parts = _sections(number_format)[0]
    last = max((place for place, (sort, _) in enumerate(parts) if sort == "digit"), default=-1)
    if parts[last + 1 : last + 2] == (("other", ","),):
        return None
    fixed = "".join(text for sort, text in parts if sort == "fixed")
    return unit_of_word(fixed.strip()) if fixed.strip() else None
