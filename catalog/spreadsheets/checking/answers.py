"""Answers to questions, as they are written at the command line: the page sends the same texts."""

from __future__ import annotations

import re
import shlex
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace

from catalog.spreadsheets.cells.numbering import counting_from
from catalog.spreadsheets.cells.report import ANSWER
from catalog.spreadsheets.checking.asking import NOT_READ
from catalog.spreadsheets.checking.proposing import NAMED_OF
from catalog.spreadsheets.columns.choices import NOTHING_SAID, Choices, SheetChoice
from catalog.spreadsheets.columns.instruments import INSTRUMENT_COLUMNS, SIZES_TOGETHER
from catalog.units import LENGTH_UNITS, WEIGHT_UNITS

SIZES = {
    column.key: LENGTH_UNITS if column.unit == "mm" else WEIGHT_UNITS
    for column in (*INSTRUMENT_COLUMNS, SIZES_TOGETHER)
    if column.unit
}
MOST_PIECES = 99
"""More pieces in every line of a set are a slip (our limit)."""


class AnswerError(ValueError):
    """A text that is no answer; the message says how it is written."""


def given(option: str, answer: str) -> tuple[str, str]:
    """The option of a question with its answer, as name and text. AnswerError.

    >>> given("--column 'My list!A=ANSWER'", "name")
    ('column', 'My list!A=name')
    """
    try:
        name, text = shlex.split(option)
    except ValueError as error:
        raise AnswerError(f"{option!r} is the option of no question.") from error
    return name.removeprefix("--"), text.removesuffix(ANSWER) + answer.strip()


def answered(
    answers: Iterable[tuple[str, str]], sheets: Sequence[str], kind: str, earlier: Choices
) -> dict[str, SheetChoice]:
    """What was said earlier of each sheet, and what the answers say. AnswerError.

    ``answers``: names of options (:data:`ANSWERS`) with their texts. A text may begin with the
    title of a sheet and "!"; else it holds for every sheet.
    """
    said = {title: earlier.get(title, NOTHING_SAID) for title in sheets}
    for name, text in answers:
        titles, what = _sheets_of(text, sheets)
        if name not in ANSWERS:
            raise AnswerError(f"--{name} answers no question. One of: {', '.join(ANSWERS)}.")
        if name == "column" and len(titles) > 1:
            example = f"{sheets[0]}!{what}"
            raise AnswerError(f"{text!r} does not say which sheet. Write it like {example!r}.")
        for title in titles:
            said[title] = ANSWERS[name](said[title], what, kind)
    return {title: one for title, one in said.items() if one != NOTHING_SAID}


def _sheets_of(text: str, sheets: Sequence[str]) -> tuple[list[str], str]:
    """The sheets that an answer names, all where it names none; and the rest of it."""
    for title in sorted(sheets, key=len, reverse=True):
        if text.startswith(f"{title}!"):
            return [title], text[len(title) + 1 :]
    return list(sheets), text


def _column(said: SheetChoice, text: str, kind: str) -> SheetChoice:
    letter, _, key = text.partition("=")
    letter = letter.strip().upper()
    known = [column.key for column in NAMED_OF[kind]]
    if not re.fullmatch("[A-Z]{1,3}", letter) or key not in (*known, NOT_READ):
        raise AnswerError(
            f"{text!r} is no column and key. Write it like C=length, or C={NOT_READ} where it is "
            f"not to be read. The keys: {', '.join(known)}."
        )
    others = {other: had for other, had in said.columns.items() if had != key}
    return replace(said, columns={**others, letter: "" if key == NOT_READ else key})


def _unit(said: SheetChoice, text: str, _kind: str) -> SheetChoice:
    keys, _, unit = text.partition("=")
    if any(unit not in SIZES.get(key, ()) for key in keys.split(",")):
        raise AnswerError(f"{text!r} is no column and unit. Write it like length=cm.")
    return replace(said, units={**said.units, **dict.fromkeys(keys.split(","), unit)})


def _set_number(said: SheetChoice, text: str, _kind: str) -> SheetChoice:
    name, sign, number = text.rpartition("=")
    if not sign or not number.strip():
        raise AnswerError(f"{text!r} is no set and number. Write it like “Major set=S-01”.")
    return replace(said, set_numbers={**said.set_numbers, name: number.strip()})


def _quantity(said: SheetChoice, text: str, _kind: str) -> SheetChoice:
    if not (text.isascii() and text.isdigit() and 1 <= int(text) <= MOST_PIECES):
        raise AnswerError(f"{text!r} is no count of pieces: a number from 1 to {MOST_PIECES}.")
    return replace(said, quantity=int(text))


def _numbers_from(said: SheetChoice, text: str, _kind: str) -> SheetChoice:
    try:
        next(counting_from(text))
    except ValueError as error:
        raise AnswerError(f"{error} Write it like HF-1001.") from error
    return replace(said, numbers_from=text)


ANSWERS: Mapping[str, Callable[[SheetChoice, str, str], SheetChoice]] = {
    "column": _column,
    "unit": _unit,
    "set-number": _set_number,
    "quantity": _quantity,
    "numbers-from": _numbers_from,
}
"""Names of options to what they say of a sheet."""
