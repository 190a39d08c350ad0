"""Policy values by country, dated and sourced, read strictly from ``data/presets.toml``.

A preset is a start, not a rule: a department takes one over and then owns its values.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from functools import cache
from pathlib import Path

from assembly.rules.policy.values import (
    DATA,
    Dated,
    Parameter,
    PolicyError,
    check_day,
    check_keys,
    dated,
    default_parameters,
    read_toml,
)


@dataclass(frozen=True, slots=True)
class Preset:
    """The values of one country by the policy's names, with their history, oldest first."""

    name: str
    title: str
    last_checked: date
    history: Mapping[str, tuple[Dated, ...]]

    @property
    def overrides(self) -> dict[str, Dated]:
        """The latest value of each name: what a policy takes as overrides."""
        return {name: entries[-1] for name, entries in self.history.items()}

    def on(self, day: date) -> dict[str, Dated]:
        """The values in force on ``day``; a name without one yet is left to the policy."""
        found = {}
        for name, entries in self.history.items():
            begun = [entry for entry in entries if entry.since <= day]
            if begun:
                found[name] = begun[-1]
        return found


_KEYS = {"title", "last_checked", "values"}
_ENTRY_KEYS = {"name", "from", "value", "source", "clause", "confidence", "reason"}
_ENTRY_NEEDED = {"name", "from", "value", "source", "confidence"}


def load(path: Path) -> dict[str, Preset]:
    """The presets in ``path``; PolicyError on the first thing that is wrong."""
    return {name: _preset(path.name, name, raw) for name, raw in read_toml(path).items()}


def _preset(file: str, name: str, raw: object) -> Preset:
    table = check_keys(file, name, raw, _KEYS, _KEYS)
    if not isinstance(table["title"], str) or not table["title"].strip():
        raise PolicyError(file, f"{name}.title", "must name the preset")
    if not isinstance(table["values"], list) or not table["values"]:
        raise PolicyError(file, f"{name}.values", "needs at least one dated value")
    history: dict[str, tuple[Dated, ...]] = {}
    for number, entry in enumerate(table["values"], start=1):
        parameter, value = _entry(file, f"{name}.values {number}", entry)
        earlier = history.get(parameter.name, ())
        if earlier and value.since <= earlier[-1].since:
            raise PolicyError(
                file, f"{name}.values {number}", f"{parameter.name}: dates must rise, each once"
            )
        history[parameter.name] = (*earlier, value)
    checked = check_day(file, f"{name}.last_checked", table["last_checked"])
    return Preset(name, table["title"], checked, history)


def _entry(file: str, key: str, raw: object) -> tuple[Parameter, Dated]:
    table = check_keys(file, key, raw, _ENTRY_KEYS, _ENTRY_NEEDED)
    parameter = default_parameters().get(str(table["name"]))
    if parameter is None:
        raise PolicyError(
            file, f"{key}.name", f"read {table['name']!r}; it is not a value of the policy"
        )
    return parameter, dated(file, key, table, parameter)


@cache
def presets() -> Mapping[str, Preset]:
    """The presets shipped with the program, read once.

    >>> presets()["us"].overrides["gross_limit_g"].value
    11339.81
    """
    return load(DATA / "presets.toml")
