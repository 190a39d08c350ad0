"""``manage.py recommend``: the decision for one instrument, from the catalog or from JSON."""

from __future__ import annotations

import json
import sys
from argparse import ArgumentParser, RawDescriptionHelpFormatter
from dataclasses import replace
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.db import DatabaseError
from django.utils import timezone

from assembly.rules.deciding.choose import decide
from assembly.rules.facts import from_json as facts_json
from assembly.rules.facts.checks import FactsError
from assembly.rules.findings import Caution, Decision
from assembly.rules.policy.values import PolicyError, default_policy
from assembly.rules.telling import explain

FACTS_HELP = Path(__file__).with_name("recommend.txt").read_text(encoding="utf-8")
"""The keys of the file of facts, as ``--help`` tells them."""


class Command(BaseCommand):
    help = "Say which package an instrument goes into, with every finding and its source."

    def create_parser(self, prog_name: str, subcommand: str, **kwargs: Any) -> Any:
        parser = super().create_parser(prog_name, subcommand, **kwargs)
        parser.formatter_class = RawDescriptionHelpFormatter
        parser.epilog = FACTS_HELP
        return parser

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("item_number", nargs="?", help="an instrument of the catalog")
        parser.add_argument("--facts", metavar="FILE", help="facts as JSON; - reads standard input")
        parser.add_argument("--json", action="store_true", help="print JSON")

    def handle(self, *args: Any, **options: Any) -> None:
        if bool(options["item_number"]) == bool(options["facts"]):
            raise CommandError("Give an item number, or --facts FILE, and not both.")
        if options["facts"]:
            title, decision = self._from_facts(options["facts"])
        else:
            title, decision = self._from_catalog(options["item_number"])
        if options["json"]:
            self.stdout.write(json.dumps(decision.as_json(), indent=2, ensure_ascii=False))
        else:
            self._print(title, decision)

    def _from_facts(self, file: str) -> tuple[str, Decision]:
        try:
            text = sys.stdin.read() if file == "-" else Path(file).read_text(encoding="utf-8-sig")
        except OSError as problem:
            raise CommandError(f"{file} cannot be read: {problem.strerror}.") from problem
        except UnicodeDecodeError as problem:
            raise CommandError(f"{file} is not UTF-8 text.") from problem
        try:
            asked = facts_json.read(text)
            policy = default_policy(timezone.localdate(), asked.policy)
            decision = decide(asked.question, policy)
        except (FactsError, PolicyError) as problem:
            raise CommandError(f"{file}: {problem}") from problem
        strange = tuple(
            Caution(f"'{key}' is not a key this program knows: it was not considered.", file)
            for key in asked.not_considered
        )
        decision = replace(decision, cautions=decision.cautions + strange)
        return asked.question.instrument.name, decision

    def _from_catalog(self, item_number: str) -> tuple[str, Decision]:
        from assembly.judging.decisions import decide_for_instrument
        from catalog.models import Instrument

        try:
            instrument = Instrument.objects.prefetch_related("cycles").get(
                item_number__iexact=item_number
            )
        except Instrument.DoesNotExist:
            raise CommandError(
                f"No instrument bears the item number {item_number}. Search for it on the Bench."
            ) from None
        except DatabaseError as problem:
            raise CommandError(
                "There is no catalog in this database yet: run manage.py demo or manage.py migrate."
            ) from problem
        return str(instrument), decide_for_instrument(instrument).decision

    def _print(self, title: str, decision: Decision) -> None:
        self.stdout.write(title)
        for section in explain.sections(decision):
            self.stdout.write(f"\n{section.heading}")
            for sentence in section.sentences:
                self.stdout.write(f"  {sentence}")
        self.stdout.write("\nEvery rule")
        for finding in decision.findings:
            self.stdout.write(
                f"  {finding.status.upper():<15} {finding.rule}: {finding.sentence()}"
            )
            self.stdout.write(f"  {'':<15} source: {finding.source}")
        if decision.passed_over:
            self.stdout.write("\nPassed over")
        for item in decision.passed_over:
            reasons = " ".join(f.sentence() for f in item.candidate.reasons)
            self.stdout.write(f"  {explain.name(item.candidate)}: {item.why}. {reasons}".rstrip())
