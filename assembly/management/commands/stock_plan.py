"""``manage.py stock_plan``: which sizes of pouches and rolls take the least material."""

from __future__ import annotations

import json
from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.db import DatabaseError

from assembly.ledger import Refused
from assembly.rules.stock.stock_plan import Plan
from assembly.stock.planning import Planned, Side, planned, read_sizes

MM2_IN_DM2 = 10_000


class Command(BaseCommand):
    help = "Say which k sizes of pouches, and widths of rolls, take the least material in a year."
    requires_system_checks = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--k", type=int, help="at most so many sizes; else 1, 2, 3 and on")
        parser.add_argument("--sizes", default="", metavar="LIST",
                            help="further ones: 100x200 (outer), roll 150")  # fmt: skip
        parser.add_argument("--json", action="store_true", help="print JSON")

    def handle(self, *args: Any, **options: Any) -> None:
        if options["k"] is not None and options["k"] < 1:
            raise CommandError(f"--k: read {options['k']}; at least 1 size is asked.")
        try:
            found = planned(read_sizes(options["sizes"]))
        except Refused as problem:
            raise CommandError(str(problem)) from problem
        except DatabaseError as problem:
            raise CommandError(f"The database cannot be read: {problem}") from problem
        assert found is not None  # work without a bound always finds something
        if options["json"]:
            self.stdout.write(json.dumps(as_json(found, options["k"]), indent=2))
        else:
            self._print(found, options["k"])

    def _print(self, found: Planned, k: int | None) -> None:
        self.stdout.write(f"{found.demand.words}.")
        for count, why in found.demand.left_out:
            self.stdout.write(f"Left out: {count} {why}.")
        for side in found.sides:
            self.stdout.write(f"\n{side.sizes.kind.name.capitalize()}")
            for words, some in (("No size serves", side.sizes.uncovered),
                                ("Not known, left out", side.sizes.unknown)):  # fmt: skip
                if some:
                    self.stdout.write(f"{words}: {', '.join(one.number for one in some)}.")
            for plan in _asked(side, k):
                self.stdout.write(_line(plan))


def _asked(side: Side, k: int | None) -> list[Plan]:
    """All of the curve, or what takes least with at most ``k`` sizes."""
    return [side.plan(k)] if k and side.plans else list(side.plans)


def _line(plan: Plan) -> str:
    proved = "proved" if plan.proved else "not proved"
    if plan.material_mm2 is None:
        return f"{plan.k}: so few cover not all ({proved})"
    money = "" if plan.money is None else f", cost {plan.money:.2f}"
    return (f"{plan.k}: {plan.material_mm2 / MM2_IN_DM2:.0f} dm²{money}, {proved}: "
            f"{', '.join(plan.codes)}")  # fmt: skip


def as_json(found: Planned, k: int | None = None) -> dict[str, Any]:
    """The curve of both kinds; material in dm², laid flat. Null: so few sizes cover not all."""
    asked = [(side, plan) for side in found.sides for plan in _asked(side, k)]
    return {
        "demand": {
            "source": "packages" if found.demand.packed else "catalog",
            "packages": found.demand.packages,
            "days": found.demand.days,
            "left_out": [{"count": n, "why": why} for n, why in found.demand.left_out],
        },
        "uncovered": _rows(found, "uncovered"),
        "unknown": _rows(found, "unknown"),
        "sizes": [
            {
                "kind": str(side.sizes.kind),
                "k": plan.k,
                "codes": list(plan.codes),
                "material": _dm2(plan.material_mm2),
                "money": plan.money,
                "proved": plan.proved,
                "at_least": _dm2(plan.bound_mm2) if plan.material_mm2 is not None else None,
                "uses": [
                    {"code": use.code, "packages": use.packages, "without_more": _dm2(use.more_mm2),
                     "without_lost": use.lost} for use in plan.uses
                ],
            }
            for side, plan in asked
        ],
        "proved": all(plan.proved for _, plan in asked),
    }  # fmt: skip


def _dm2(mm2: float | None) -> float | None:
    return None if mm2 is None else round(mm2 / MM2_IN_DM2, 3)


def _rows(found: Planned, name: str) -> list[dict[str, Any]]:
    return [{"kind": str(side.sizes.kind), "item_number": one.number, "packages": one.count,
             "double": one.double} for side in found.sides
            for one in getattr(side.sizes, name)]  # fmt: skip
