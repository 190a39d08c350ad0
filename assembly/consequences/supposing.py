"""What somebody supposes, in words or files, as values, supplies and cycles."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace

from assembly.consequences.policy_actions import read_value
from assembly.consequences.what_if import Supposed, preset_values, run_alone
from assembly.judging.facts_from_catalog import programme_facts, supply_facts
from assembly.rules.facts.cycles import Programme
from assembly.rules.facts.from_json import read_programme, read_supply
from assembly.rules.facts.supplies import Supply
from catalog.models import Sterilizer
from catalog.models.supplies import PACKAGING


@dataclass(frozen=True, slots=True)
class Said:
    """What was said: a preset, values as typed by name, codes, and facts as JSON texts by file.

    A supply that is in stock is supposed gone (``without``), one that is not is supposed there
    (``supplies``); a sterilizer likewise, by whether it is in use.
    """

    preset: str = ""
    values: Mapping[str, str] = field(default_factory=dict)
    supplies: tuple[str, ...] = ()
    without: tuple[str, ...] = ()
    sterilizers: tuple[str, ...] = ()
    files: Mapping[str, str] = field(default_factory=dict)


def supposed_by(said: Said) -> Supposed:
    """What is supposed. PolicyError or ValueError says what cannot be."""
    values = preset_values(said.preset) if said.preset else {}
    values |= {name: read_value(name, text) for name, text in said.values.items()}
    found = Supposed(values, without=frozenset(said.without))
    found = replace(found, supplies=tuple(_on_record(code) for code in said.supplies))
    for file, text in said.files.items():
        try:
            found = _more(found, *_of_json(text))
        except ValueError as problem:  # FactsError is one
            raise ValueError(f"{file}: {problem}") from problem
    for code in said.sterilizers:
        found = _sterilizer(found, code)
    if found == Supposed():
        raise ValueError("Nothing is supposed: name a preset, a value, a supply or a sterilizer.")
    return found


def _more(found: Supposed, supplies: Iterable[Supply], programmes: Iterable[Programme]) -> Supposed:
    return replace(
        found,
        supplies=(*found.supplies, *supplies),
        programmes=(*found.programmes, *programmes),
    )


def _on_record(code: str) -> Supply:
    """A supply on record that is not in stock, by its code."""
    for make in PACKAGING.values():
        row = make._default_manager.filter(code__folded=code).first()
        if row is not None:
            return supply_facts(row)
    raise ValueError(f"{code}: no supply on record has this code")


def _of_json(text: str) -> tuple[list[Supply], list[Programme]]:
    """Supplies (with their ``kind``) and cycles (with their ``method``), one or a list of them."""
    try:
        read = json.loads(text)
    except ValueError as problem:
        raise ValueError(f"it is not JSON: {problem}") from problem
    rows = read if isinstance(read, list) else [read]
    runs = [row for row in rows if isinstance(row, dict) and "method" in row]
    return (
        [read_supply(row) for row in rows if row not in runs],
        [read_programme(row) for row in runs],
    )


def _sterilizer(found: Supposed, code: str) -> Supposed:
    """One in use is supposed gone, with the cycles that it alone runs; another is supposed to run
    its cycles."""
    one = Sterilizer.objects.filter(code__folded=code).first()
    if one is None:
        codes = ", ".join(Sterilizer.objects.values_list("code", flat=True))
        raise ValueError(f"{code}: no such sterilizer; there are {codes or 'none'}")
    if one.active:
        gone = found.without_programmes | run_alone(one)
        return replace(found, without_programmes=gone)
    rows = one.programmes.filter(active=False).prefetch_related("claims")
    return _more(found, (), (programme_facts(row) for row in rows))
