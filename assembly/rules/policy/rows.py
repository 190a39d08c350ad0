"""Data files of the rules: each row as its dataclass declares it, dated and sourced."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Mapping
from enum import StrEnum
from pathlib import Path
from typing import Any, TypeVar

from assembly.rules.facts.declared import declared
from catalog.data_files import DataError, check_day, check_keys, check_some, check_text, read_data

DATA = Path(__file__).parent / "data"
CONFIDENCE = ("S", "2", "2-", "M", "CP", "D")
Made = TypeVar("Made")


def read_rows(
    path: Path, make: Callable[..., Made], asked: Callable[[Made], Hashable]
) -> tuple[Made, ...]:
    """The rows in ``path``; DataError on the first thing that is wrong.

    ``asked`` is the question that a row answers: no two answer the same.
    """
    top = {"last_checked", "row"}
    table = check_keys(path.name, "(top)", read_data(path), top, top)
    check_day(path.name, "last_checked", table["last_checked"])
    found: dict[Hashable, Made] = {}
    for n, raw in enumerate(check_some(path.name, "row", table["row"], "row"), start=1):
        row = _row(path.name, f"row {n}", raw, make)
        if found.setdefault(asked(row), row) is not row:
            raise DataError(path.name, f"row {n}", "answers the same question as an earlier row")
    return tuple(found.values())


def _row(file: str, place: str, raw: object, make: Any) -> Any:
    facts = declared(make)
    needed = [one.name for one in facts if one.needed]
    table = check_keys(file, place, raw, [one.name for one in facts], needed)
    check_sourced(file, place, table)
    words = {one.name: one.of for one in facts if issubclass(one.of, StrEnum)}
    try:
        read = {key: words[key](value) if key in words else value for key, value in table.items()}
        return make(**read)
    except ValueError as problem:
        raise DataError(file, place, str(problem)) from problem


def check_sourced(file: str, place: str, table: Mapping[str, Any]) -> None:
    """DataError unless an entry says where it comes from, and how sure that is."""
    check_text(file, f"{place}.source", table["source"], "must name where the value comes from")
    if table["confidence"] not in CONFIDENCE:
        problem = f"read {table['confidence']!r}; one of {CONFIDENCE}"
        raise DataError(file, f"{place}.confidence", problem)
