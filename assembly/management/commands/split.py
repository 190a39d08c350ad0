"""``manage.py split``: the trays that a set is split into."""

from __future__ import annotations

import json
from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.db import DatabaseError

from assembly.rules.findings import metric
from assembly.rules.splitting.set_split import SetSplit
from catalog.models import InstrumentSet


class Command(BaseCommand):
    help = "Split a set that is over its weight limit or has no common cycle into trays."
    requires_system_checks = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("set", help="the code of a set with an approved count sheet")
        parser.add_argument("--layers", type=int, help="how many layers lie in a tray; left out: "
                            "as many as the whole set takes")  # fmt: skip
        parser.add_argument("--json", action="store_true", help="print JSON")

    def handle(self, *args: Any, **options: Any) -> None:
        if options["layers"] is not None and options["layers"] < 1:
            raise CommandError(f"--layers: read {options['layers']}; a tray has at least one.")
        row, found = _split(options["set"], options["layers"])
        if options["json"]:
            told = {"set": row.code, **found.as_json()}
            self.stdout.write(json.dumps(told, indent=2, ensure_ascii=False))
            return
        self.stdout.write(str(row))
        for sentence in found.sentences():
            self.stdout.write(f"  {sentence}")
        limit = found.limit
        if limit and limit.rule:
            most, source = metric(limit.gross_g, "g"), limit.source
            self.stdout.write(f"  A tray in {limit.code}: at most {most} ({limit.rule}: {source}).")
        for part in found.parts:
            gross = metric(part.gross_g, "g")
            self.stdout.write(f"\n{part.letter}: {gross}, {part.pieces_words}, {part.cycle_words}")
            for place, count in part.pieces:
                line = found.lines[place]
                self.stdout.write(f"  {count} × {line.item_number} {line.instrument.name}")


def _split(code: str, layers: int | None) -> tuple[InstrumentSet, SetSplit]:
    from assembly.bench.splits import split_of

    try:
        row = InstrumentSet.objects.filter(code__folded=code).first()
        if row is None:
            raise CommandError(f"No set has the code {code}. Search for it on the Bench.")
        if row.current is None:
            raise CommandError(f"No count sheet of {row.code} is approved yet: approve one first.")
        return row, split_of(row, row.current, layers=layers).found
    except DatabaseError as problem:
        raise CommandError(
            "There is no catalog in this database yet: run manage.py demo or manage.py migrate."
        ) from problem
