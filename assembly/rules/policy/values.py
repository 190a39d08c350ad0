"""The department's limits: dated, sourced, read strictly from ``data/policy.toml``.

A rule never holds a number of its own; it asks the policy for a value by name and gets
the value with its source. Changing a limit adds a dated entry to the file, or a dated
override of the department's; what was in force on an earlier day can always be asked.
"""

from __future__ import annotations

import hashlib
import json
import math
from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from datetime import date
from functools import cache, cached_property
from pathlib import Path
from typing import Any

from assembly.rules.policy.rows import DATA, check_sourced
from catalog.data_files import DataError, check_day, check_keys, check_some, read_data

UNITS = ("mm", "g", "min", "C", "ratio", "count", "g/m3", "words", "text", "yes or no")
WITHOUT_BOUNDS = ("words", "text", "yes or no")
NOT_SET = "not set"
TEXT_MOST = 60


class PolicyError(DataError):
    """A value that the policy cannot have. Names where it stands and what is wrong."""


Value = float | str | bool | tuple[str, ...] | None


@dataclass(frozen=True, slots=True)
class Dated:
    """One value with the day it holds from and where it comes from."""

    since: date
    value: Value
    source: str
    clause: str = ""
    confidence: str = "CP"
    reason: str = ""

    @property
    def cited(self) -> str:
        """The source with its clause, as findings print it."""
        return f"{self.source}, {self.clause}" if self.clause else self.source


@dataclass(frozen=True, slots=True)
class Parameter:
    """One named value of the policy with its whole history, oldest first."""

    name: str
    title: str
    unit: str
    history: tuple[Dated, ...]
    last_checked: date
    group: str = ""
    choices: tuple[str, ...] = ()
    at_least: float | None = None
    at_most: float | None = None
    floor_source: str = ""
    ceiling_source: str = ""
    optional: bool = False
    several: bool = False

    def on(self, day: date) -> Dated:
        """The entry in force on ``day``; PolicyError when there was none yet."""
        entries = [entry for entry in self.history if entry.since <= day]
        if not entries:
            raise PolicyError("policy", self.name, f"has no value on {day}")
        return entries[-1]

    def checked(self, value: object, where: str = "policy") -> Value:
        """``value`` as this parameter holds it; PolicyError says why it cannot."""
        if value is None or value == NOT_SET:
            if self.optional:
                return None
            raise PolicyError(where, self.name, "must have a value")
        if self.several:
            return self._checked_list(value, where)
        if self.unit == "text":
            return self._checked_text(value, where)
        if self.unit == "words":
            if value not in self.choices:
                raise self._refused(where, value, f"choose from {', '.join(self.choices)}")
            return str(value)
        if self.unit == "yes or no":
            if not isinstance(value, bool):
                raise self._refused(where, value, "write true or false")
            return value
        return self._checked_number(value, where)

    def _refused(self, where: str, value: object, problem: str) -> PolicyError:
        return PolicyError(where, self.name, f"read {value!r}; {problem}")

    def _checked_list(self, value: object, where: str) -> tuple[str, ...]:
        if not isinstance(value, (list, tuple)) or not value:
            raise self._refused(where, value, "write a list")
        text = self.unit == "text"
        words = tuple(self._checked_text(word, where) if text else word for word in value)
        strange = [word for word in words if not text and word not in self.choices]
        if strange or len(set(map(str, words))) != len(words):
            choose = "" if text else f"choose from {', '.join(self.choices)}, "
            raise self._refused(where, list(words), f"{choose}each only once")
        return words

    def _checked_text(self, value: object, where: str) -> str:
        """Free words of the department's own, such as the heading of a column."""
        if not isinstance(value, str) or not value.strip() or len(value) > TEXT_MOST:
            raise self._refused(where, value, f"write a few words, at most {TEXT_MOST} signs")
        return value.strip()

    def _checked_number(self, value: object, where: str) -> float:
        if isinstance(value, bool) or not isinstance(value, (int, float)):
            raise self._refused(where, value, f"write a number in {self.unit}")
        try:
            number = float(value)
        except OverflowError:
            number = math.inf
        if not math.isfinite(number):
            raise self._refused(where, value, "write a finite number")
        if self.at_least is not None and number < self.at_least:
            words = f"at least {self._bound(self.at_least, self.floor_source)}"
            raise PolicyError(where, self.name, f"read {number:.10g}; {words}")
        if self.at_most is not None and number > self.at_most:
            words = f"at most {self._bound(self.at_most, self.ceiling_source)}"
            raise PolicyError(where, self.name, f"read {number:.10g}; {words}")
        return number

    def _bound(self, number: float, source: str) -> str:
        unit = "" if self.unit in ("count", "ratio") else f" {self.unit}"
        return f"{number:.10g}{unit}" + (f" ({source})" if source else "")


class Policy:
    """The values in force on one day.

    >>> policy = default_policy(date(2026, 1, 1))
    >>> policy.number("side_clearance_mm")
    25.0
    """

    def __init__(
        self,
        parameters: Mapping[str, Parameter],
        on: date,
        overrides: Mapping[str, object] | None = None,
        overrides_source: str = "stated with the question",
    ) -> None:
        self.on = on
        self.parameters = parameters
        self._dated = {name: parameter.on(on) for name, parameter in parameters.items()}
        for name, value in (overrides or {}).items():
            if name not in parameters:
                raise PolicyError("policy", name, "is not a value this policy knows")
            entry = value if isinstance(value, Dated) else Dated(on, None, overrides_source)
            asked = entry.value if isinstance(value, Dated) else value
            self._dated[name] = replace(entry, value=parameters[name].checked(asked))
        self._sources: dict[tuple[str, ...], str] = {}
        self._switched: dict[tuple[str, bool], Policy] = {}
        self.answers: dict[object, dict[Any, Any]] = {}
        """What rules worked out with it: see :func:`assembly.rules.policy.kept.kept`."""

    def entry(self, name: str) -> Dated:
        """The value with its source."""
        return self._dated[name]

    def number(self, name: str) -> float:
        value = self._dated[name].value
        if not isinstance(value, float):
            raise PolicyError("policy", name, "is not set to a number")
        return value

    def number_or_none(self, name: str) -> float | None:
        return None if self._dated[name].value is None else self.number(name)

    def word(self, name: str) -> str:
        return str(self._dated[name].value)

    def text(self, name: str) -> str:
        """A free text; blank where it is not set."""
        return str(self._dated[name].value or "")

    def words(self, name: str) -> tuple[str, ...]:
        value = self._dated[name].value
        return value if isinstance(value, tuple) else ()

    def flag(self, name: str) -> bool:
        return self._dated[name].value is True

    def with_flag(self, name: str, value: bool) -> Policy:
        """This policy with one switch set otherwise, to say what it would change."""
        if (name, value) not in self._switched:
            changed: dict[str, object] = {**self._dated, name: value}
            other = Policy(self.parameters, self.on, changed, "if the switch were set")
            self._switched[name, value] = other
        return self._switched[name, value]

    def source(self, *names: str) -> str:
        """The sources of the values named, each once, in order."""
        known = self._sources.get(names)
        if known is None:
            known = "; ".join(dict.fromkeys(self._dated[name].cited for name in names))
            self._sources[names] = known
        return known

    @cached_property
    def digest(self) -> str:
        """Names this set of values: equal values, equal digest."""
        values = {name: _plain(entry.value) for name, entry in sorted(self._dated.items())}
        text = json.dumps(values, sort_keys=True, ensure_ascii=False)
        return hashlib.sha256(text.encode()).hexdigest()[:16]


def _plain(value: Value) -> object:
    return list(value) if isinstance(value, tuple) else value


# --- reading the files -------------------------------------------------------------

_KEYS = {one.name for one in fields(Parameter)} - {"name", "history"} | {"values"}
_NEEDED = {"title", "unit", "last_checked", "values"}
_BOUNDS = {"at_least", "at_most"}
"""What every number has: a floor and a ceiling, beyond which it would be no rule any more."""
_ENTRY_KEYS = {"from", "value", "source", "clause", "confidence", "reason"}
_ENTRY_NEEDED = {"from", "value", "source", "confidence"}


def load(path: Path) -> dict[str, Parameter]:
    """The parameters in ``path``; DataError on the first thing that is wrong."""
    return {name: _parameter(path.name, name, table) for name, table in read_data(path).items()}


def _parameter(file: str, name: str, raw: object) -> Parameter:
    table = check_keys(file, name, raw, _KEYS, _NEEDED)
    if table["unit"] not in UNITS:
        raise DataError(file, f"{name}.unit", f"read {table['unit']!r}; one of {UNITS}")
    if table["unit"] not in WITHOUT_BOUNDS:
        check_keys(file, name, table, _KEYS, _BOUNDS)
    check_day(file, f"{name}.last_checked", table["last_checked"])
    facts = {key: value for key, value in table.items() if key != "values"}
    choices = tuple(table.get("choices", ()))
    parameter = Parameter(**{**facts, "name": name, "choices": choices, "history": ()})
    key = f"{name}.values"
    raws = [check_keys(file, key, raw, _ENTRY_KEYS, _ENTRY_NEEDED)
            for raw in check_some(file, key, table["values"], "dated value")]  # fmt: skip
    entries = [dated(file, key, raw, parameter) for raw in raws]
    days = [entry.since for entry in entries]
    if days != sorted(set(days)):
        raise DataError(file, key, "dates must rise, each once")
    return replace(parameter, history=tuple(entries))


def dated(file: str, key: str, table: Mapping[str, Any], parameter: Parameter) -> Dated:
    """One value of ``parameter`` with its day and its source, from an entry of a data file.

    DataError where the source is empty, the confidence is no such word, or the day or the
    value cannot be one.
    """
    check_sourced(file, key, table)
    said = {name: table[name] for name in ("source", "clause", "confidence", "reason")
            if name in table}  # fmt: skip
    since = check_day(file, f"{key}.from", table["from"])
    return Dated(since=since, value=parameter.checked(table["value"], file), **said)


@cache
def default_parameters() -> Mapping[str, Parameter]:
    """The parameters shipped with the program, read once."""
    return load(DATA / "policy.toml")


def default_policy(on: date, overrides: Mapping[str, object] | None = None) -> Policy:
    """The shipped policy on a day, with overrides by name."""
    return Policy(default_parameters(), on, overrides)
