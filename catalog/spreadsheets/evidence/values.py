"""What the values of a column say of it, whatever its heading: codes, words, sizes, counts.

All weights and limits are ours (common practice, no source), tried on invented lists.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from catalog.spreadsheets.cells.listed import NO_WORDS, YES_WORDS, folded_word
from catalog.spreadsheets.cells.number_formats import unit_in_format
from catalog.spreadsheets.workbook.cell import Cell
from catalog.units import LENGTH_UNITS, WEIGHT_UNITS, unit_of_word

MOST = 0.6
"""The share of a column's values above which it is "of" a sort."""
NEARLY_ALL = 0.9
FEW = 3
"""Fewer values than this are no evidence."""
LARGEST_COUNT = 99
"""More pieces of one kind than this are hardly a count in a set."""
LEAST_DIGITS = 4
"""Shorter numbers may be sizes or counts."""
PARAGRAPH = 80
"""Characters above which a text is a paragraph, no name."""

_NUMBER = re.compile(
    r"(?:[0-9]{1,3}(?:\.[0-9]{3})+(?:,[0-9]+)?|[0-9]{1,3}(?:,[0-9]{3})+(?:\.[0-9]+)?"
    r"|[0-9]+(?:[.,][0-9]+)?)(?:[ -][0-9]+/[0-9]+|/[0-9]+)?$"
)
_WITH_UNIT = re.compile(r"[0-9][0-9., /-]*?\s*([^\W\d_]+\.?|\"|”|″)$")
_CODE = re.compile(r"(?=\S*[0-9])[^\W_][\w./-]{1,29}$")
_GAPPED = re.compile(
    r"(?=(?:.*[0-9]){2})(?=.*[A-Z])[A-Z0-9][A-Z0-9./-]{0,9}(?: [A-Z0-9./-]{1,8}){1,3}$"
)
"""A code with gaps, as in "BX 100 R"."""
_LONG_WORD = re.compile("[A-Z]{4}")
_THREE = re.compile(r"[0-9.,]+\s*[x×*]\s*[0-9.,]+\s*[x×*]\s*[0-9.,]+", re.IGNORECASE)
_WORD = re.compile(r"[^\W\d_]{3,}")
_TRADE_ITEM = re.compile(r"[0-9]{12,14}$")
_COUNT = re.compile(r"([0-9]{1,2})(?:\s*x|\s*[^\W\d_]{1,6}\.?)?$", re.IGNORECASE)
_DAY = re.compile(
    r"(?:(?:19|20)[0-9]{2}-[0-9]{1,2}-[0-9]{1,2}|[0-9]{1,2}([./-])[0-9]{1,2}\1(?:19|20)[0-9]{2})$"
)
_MONEY = re.compile(r"[$€£¥]|\b(?:USD|EUR|GBP|CHF|SEK|PLN|kr|zł)\b", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Values:
    """Shares of a column's filled cells, from 0 to 1, and what holds of the column as a whole."""

    filled: int
    numbers: float = 0.0
    lengths: float = 0.0
    weights: float = 0.0
    codes: float = 0.0
    words: float = 0.0
    paragraphs: float = 0.0
    three_sizes: float = 0.0
    trade_items: float = 0.0
    counts: float = 0.0
    days: float = 0.0
    money: float = 0.0
    yes_no: float = 0.0
    different: float = 0.0
    one_width: bool = False
    """Whole numbers of as many digits each, four or more: they are numbers of things."""
    running: bool = False
    """1, 2, 3 ... down the column."""

    @classmethod
    def of(cls, cells: Sequence[Cell]) -> Values:
        """From the filled cells of a column, top to bottom."""
        if not cells:
            return cls(0)
        of = len(cells)
        texts = [cell.typed.strip() for cell in cells]
        units = [_unit(cell, text) for cell, text in zip(cells, texts, strict=True)]

        def share(pattern: re.Pattern[str]) -> float:
            return sum(bool(pattern.match(text)) for text in texts) / of

        return cls(
            filled=of,
            numbers=sum(bool(_NUMBER.match(text)) and not _DAY.match(text) for text in texts) / of,
            lengths=sum(unit in LENGTH_UNITS for unit in units) / of,
            weights=sum(unit in WEIGHT_UNITS for unit in units) / of,
            codes=sum(
                _is_code(text) and unit is None for text, unit in zip(texts, units, strict=True)
            ) / of,
            words=sum(bool(_WORD.search(text)) and not _is_code(text) for text in texts) / of,
            paragraphs=sum(len(text) > PARAGRAPH for text in texts) / of,
            three_sizes=share(_THREE),
            trade_items=share(_TRADE_ITEM),
            counts=sum(_is_count(text, unit) for text, unit in zip(texts, units, strict=True)) / of,
            days=sum(
                isinstance(cell.value, date) or bool(_DAY.match(text))
                for cell, text in zip(cells, texts, strict=True)
            ) / of,
            money=sum(
                bool(_MONEY.search(text) or _MONEY.search(cell.number_format))
                for cell, text in zip(cells, texts, strict=True)
            ) / of,
            yes_no=sum(folded_word(text) in _YES_OR_NO for text in texts) / of,
            different=len(set(texts)) / of,
            one_width=all(len(text) == max(len(texts[0]), LEAST_DIGITS) and text.isdigit()
                          for text in texts),
            running=_is_running(texts),
        )  # fmt: skip

    def score(self, key: str) -> float:
        """How well the values fit the column ``key``: above 0 for it, below against it."""
        if not self.filled:
            return -1.0
        if key in _NEVER_MONEY and (self.money > MOST or self.days > MOST):
            return -1.5
        judge = _JUDGES.get(key)
        return judge(self) if judge else 0.0

    @property
    def sizes(self) -> float:
        """The share of cells that can be a size, with its unit or bare."""
        return min(1.0, self.numbers + self.lengths + self.weights)


def _is_code(text: str) -> bool:
    """Whether a text is a number of a thing.

    >>> _is_code("HF-1"), _is_code("BX 100 R"), _is_code("PROBE 12"), _is_code("12 EA")
    (True, True, False, False)
    """
    if _CODE.match(text):
        return True
    return bool(_GAPPED.match(text)) and not _LONG_WORD.search(text) and not _COUNT.match(text)


def _is_running(texts: Sequence[str]) -> bool:
    """1, 2, 3 ... down a column, whatever a heading above them says."""
    numbers = [text for text in texts if text.isdigit()]
    return len(numbers) >= max(FEW, NEARLY_ALL * len(texts) - 1) and numbers == [
        str(number) for number in range(1, len(numbers) + 1)
    ]


def _unit(cell: Cell, text: str) -> str | None:
    found = _WITH_UNIT.match(text)
    return unit_of_word(found[1]) if found else unit_in_format(cell.number_format)


def _is_count(text: str, unit: str | None) -> bool:
    found = _COUNT.match(text)
    return unit is None and found is not None and 1 <= int(found[1]) <= LARGEST_COUNT


def _item_number(values: Values) -> float:
    if values.running or values.days or values.words > MOST or values.trade_items > MOST:
        return -1.0
    if values.codes < MOST or values.lengths + values.weights > 1 - MOST:
        return -1.0
    if values.counts > MOST:
        return -1.0
    unique = 0.4 if values.different > NEARLY_ALL else -0.2
    return unique + (0.4 if values.numbers < MOST else 0.3 if values.one_width else -0.1)


def _name(values: Values) -> float:
    if values.words < MOST or values.days or values.yes_no > MOST:
        return -1.2
    unique = 0.2 if values.different > MOST else -0.1
    return 0.5 + unique - 0.6 * values.paragraphs


def _length(values: Values) -> float:
    return _size(values, values.lengths, values.weights)


def _weight(values: Values) -> float:
    return _size(values, values.weights, values.lengths)


def _size(values: Values, right: float, wrong: float) -> float:
    if values.sizes < MOST or wrong > MOST or values.running or values.days:
        return -1.5
    return 0.3 + (0.6 if right > MOST else 0.0)


def _quantity(values: Values) -> float:
    if values.counts < MOST or values.running:
        return -1.0
    return 0.5


def _spares(values: Values) -> float:
    return 0.3 if values.counts > MOST or values.numbers > MOST else -0.6


def _maker(values: Values) -> float:
    if values.words < MOST or values.yes_no > MOST:
        return -1.0
    return 0.3 if values.different < MOST else -0.1


def _maker_number(values: Values) -> float:
    codes = values.codes > MOST and values.counts < MOST
    return 0.4 if codes and not values.running else -0.8


def _set_code(values: Values) -> float:
    if values.words > MOST or values.running or values.counts > MOST:
        return -1.0
    return 0.2 if values.codes > MOST and values.different < MOST else -0.4


def _set_name(values: Values) -> float:
    return 0.3 if values.words > MOST and values.different < MOST else -0.4


_YES_OR_NO = (YES_WORDS | NO_WORDS) - {"0", "1"}
_NEVER_MONEY = {"item_number", "name", "length", "width", "height", "weight", "quantity",
                "maker_catalog_number", "set_code", "spares_on_hand"}  # fmt: skip
_JUDGES = {
    "item_number": _item_number,
    "name": _name,
    "length": _length,
    "width": _length,
    "height": _length,
    "weight": _weight,
    "quantity": _quantity,
    "maker": _maker,
    "group": _maker,
    "maker_catalog_number": _maker_number,
    "set_code": _set_code,
    "set_name": _set_name,
    "revision": lambda values: -1.0 if values.words > MOST or values.different > MOST else 0.0,
    "sizes": lambda values: 1.2 if values.three_sizes > MOST else -2.0,
    "spares_on_hand": _spares,
    "price": lambda values: 0.8 if values.money > MOST else 0.1 if values.numbers > MOST else -0.3,
    "udi": lambda values: 0.8 if values.trade_items > MOST else 0.0,
    "line": lambda values: 0.8 if values.running else -0.8,
    "date": lambda values: 0.8 if values.days > MOST else -0.2,
}
