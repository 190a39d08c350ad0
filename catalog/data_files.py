"""Data that stands in TOML files beside its module, read strictly and once."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Mapping
from datetime import date
from pathlib import Path
from typing import Any


class DataError(ValueError):
    """A data file that cannot be used. Names the file, the place in it and the problem."""

    def __init__(self, file: str, place: str, problem: str) -> None:
        self.file, self.place, self.problem = file, place, problem
        super().__init__(f"{file}: {place}: {problem}")


def read_data(path: Path) -> dict[str, Any]:
    """The file as TOML; DataError when it is not, or a key is doubled."""
    try:
        return tomllib.loads(path.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as problem:
        raise DataError(path.name, "(whole file)", f"cannot be read: {problem}") from problem


def check_keys(
    file: str, place: str, table: object, known: Iterable[str], needed: Iterable[str]
) -> dict[str, Any]:
    """``table`` as a dict; DataError on an unknown key or a missing one."""
    if not isinstance(table, dict):
        raise DataError(file, place, "must be a table")
    if strange := sorted(set(table) - set(known)):
        raise DataError(file, f"{place}.{strange[0]}", "is not a key this file may have")
    if absent := sorted(set(needed) - set(table)):
        raise DataError(file, f"{place}.{absent[0]}", "is missing")
    return table


def check_day(file: str, place: str, value: object) -> date:
    """``value`` as a date; TOML writes one without quotes: 2026-01-31."""
    if type(value) is not date:
        raise DataError(file, place, f"read {value!r}; write a date such as 2026-01-31")
    return value


def check_text(file: str, place: str, value: object, problem: str = "must be a text") -> str:
    """``value`` as a text that says something; DataError with the ``problem`` otherwise."""
    if not isinstance(value, str) or not value.strip():
        raise DataError(file, place, problem)
    return value


def check_some(file: str, place: str, value: object, what: str) -> list[Any]:
    """``value`` as a list that is not empty; DataError otherwise."""
    if not isinstance(value, list) or not value:
        raise DataError(file, place, f"needs at least one {what}")
    return value


def read_tables(
    path: Path, kinds: Mapping[str, type], needed: Iterable[str]
) -> dict[str, dict[str, Any]]:
    """The tables of a file by their names, in order; lists as tuples of texts.

    DataError for a key that is not of ``kinds``, one ``needed`` that is missing, a value of
    another kind, and a blank one.
    """
    return {
        name: read_table(path.name, name, raw, kinds, needed)
        for name, raw in read_data(path).items()
    }


def read_table(
    file: str, name: str, raw: object, kinds: Mapping[str, type], needed: Iterable[str]
) -> dict[str, Any]:
    """One table as :func:`read_tables` reads them; the kind ``tuple`` is two numbers."""
    table = check_keys(file, name, raw, kinds, needed)
    return {key: _value(file, f"{name}.{key}", value, kinds[key]) for key, value in table.items()}


def _value(file: str, place: str, raw: object, kind: type) -> Any:
    if kind is tuple:
        if not isinstance(raw, list) or len(raw) != 2:
            raise DataError(file, place, "must be two numbers")
        return tuple(_value(file, place, number, float) for number in raw)
    if type(raw) is not kind:
        raise DataError(file, place, f"must be of kind {kind.__name__}, was {raw!r}")
    for text in raw if isinstance(raw, list) else [raw]:
        if isinstance(raw, list) and not isinstance(text, str):
            raise DataError(file, place, f"must hold texts only, holds {text!r}")
        if isinstance(text, str) and not text.strip():
            raise DataError(file, place, "must not be blank")
    return tuple(raw) if isinstance(raw, list) else raw


def read_lists(path: Path) -> dict[str, dict[str, tuple[str, ...]]]:
    """Lists of texts by the table and the key they stand under; DataError for anything else."""
    return {
        name: {key: _value(path.name, f"{name}.{key}", texts, list) for key, texts in table.items()}
        for name, table in read_data(path).items()
    }


def read_words(path: Path) -> dict[str, dict[str, str]]:
    """Tables of words: each word with what it means; DataError where one means two."""
    return {name: words_of(path.name, name, table) for name, table in read_lists(path).items()}


def words_of(file: str, name: str, meanings: Mapping[str, Iterable[str]]) -> dict[str, str]:
    """Each word of one table with its meaning, from each meaning with its words."""
    found: dict[str, str] = {}
    for meaning, words in meanings.items():
        for word in words:
            if found.setdefault(word, meaning) != meaning:
                raise DataError(file, f"{name}.{meaning}", f"{word!r} means {found[word]!r} too")
    return found
