"""What else the trade calls an instrument: read strictly from ``data/synonyms.toml``.

Facts that only practice knows, each marked so. They widen a list; they decide nothing.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from catalog.data_files import DataError, read_tables

FILE = Path(__file__).parent / "data" / "synonyms.toml"
KEYS: Mapping[str, type] = {"words": list, "kinds": list, "source": str}
NEEDED = ("words", "source")
Stems = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Group:
    """Names for one kind of instrument: ``words`` stand for each other, ``kinds`` for none."""

    words: tuple[Stems, ...]
    kinds: tuple[Stems, ...]


def stem(word: str) -> str:
    """A word folded and without its plural, for comparing beginnings.

    >>> stem("Clamps"), stem("forceps"), stem("gas")
    ('clamp', 'forcep', 'gas')
    """
    word = word.casefold()
    return word[:-1] if len(word) > 3 and word.endswith("s") and not word.endswith("ss") else word


def stems(text: str) -> Stems:
    """The stems of a phrase, word by word.

    >>> stems("Towel clips")
    ('towel', 'clip')
    """
    return tuple(stem(word) for word in text.split())


def read_groups(path: Path) -> tuple[Group, ...]:
    """The groups of a file. DataError names the file, the group and what is wrong."""
    return tuple(
        _group(path.name, name, one) for name, one in read_tables(path, KEYS, NEEDED).items()
    )


def _group(file: str, name: str, table: Mapping[str, Any]) -> Group:
    if len(table["words"]) < 2:
        raise DataError(file, f"{name}.words", f"must be two or more, was {table['words']!r}")
    return Group(*(tuple(map(stems, table.get(key, ()))) for key in ("words", "kinds")))


@cache
def groups() -> tuple[Group, ...]:
    """The groups that ship, read once."""
    return read_groups(FILE)


def said_otherwise(phrase: Sequence[str]) -> tuple[Stems, ...]:
    """Every other way to say a phrase, with the kinds of it; empty where none is known.

    >>> said_otherwise(("bp", "handle"))
    (('scalpel', 'handle'), ('knife', 'handle'), ('blade', 'handle'))
    """
    phrase = tuple(phrase)
    return tuple(
        other
        for group in groups()
        if phrase in group.words
        for other in (*group.words, *group.kinds)
        if other != phrase
    )


@cache
def longest() -> int:
    """How many words the longest phrase has."""
    return max(len(phrase) for group in groups() for phrase in group.words)
