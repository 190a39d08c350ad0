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

FACTS_HELP = """
The file of --facts is one JSON object. Lengths in mm, weights in g, times in minutes,
temperatures in degrees C. A number that is missing or null is unknown, never zero.

  instrument  name, length_mm, width_mm, height_mm (as it lies), weight_g, sharp (true,
              false), protector ("vented, small", "none"), hinged, ratchet, hollow, parts
              (comes apart), round_section, lumen_mm,
              lumen_length_mm, lumen_material ("steel", "flexible"), channels,
              tip_across_mm, tip_cover_mm (length to be covered), width_open_mm (as a
              hinged one lies open), lies_only_as_given, form ("ring-handled",
              "tweezer-like", "retractor", "tube", "handle", "rongeur", "basin", "scope",
              "powered", "box"),
              item_class ("instruments", "textile packs", "utensils"),
              forbids: kinds of package its IFU rules out,
              cycles: [{method, temperature_c, temperature_to_c, air_removal ("gravity",
              "dynamic", "either"), exposure_min, exposure_max, drying_min, aeration_min,
              cycle_name}]
  supplies    a list of
              {kind: "pouch", code, inner_width_mm, inner_length_mm, outer_width_mm,
               outer_length_mm, gusset_mm (fold depth, each side), material, closure,
               rated_g, cost, doubles_in: [codes of outer pouches], methods: [as labelled]}
              {kind: "roll", code, nominal_width_mm, side_seal_mm, gusset_mm, material,
               rated_g, longest_cut_mm, roll_length_mm, cost, methods}
              {kind: "wrap", code, width_mm, length_mm, material, rated_g, layers, cost,
               methods}
              {kind: "container", code, inner_length_mm, inner_width_mm, inner_height_mm,
               tare_g, rated_g, programmes: [codes], filter_material ("paper",
               "polypropylene", "ptfe", "textile", "valve"; or filter: in words), cost}
  programmes  [{code, method, temperature_c, air_removal, come_up_min, exposure_min,
              drying_min, cycle_name, claims: [{material, channels, bore_mm, length_mm,
              most_in_tray, most_in_load, load_g}]}]; left out: the department's cycles
              are not part of the question (a container still needs its validated one)
  protectors  [{code, name, bore_mm, length_mm, wall_mm, vented, methods, material, cost}];
              left out: not part of the question
  pack        {length_mm, width_mm, height_mm}: what is wrapped, if not the instrument's box
  policy      values by name that replace the shipped ones, e.g. {"side_clearance_mm": 30}
  double      true asks for a double pouch
  fold        "envelope" or "square" fixes the fold of a wrap

Kinds: pouch, roll, wrap, container. Materials: paper-film, polyolefin-film, cellulose,
sms, textile. Methods: steam, eo, h2o2, ltsf, dry-heat (longer names are accepted).

--json prints {status: "recommended" | "undecided" | "none", recommended: {kind, code,
with: [codes], ...} or null, findings: [{rule, status, figure, limit, margin, unit,
sentence, source}], alternatives, passed_over: [{code, why, findings}], cautions, unknown}.
"""


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
