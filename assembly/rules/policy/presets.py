"""Policy values by country, dated and sourced, read strictly from ``data/presets.toml``.

A preset is a start, not a rule: a department takes one over and then owns its values.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from functools import cache
from pathlib import Path

from assembly.rules.policy.rows import DATA
from assembly.rules.policy.values import Dated, Parameter, dated, default_parameters
from catalog.data_files import DataError, check_day, check_keys, check_some, check_text, read_data


@dataclass(frozen=True, slots=True)
class Preset:
    """The values of one country by the policy's names, with their history, oldest first."""

    name: str
    title: str
    last_checked: date
    history: Mapping[str, tuple[Dated, ...]]

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
    """The presets in ``path``; DataError on the first thing that is wrong."""
    return {name: _preset(path.name, name, raw) for name, raw in read_data(path).items()}


def _preset(file: str, name: str, raw: object) -> Preset:
    table = check_keys(file, name, raw, _KEYS, _KEYS)
    title = check_text(file, f"{name}.title", table["title"], "must name the preset")
    values = check_some(file, f"{name}.values", table["values"], "dated value")
    history: dict[str, tuple[Dated, ...]] = {}
    for number, entry in enumerate(values, start=1):
        parameter, value = _entry(file, f"{name}.values {number}", entry)
        earlier = history.get(parameter.name, ())
        if earlier and value.since <= earlier[-1].since:
            raise DataError(
                file, f"{name}.values {number}", f"{parameter.name}: dates must rise, each once"
            )
        history[parameter.name] = (*earlier, value)
    checked = check_day(file, f"{name}.last_checked", table["last_checked"])
    return Preset(name, title, checked, history)


def _entry(file: str, key: str, raw: object) -> tuple[Parameter, Dated]:
    table = check_keys(file, key, raw, _ENTRY_KEYS, _ENTRY_NEEDED)
    parameter = default_parameters().get(str(table["name"]))
    if parameter is None:
        raise DataError(
            file, f"{key}.name", f"read {table['name']!r}; it is not a value of the policy"
        )
    return parameter, dated(file, key, table, parameter)


@cache
def presets() -> Mapping[str, Preset]:
    """The presets shipped with the program, read once.

    >>> presets()["us"].on(date(2026, 1, 1))["gross_limit_g"].value
    11339.81
    """
    return load(DATA / "presets.toml")
