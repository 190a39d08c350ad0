"""How each person works: five steps a role, each with a picture of this very program."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from pathlib import Path

from catalog.data_files import DataError, read_tables

FILE = Path(__file__).with_name("how.toml")
STEPS = 5
_KINDS = {"title": str, "heads": list, "words": list}


@dataclass(frozen=True, slots=True)
class Step:
    """One step: what to do, a sentence or two, and the static file of its picture."""

    head: str
    words: str
    picture: str


@dataclass(frozen=True, slots=True)
class How:
    """The page of one role."""

    title: str
    steps: tuple[Step, ...]


@cache
def pages() -> dict[str, How]:
    """The page of each role; DataError where one has not five steps."""
    return {role: _page(role, table) for role, table in
            read_tables(FILE, _KINDS, _KINDS).items()}  # fmt: skip


def _page(role: str, table: dict[str, tuple[str, ...]]) -> How:
    heads, words = table["heads"], table["words"]
    if not len(heads) == len(words) == STEPS:
        raise DataError(FILE.name, role, f"needs {STEPS} heads and as many words")
    steps = zip(heads, words, strict=True)
    return How(str(table["title"]), tuple(
        Step(head, said, f"how/{role}-{number}.webp")
        for number, (head, said) in enumerate(steps, start=1)
    ))  # fmt: skip
