"""Facts from JSON: the public interface of ``manage.py recommend --facts``.

Strict about values (a wrong type, a number below zero or not finite, a code given twice
stops with :class:`FactsError` naming the place), open about keys: one that is not known
is reported and not considered. A missing or null number is unknown.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from enum import StrEnum
from pathlib import Path
from typing import Any, TypeVar

from assembly.rules.facts.checks import FactsError
from assembly.rules.facts.cycles import CycleOption, LumenClaim, Programme
from assembly.rules.facts.declared import Declared, declared
from assembly.rules.facts.instruments import Box, Instrument
from assembly.rules.facts.question import Question
from assembly.rules.facts.supplies import SUPPLIES, Protector, Supply
from catalog.data_files import read_words
from catalog.vocabulary import Filter, Fold, Kind, Method

_WORDS = read_words(Path(__file__).with_name("words.toml"))
"""What methods, and ways to remove air, are called too."""
Made = TypeVar("Made")
IGNORED_KEYS = {"note", "notes", "name", "id"}


@dataclass(frozen=True, slots=True)
class Asked:
    """What a JSON text asks: the question, the policy's overrides, keys not considered."""

    question: Question
    policy: Mapping[str, object]
    not_considered: tuple[str, ...] = ()


@dataclass(slots=True)
class _Table:
    """One JSON object with its place; every key read is ticked off."""

    place: str
    values: Mapping[str, Any]
    strange: list[str]
    known: set[str] = field(default_factory=set)

    def at(self, key: str) -> str:
        return f"{self.place}.{key}" if self.place else key

    def raw(self, key: str) -> Any:
        self.known.add(key)
        return self.values.get(key)

    def text(self, key: str, *, default: str | None = None) -> str:
        value = self.raw(key)
        if value is None and default is not None:
            return default
        if not isinstance(value, str) or not value.strip():
            raise FactsError(self.at(key), value, "it must be a text that is not empty")
        return value.strip()

    def text_or_null(self, key: str) -> str | None:
        return self._one_of(str, key, "it must be a text or null")

    def yes_no(self, key: str) -> bool | None:
        return self._one_of(bool, key, "it must be true, false or null")

    def rows(self, key: str) -> Sequence[Any] | None:
        return self._one_of(list, key, "it must be a list")

    def _one_of(self, kind: type[Made], key: str, problem: str) -> Made | None:
        value = self.raw(key)
        if value is None or isinstance(value, kind):
            return value
        raise FactsError(self.at(key), value, problem)

    def choice(self, key: str, choices: Any, *, needed: bool = False) -> Any:
        value = self.raw(key)
        if value is None and not needed:
            return None
        word = value.strip().casefold() if isinstance(value, str) else value
        try:
            return choices(_WORDS["air_removal"].get(word, word))
        except ValueError:
            words = ", ".join(choices)
            raise FactsError(self.at(key), value, f"it must be one of: {words}") from None

    def texts(self, key: str) -> tuple[str, ...] | None:
        rows = self.rows(key)
        if rows is None:
            return None
        for n, row in enumerate(rows):
            if not isinstance(row, str):
                raise FactsError(f"{self.at(key)}[{n}]", row, "it must be a text")
        return tuple(rows)

    def table(self, key: str) -> _Table | None:
        value = self.raw(key)
        return None if value is None else as_table(self.at(key), value, self.strange)

    def tables(self, key: str) -> list[_Table] | None:
        rows = self.rows(key)
        if rows is None:
            return None
        return [as_table(f"{self.at(key)}[{n}]", row, self.strange) for n, row in enumerate(rows)]

    def done(self) -> None:
        """Note the keys that nobody asked for."""
        for key in self.values:
            if key not in self.known and key not in IGNORED_KEYS:
                self.strange.append(self.at(key))


def as_table(place: str, value: object, strange: list[str]) -> _Table:
    if not isinstance(value, dict):
        raise FactsError(place or "the file", value, "it must be an object: { ... }")
    return _Table(place, value, strange)


def read_method(place: str, value: object) -> Method:
    """A method by its short name or a longer one; FactsError otherwise.

    >>> read_method("method", "Ethylene oxide")
    <Method.EO: 'eo'>
    """
    if isinstance(value, str):
        word = " ".join(value.casefold().replace("_", "-").split())
        word = _WORDS["method"].get(word, word.replace(" ", "-"))
        if word in list(Method):
            return Method(word)
    raise FactsError(place, value, f"it must be one of: {', '.join(Method)}")


def _refuse_constant(word: str) -> Any:
    raise FactsError("the file", word, "it must be a finite number, or null for unknown")


def _each_key_once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    keys = [key for key, _ in pairs]
    for key in keys:
        if keys.count(key) > 1:
            raise FactsError(key, key, "the key stands twice in one object: keep one")
    return dict(pairs)


def read(text: str) -> Asked:
    """The question in a JSON text; FactsError says where and why it cannot be one."""
    try:
        raw = json.loads(text, parse_constant=_refuse_constant, object_pairs_hook=_each_key_once)
    except json.JSONDecodeError as problem:
        raise FactsError(
            "the file", f"line {problem.lineno}", f"it is not JSON: {problem.msg}"
        ) from None
    except RecursionError:
        raise FactsError("the file", "...", "it is nested too deeply") from None
    except FactsError:
        raise
    except ValueError as problem:
        raise FactsError("the file", "...", f"it cannot be read: {problem}") from None
    strange: list[str] = []
    top = as_table("", raw, strange)
    instrument = top.table("instrument")
    if instrument is None:
        raise FactsError("instrument", None, "it is missing: what is to be packed?")
    supplies = top.tables("supplies")
    if supplies is None:
        raise FactsError("supplies", None, "it is missing: give the list of what is in stock")
    pack, policy = top.table("pack"), top.table("policy")
    question = _made(
        "",
        Question,
        instrument=_instrument(instrument),
        supplies=tuple(_supply(table) for table in supplies),
        programmes=_each(top.tables("programmes"), _programme),
        pack=None if pack is None else _read(pack, Box),
        protectors=_each(top.tables("protectors"), lambda row: _read(row, Protector)),
        double=top.yes_no("double") or False,
        fold=top.choice("fold", Fold),
    )
    top.done()
    return Asked(question, dict(policy.values) if policy else {}, tuple(strange))


def _made(place: str, make: Callable[..., Made], **values: Any) -> Made:
    """A fact made of values; its FactsError is given the place it came from."""
    try:
        return make(**values)
    except FactsError as problem:
        where = f"{place}.{problem.field}" if place else problem.field
        raise FactsError(where, problem.value, problem.problem) from None


def _value(table: _Table, fact: Declared) -> Any:
    if fact.collected is not None:
        words = table.texts(fact.name)
        return None if words is None else fact.collected(_words(table, fact, words))
    if fact.of is bool:
        return table.yes_no(fact.name)
    if fact.of is str:
        return table.text(fact.name) if fact.needed else table.text_or_null(fact.name)
    if fact.of is Method:
        return read_method(table.at(fact.name), table.raw(fact.name))
    if issubclass(fact.of, StrEnum):
        return table.choice(fact.name, fact.of)
    value = table.raw(fact.name)
    if value is None and fact.needed:
        raise FactsError(table.at(fact.name), None, "it is missing: give a number")
    return value


def _words(table: _Table, fact: Declared, words: Sequence[str]) -> Iterator[Any]:
    for n, word in enumerate(words):
        place = f"{table.at(fact.name)}[{n}]"
        if fact.of is Method:
            yield read_method(place, word)
        elif fact.of is Kind and word not in list(Kind):
            raise FactsError(place, word, f"it must be one of: {', '.join(Kind)}")
        else:
            yield fact.of(word)


def _read(table: _Table, make: Callable[..., Made], **given: Any) -> Made:
    """A fact made of a table: what is ``given``, and all else by its declaration.

    What is missing or null is left to the fact's default.
    """
    read = {fact.name: _value(table, fact) for fact in declared(make) if fact.name not in given}
    table.done()
    known = {name: value for name, value in read.items() if value is not None}
    return _made(table.place, make, **given, **known)


def _each(
    tables: Sequence[_Table] | None, read: Callable[[_Table], Made]
) -> tuple[Made, ...] | None:
    """What each table says; None where there is no list."""
    return None if tables is None else tuple(read(table) for table in tables)


def _programme(table: _Table) -> Programme:
    claims = _each(table.tables("claims"), lambda row: _read(row, LumenClaim))
    return _read(table, Programme, claims=claims)


def _instrument(table: _Table) -> Instrument:
    return _read(
        table,
        Instrument,
        name=table.text("name", default="the instrument"),
        protector=_protector(table),
        cycles=_each(table.tables("cycles"), lambda row: _read(row, CycleOption)) or (),
        pieces=1,
    )


def _protector(table: _Table) -> str | None:
    """Text describes it; "none" and false say there is none; null says nothing."""
    value = table.raw("protector")
    if value is None or isinstance(value, bool):
        return {None: None, True: "protector on record", False: ""}[value]
    if isinstance(value, str):
        word = value.strip()
        return "" if word.casefold() in ("", "none", "no") else word
    raise FactsError(
        table.at("protector"), value, 'it must be a text such as "vented, small", "none" or null'
    )


def _supply(table: _Table) -> Supply:
    kind = table.choice("kind", Kind, needed=True)
    words = table.text_or_null("filter") if kind is Kind.CONTAINER else None
    said = {"filter_material": filter_of(words)} if words else {}
    make: Callable[..., Supply] = SUPPLIES[kind]
    return _read(table, make, **said)


# --- one fact alone, as a record keeps it --------------------------------------------------


def plain(value: Any) -> Any:
    """Facts as JSON types: sets sorted, words and numbers as they are.

    >>> plain({"method": Method.STEAM, "kinds": frozenset("ba"), "at": (134.0, None)})
    {'method': 'steam', 'kinds': ['a', 'b'], 'at': [134.0, None]}
    """
    if isinstance(value, Mapping):
        return {str(key): plain(one) for key, one in value.items()}
    if isinstance(value, (set, frozenset)):
        return sorted(str(one) for one in value)
    if isinstance(value, (list, tuple)):
        return [plain(one) for one in value]
    return value if value is None or isinstance(value, (bool, int, float)) else str(value)


def read_instrument(value: object) -> Instrument:
    """An instrument's facts under their own names; FactsError where they are none."""
    table = as_table("instrument", value, [])
    return replace(_instrument(table), pieces=table.raw("pieces") or 1)


def read_supply(value: object) -> Supply:
    """A pouch, roll, wrap or container with its ``kind``."""
    return _supply(as_table("supply", value, []))


def read_protector(value: object) -> Protector:
    """A tip protector's facts."""
    return _read(as_table("protector", value, []), Protector)


def read_programme(value: object) -> Programme:
    """A programme's facts."""
    return _programme(as_table("programme", value, []))


def filter_of(words: str) -> Filter | None:
    """What a filter in words is made of; None where the words do not say it for certain.

    >>> filter_of("round paper filter"), filter_of("Papier")
    (<Filter.PAPER: 'paper'>, None)
    """
    word = words.strip().casefold()
    if any(part in word for part in ("paper", "cellulos")):
        return Filter.PAPER
    return Filter(word) if word in list(Filter) else None
