"""What the tests of the rules start from: a policy, an invented stock, case files."""

from __future__ import annotations

import tomllib
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

from assembly.rules.facts.cycles import CycleOption, Programme
from assembly.rules.facts.instruments import Box, Instrument
from assembly.rules.facts.question import Question
from assembly.rules.facts.supplies import Pouch, Roll, Wrap
from assembly.rules.findings import Candidate
from assembly.rules.kinds.pouches import pouch_candidate
from assembly.rules.methods.routes import Routes, routes_for
from assembly.rules.policy.presets import presets
from assembly.rules.policy.values import Policy, default_parameters, default_policy
from catalog.vocabulary import AirRemoval, Material, Method

ON = date(2026, 1, 1)
CASES = Path(__file__).parent / "cases"
STEAM = (CycleOption(method=Method.STEAM, temperature_c=134, exposure_min=3),)
ROLL_WIDTHS = (50, 75, 100, 120, 150, 200, 250, 300, 380, 420)


def steam_run(code: str, **more: Any) -> Programme:
    """A cycle that a sterilizer with dynamic air removal runs: 134 °C, 3 min, dry 20."""
    facts: dict[str, Any] = {"temperature_c": 134, "exposure_min": 3, "drying_min": 20}
    return Programme(code=code, method=Method.STEAM, air_removal=AirRemoval.DYNAMIC, **facts | more)


@cache
def policy(**overrides: object) -> Policy:
    return default_policy(ON, overrides)


@cache
def routes() -> Routes:
    return routes_for(STEAM, None, policy())


@cache
def cases(name: str) -> list[dict[str, Any]]:
    """The cases of one file; every case must say where it comes from."""
    found: list[dict[str, Any]] = tomllib.loads((CASES / f"{name}.toml").read_text())["case"]
    assert all(case.get("source") for case in found)
    return found


def named(case: dict[str, Any]) -> str:
    return str(case["name"])


def box(length: float | None, width: float | None, height: float | None) -> Box:
    return Box(length_mm=length, width_mm=width, height_mm=height)


def instrument(
    length: float | None,
    width: float | None,
    height: float | None,
    weight: float | None = 50,
    **more: Any,
) -> Instrument:
    facts: dict[str, Any] = {
        "name": "an instrument",
        "sharp": False,
        "hinged": False,
        "cycles": STEAM,
    } | more
    return Instrument(length_mm=length, width_mm=width, height_mm=height, weight_g=weight, **facts)


@cache
def stock(**doubles: tuple[str, ...]) -> tuple[Pouch, ...]:
    """The invented pouches of ``cases/stock.toml``; ``doubles`` validates pairs by inner code."""
    return tuple(
        Pouch(
            code=row["code"],
            outer_width_mm=row["outer"][0],
            outer_length_mm=row["outer"][1],
            inner_width_mm=row["inner"][0],
            inner_length_mm=row["inner"][1],
            gusset_mm=row.get("gusset", 0),
            rated_g=row["rated_g"],
            cost=row["cost"],
            material=Material.PAPER_FILM,
            doubles_in=doubles.get(row["code"], ()),
        )
        for row in tomllib.loads((CASES / "stock.toml").read_text())["pouch"]
    )


def pouch(code: str) -> Pouch:
    return next(item for item in stock() if item.code == code)


def rolls(**more: Any) -> tuple[Roll, ...]:
    facts: dict[str, Any] = {
        "side_seal_mm": 8,
        "material": Material.PAPER_FILM,
        "rated_g": 2000,
    } | more
    return tuple(Roll(code=f"R{width}", nominal_width_mm=width, **facts) for width in ROLL_WIDTHS)


def wrap(width: float | None, length: float | None = None, **more: Any) -> Wrap:
    facts: dict[str, Any] = {
        "material": Material.CELLULOSE,
        "rated_g": 10_000,
        "layers": 2,
    } | more
    return Wrap(code=f"W{width}", width_mm=width, length_mm=length or width, **facts)


def question(item: Instrument, *supplies: Any, **more: Any) -> Question:
    return Question(instrument=item, supplies=tuple(supplies), **more)


def in_pouch(item: Instrument, supply: Pouch, rules: Policy | None = None) -> Candidate:
    """One pouch judged for one instrument; ``rules`` None: the shipped policy."""
    return pouch_candidate(item, supply, routes(), rules or policy())


def preset_policy(name: str, day: date = ON) -> Policy:
    """The shipped policy with a preset's values, as in force on ``day``."""
    return Policy(default_parameters(), day, presets()[name].on(day))
