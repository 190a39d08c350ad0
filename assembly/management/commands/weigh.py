"""``manage.py weigh``: a reading of a set held against what it weighs complete."""

from __future__ import annotations

import json
from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from assembly.bench.weighing.baselines import in_force
from assembly.bench.weighing.checks import Known, Told, pieces_on, told_by_catalog, told_of
from assembly.rules.computing.weigh_check import LINES_FOR_MOST, MOST_CHANGES, USUAL_CHANGES
from assembly.rules.computing.weigh_words import answer_json, blind_words
from catalog.models import InstrumentSet
from catalog.scans.scales import read_scale
from catalog.units import UnitError


class Command(BaseCommand):
    help = "Say what a scale's reading tells of a set that was counted complete. Changes nothing."
    requires_system_checks = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("code", help="the code of a set")
        parser.add_argument("--reading", required=True, help='as the scale types it, or "5432.1 g"')
        parser.add_argument("--number", type=int, default=1, help="which of the sets alike: else 1")
        parser.add_argument("--baseline", help="what it read complete: not the one on record")
        parser.add_argument("--tare", help="what basket and tray weigh: without a baseline")
        parser.add_argument(
            "--changes", type=int, choices=range(1, MOST_CHANGES + 1), default=USUAL_CHANGES,
            help=f"pieces at once; {MOST_CHANGES} up to {LINES_FOR_MOST} lines",
        )  # fmt: skip
        parser.add_argument("--json", action="store_true", help="print JSON")

    def handle(self, *args: Any, **options: Any) -> None:
        told = self._told(options)
        if told.answer is None:
            raise CommandError(" ".join(told.said))
        if options["json"]:
            self.stdout.write(json.dumps(answer_json(told.answer), indent=2, ensure_ascii=False))
            return
        blind = blind_words(told.answer.sure_g, told.answer.unweighed)
        self.stdout.write("\n".join([*told.said, *blind]))

    def _told(self, options: dict[str, Any]) -> Told:
        row = InstrumentSet.objects.filter(code__folded=options["code"]).first()
        sheet = row.current if row else None
        if row is None or sheet is None:
            raise CommandError(f"No set with a count sheet in force bears the code "
                               f"{options['code']}.")  # fmt: skip
        pieces = pieces_on(sheet.lines.select_related("instrument"))
        reading = _grams(options, "reading")
        if options["baseline"]:
            known: Known | None = Known(_grams(options, "baseline"))
        elif options["tare"]:
            return told_by_catalog(reading, _grams(options, "tare"), pieces, options["changes"])
        else:
            standing = in_force(row).get(options["number"])
            known = standing.known if standing else None
        return told_of(reading, pieces, known, options["changes"])


def _grams(options: dict[str, Any], name: str) -> float:
    try:
        return float(read_scale(options[name], "g"))
    except UnitError as problem:
        raise CommandError(f"--{name}: {problem.message}") from problem
