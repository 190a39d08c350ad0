"""``manage.py wet_risk``: the water that condenses on each set, and what helps one to dry."""

from __future__ import annotations

import json
from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from assembly.judging.facts_from_catalog import policy_in_force
from assembly.planning.wet_risk import SetRisk, risk_of, taken_words, with_figures
from catalog.models import InstrumentSet

FIGURES = ("mass_g", "per_cm2", "water_g", "heaviest_g", "not_known", "wet")


class Command(BaseCommand):
    help = "Rank sets by the water that condenses on them in steam; or say what helps one to dry."
    requires_system_checks = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("code", nargs="?", help="the code of a set; without it all are ranked")
        parser.add_argument("--json", action="store_true", help="print JSON")

    def handle(self, *args: Any, **options: Any) -> None:
        if options["code"]:
            self._one(options["code"], as_json=options["json"])
        else:
            self._all(as_json=options["json"])

    def _all(self, *, as_json: bool) -> None:
        found = with_figures()
        if as_json:
            rows = [
                {"set": one.code, "name": one.name} | {name: getattr(one, name) for name in FIGURES}
                for one in found
            ]
            self._print(json.dumps(rows, indent=2, ensure_ascii=False))
            return
        self._print(f"{taken_words(policy_in_force())} Advice, never a limit.")
        for place, one in enumerate(found, start=1):
            least = "at least " if one.not_known else ""  # type: ignore[attr-defined]
            self._print(f"{place:3} {one.code} {one.name}: {least}{one.water_g:.0f} g of water, "  # type: ignore[attr-defined]
                        f"{one.mass_g / 1000:.1f} kg of metal")  # type: ignore[attr-defined]  # fmt: skip

    def _one(self, code: str, *, as_json: bool) -> None:
        row = InstrumentSet.objects.select_related("container", "basket").filter(code=code).first()
        if row is None:
            raise CommandError(f"{code} is no set of this catalog.")
        risk = risk_of(row)
        if risk is None:
            raise CommandError(f"No count sheet of {code} is in force: approve one first.")
        if as_json:
            self._print(json.dumps(risk.as_json(), indent=2, ensure_ascii=False))
        else:
            self._tell(risk)

    def _tell(self, risk: SetRisk) -> None:
        self._print(f"{risk.of}: {risk.water} of water to dry. Advice, never a limit.")
        metal = (f"{name}: {words}" for name, words in risk.metal)
        for words in (*metal, taken_words(risk.policy), *risk.unknown):
            self._print(f"  {words}")
        for one in risk.advice:
            self._print(f"  {one.words} ({one.source})")

    def _print(self, words: str) -> None:
        self.stdout.write(words)
