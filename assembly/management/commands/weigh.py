"""``manage.py weigh``: a reading of a set held against what it weighs complete."""

from __future__ import annotations

import json
from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from assembly.judging.facts_from_catalog import policy_in_force
from assembly.rules.computing.weigh_check import (
    LINES_FOR_MOST,
    MOST_CHANGES,
    USUAL_CHANGES,
    Answer,
    Piece,
    Values,
    check,
    from_baseline,
    from_catalog,
    scale_of,
)
from assembly.rules.computing.weigh_words import (
    STANDS,
    answer_json,
    blind_words,
    headline,
    list_words,
    no_baseline,
)
from catalog.models import InstrumentSet
from catalog.scans.scales import read_scale
from catalog.units import UnitError


class Command(BaseCommand):
    help = "Say what a scale's reading tells of a set that was counted complete. Changes nothing."
    requires_system_checks = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("code", help="the code of a set")
        parser.add_argument("--reading", required=True, help='as the scale types it, or "5432.1 g"')
        parser.add_argument("--baseline", help="what it read when the set was counted complete")
        parser.add_argument("--tare", help="what basket and tray weigh: without a baseline")
        parser.add_argument(
            "--changes", type=int, choices=range(1, MOST_CHANGES + 1), default=USUAL_CHANGES,
            help=f"pieces at once; {MOST_CHANGES} up to {LINES_FOR_MOST} lines",
        )  # fmt: skip
        parser.add_argument("--json", action="store_true", help="print JSON")

    def handle(self, *args: Any, **options: Any) -> None:
        answer = self._answer(options)
        if options["json"]:
            self.stdout.write(json.dumps(answer_json(answer), indent=2, ensure_ascii=False))
            return
        said = [headline(answer), *list_words(answer),
                *blind_words(answer.sure_g, answer.unweighed), STANDS]  # fmt: skip
        self.stdout.write("\n".join(said))

    def _answer(self, options: dict[str, Any]) -> Answer:
        row = InstrumentSet.objects.filter(code__folded=options["code"]).first()
        sheet = row.current if row else None
        if sheet is None:
            raise CommandError(f"No set with a count sheet in force bears the code "
                               f"{options['code']}.")  # fmt: skip
        pieces = [
            Piece(line.instrument.name, float(w) if (w := line.instrument.weight_g) else None,
                  line.quantity, line.quantity)
            for line in sheet.lines.select_related("instrument")
        ]  # fmt: skip
        reading = _grams(options, "reading")
        policy = policy_in_force()
        values, scale = Values.of(policy), scale_of(policy)
        if options["baseline"]:
            reference = from_baseline(_grams(options, "baseline"), pieces, scale, scale,
                                      values.spread)  # fmt: skip
        else:
            tare = _grams(options, "tare") if options["tare"] else 0.0
            found = from_catalog(tare, pieces, scale, values) if options["tare"] else None
            if found is None:
                raise CommandError(no_baseline(values))
            reference = found
        return check(reading, reference, pieces, values, options["changes"])


def _grams(options: dict[str, Any], name: str) -> float:
    try:
        return float(read_scale(options[name], "g"))
    except UnitError as problem:
        raise CommandError(f"--{name}: {problem.message}") from problem
