"""The stock that the tests of sizes choose from, as a department has it, and today's policy."""

from __future__ import annotations

import tomllib
from dataclasses import replace
from datetime import date
from functools import cache
from typing import Any

from assembly.rules.deciding.choose import decide
from assembly.rules.facts.supplies import Pouch, Roll, Supply
from assembly.rules.findings import Candidate, Decision
from assembly.rules.kinds.rolls import roll_candidate
from assembly.rules.policy.values import Policy, default_policy
from catalog.vocabulary import Material
from tests.rules.given import CASES, question, routes, wrap

TODAY = date(2026, 12, 1)
READING = tomllib.loads((CASES / "sizes.toml").read_text())
LARGEST = "380x550"


@cache
def today(**overrides: object) -> Policy:
    return default_policy(TODAY, overrides)


@cache
def pouch(code: str, **more: Any) -> Pouch:
    """A self-seal pouch named by its outer size, as the cases read it."""
    width, length = (int(side) for side in code.split("x"))
    seal_width, seal_length = READING["seals"]
    return Pouch(
        code=code,
        outer_width_mm=width,
        outer_length_mm=length,
        inner_width_mm=width - seal_width,
        inner_length_mm=length - seal_length,
        material=Material.PAPER_FILM,
        closure="self-seal",
        rated_g=2000,
        **more,
    )


def roll(width: float, **more: Any) -> Roll:
    facts = {"side_seal_mm": 8, "material": Material.PAPER_FILM, "rated_g": 2000} | more
    return Roll(code=f"roll {width:g}", nominal_width_mm=width, **facts)


POUCHES = tuple(pouch(f"{width}x{length}") for width, length in READING["pouches"])
ROLLS = tuple(roll(width) for width in READING["rolls"])
WRAPS = tuple(replace(wrap(side), code=f"wrap {side}") for side in READING["wraps"])
STOCK: tuple[Supply, ...] = (*POUCHES, *ROLLS, *WRAPS)


def decided(item, *supplies: Supply, rules: Policy | None = None, **more: Any) -> Decision:
    return decide(question(item, *(supplies or STOCK), **more), rules or today())


def taken(item, *supplies: Supply, **more: Any) -> Candidate:
    found = decided(item, *supplies, **more).recommended
    assert found is not None
    return found


def on_roll(item, supply: Roll) -> Candidate:
    return roll_candidate(item, supply, routes(), today())
