"""What else the trade calls an instrument: read strictly from ``data/synonyms.toml``.

Facts that only practice knows, each marked so. They widen a list; they decide nothing.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

FILE = Path(__file__).parent / "data" / "synonyms.toml"
Stems = tuple[str, ...]


class SynonymsError(ValueError):
    """The file of synonyms is wrong; the message names the group and the key."""


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


def read_groups(data: Mapping[str, Any]) -> tuple[Group, ...]:
    """The groups of a file's content. SynonymsError where a key is unknown or missing."""
    if set(data) != {"groups"}:
        raise SynonymsError(f"synonyms: write [[groups]] alone; read {', '.join(data) or 'none'}.")
    return tuple(_group(number, one) for number, one in enumerate(data["groups"], start=1))


def _group(number: int, data: Mapping[str, Any]) -> Group:
    where = f"synonyms, group {number}"
    if unknown := set(data) - {"words", "kinds", "source"}:
        raise SynonymsError(f"{where}: {unknown.pop()!r} is no key; use words, kinds, source.")
    if not str(data.get("source", "")).strip():
        raise SynonymsError(f"{where}: source is missing; write where it comes from.")
    words = _phrases(data.get("words"), f"{where}, words")
    if len(words) < 2:
        raise SynonymsError(f"{where}, words: {len(words)} read; write two or more.")
    return Group(words, _phrases(data.get("kinds", []), f"{where}, kinds"))


def _phrases(value: object, where: str) -> tuple[Stems, ...]:
    if not isinstance(value, list) or not all(
        isinstance(one, str) and one.strip() for one in value
    ):
        raise SynonymsError(f"{where}: {value!r} was read; write a list of words.")
    return tuple(stems(one) for one in value)


@cache
def groups() -> tuple[Group, ...]:
    """The groups that ship, read once."""
    return read_groups(tomllib.loads(FILE.read_text(encoding="utf-8")))


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
