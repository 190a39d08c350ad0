"""``manage.py layout``: the layers of a set's basket, from the catalog."""

from __future__ import annotations

import json
from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.db import DatabaseError

from assembly.judging.facts_from_catalog import lines_of
from assembly.layouts.saved import asked_of, layout_of
from assembly.rules.findings import metric
from assembly.rules.layers.blocks import counted
from assembly.rules.layers.laid import NOT_SHAPES, Laid
from assembly.rules.layers.layout import tallest
from assembly.rules.layers.moving import where
from catalog.models import InstrumentSet


class Command(BaseCommand):
    help = "Lay a set into its basket or container, in layers from the bottom up."
    requires_system_checks = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("code", help="the code of a set")
        parser.add_argument("--json", action="store_true", help="print {verdict, layers, ...}")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            row = InstrumentSet.objects.filter(code__folded=options["code"]).first()
        except DatabaseError as problem:
            raise CommandError(
                "There is no catalog in this database yet: run manage.py demo or manage.py migrate."
            ) from problem
        if row is None:
            raise CommandError(
                f"No set bears the code {options['code']}. Look at the list of sets."
            )
        sheet = row.current
        if sheet is None:
            raise CommandError(f"No count sheet of {row.code} is approved yet: approve one first.")
        shown = layout_of(asked_of(row, lines_of(sheet)), sheet)
        laid = shown.laid
        if options["json"]:
            answer = {**laid.as_json(), "saved": shown.holds}
            self.stdout.write(json.dumps(answer, indent=2, ensure_ascii=False))
        else:
            how = "saved" if shown.holds else "proposed"
            self._print(f"{row}, revision {sheet.revision}, {how}", laid)

    def _print(self, title: str, laid: Laid) -> None:
        self.stdout.write(f"{title}\n{laid.verdict.upper()}: {laid.why()}")
        layout = laid.layout
        for n, layer in enumerate(layout.layers if layout else (), 1):
            assert layout is not None
            self.stdout.write(f"\nLayer {n}, up to {metric(tallest(layer), 'mm')} high, "
                              f"{metric(layout.fills[n - 1], 'ratio')} full")  # fmt: skip
            for place in layer:
                self.stdout.write(f"  {place.block.words}: {where(n, place, layout.room)}")
        for words in (*laid.warnings(), *self._left(laid), NOT_SHAPES):
            self.stdout.write(f"\n{words}")

    def _left(self, laid: Laid) -> list[str]:
        over = laid.layout.over if laid.layout else ()
        return [f"No place found: {counted(one.words for one in over)}."] if over else []
