"""``manage.py recommend``: the decision for an instrument or a set, from catalog or JSON."""

from __future__ import annotations

import json
import sys
from argparse import ArgumentParser, RawDescriptionHelpFormatter
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.db import DatabaseError
from django.utils import timezone

from assembly.rules.deciding.choose import decide
from assembly.rules.facts import from_json as facts_json
from assembly.rules.facts.checks import FactsError
from assembly.rules.findings import Caution, Decision, Status
from assembly.rules.methods.cycles import clash
from assembly.rules.policy.values import PolicyError, default_policy
from assembly.rules.telling import explain
from assembly.rules.telling.set_json import set_json

FACTS_HELP = Path(__file__).with_name("recommend.txt").read_text(encoding="utf-8")
"""The keys of the file of facts, as ``--help`` tells them."""


@dataclass(frozen=True, slots=True)
class Answered:
    """A decision with its title, its JSON, and how a set would go in parts."""

    title: str
    decision: Decision
    as_json: dict[str, Any]
    split: tuple[str, ...] = ()

    @property
    def sections(self) -> list[tuple[str, tuple[str, ...]]]:
        """All that is to be said, in order."""
        said = [(part.heading, part.sentences) for part in explain.sections(self.decision)]
        return [*said[:2], *([("Split by cycle", self.split)] if self.split else []), *said[2:]]


class Command(BaseCommand):
    help = "Say what an instrument or a set is packed in, with every finding and its source."
    requires_system_checks = []

    def create_parser(self, prog_name: str, subcommand: str, **kwargs: Any) -> Any:
        parser = super().create_parser(prog_name, subcommand, **kwargs)
        parser.formatter_class = RawDescriptionHelpFormatter
        parser.epilog = FACTS_HELP
        return parser

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("code", nargs="?", help="an item number, or the code of a set")
        parser.add_argument("--facts", metavar="FILE", help="facts as JSON; - reads standard input")
        parser.add_argument("--json", action="store_true", help="print JSON")
        parser.add_argument("--all", action="store_true", help="rules that do not apply as well")

    def handle(self, *args: Any, **options: Any) -> None:
        if bool(options["code"]) == bool(options["facts"]):
            raise CommandError("Give an item number or the code of a set, or --facts FILE, and "
                               "not both.")  # fmt: skip
        if options["facts"]:
            answer = self._from_facts(options["facts"])
        else:
            answer = self._from_catalog(options["code"])
        if options["json"]:
            self.stdout.write(json.dumps(answer.as_json, indent=2, ensure_ascii=False))
        else:
            self._print(answer, everything=options["all"])

    def _from_facts(self, file: str) -> Answered:
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
        return Answered(asked.question.instrument.name, decision, decision.as_json())

    def _from_catalog(self, code: str) -> Answered:
        try:
            answer = _instrument(code) or _set(code)
        except DatabaseError as problem:
            raise CommandError(
                "There is no catalog in this database yet: run manage.py demo or manage.py migrate."
            ) from problem
        if answer is None:
            raise CommandError(
                f"No instrument and no set bears the number {code}. Search for it on the Bench."
            )
        return answer

    def _print(self, answer: Answered, *, everything: bool) -> None:
        decision = answer.decision
        self.stdout.write(answer.title)
        for heading, sentences in answer.sections:
            self.stdout.write(f"\n{heading}")
            for sentence in sentences:
                self.stdout.write(f"  {sentence}")
        self.stdout.write("\nEvery rule" if everything else "\nEvery rule that applies")
        for finding in decision.findings:
            if finding.status is Status.DOES_NOT_APPLY and not everything:
                continue
            self.stdout.write(
                f"  {finding.status.upper():<15} {finding.rule}: {finding.sentence()}"
            )
            self.stdout.write(f"  {'':<15} source: {finding.source}")
        if decision.passed_over:
            self.stdout.write("\nPassed over")
        for item in decision.passed_over:
            reasons = " ".join(f.sentence() for f in item.candidate.reasons)
            self.stdout.write(f"  {explain.name(item.candidate)}: {item.why}. {reasons}".rstrip())


def _instrument(code: str) -> Answered | None:
    from assembly.judging.decisions import decide_for_instrument
    from catalog.models import Instrument

    row = Instrument.objects.prefetch_related("cycles").filter(item_number__folded=code).first()
    if row is None:
        return None
    decision = decide_for_instrument(row).decision
    return Answered(str(row), decision, decision.as_json())


def _set(code: str) -> Answered | None:
    from assembly.judging.decisions import decide_for_set
    from assembly.judging.facts_from_catalog import lines_of
    from catalog.models import InstrumentSet

    row = InstrumentSet.objects.filter(code__folded=code).first()
    if row is None:
        return None
    if row.current is None:
        raise CommandError(f"No count sheet of {row.code} is approved yet: approve one first.")
    answer = decide_for_set(row, lines_of(row.current))
    asked, whole = answer.question, answer.set_decision
    told = set_json(whole, clash(asked.instruments, asked.programmes, answer.policy))
    return Answered(str(row), whole.decision, told, answer.splits)
