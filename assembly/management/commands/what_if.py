"""``manage.py what_if``: what another preset, value, supply or sterilizer would change."""

from __future__ import annotations

import json
import sys
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.db import DatabaseError

from assembly.consequences.supposing import Said, supposed_by
from assembly.consequences.what_if import Consequences, steps_of, what_if
from assembly.rules.policy.presets import presets
from assembly.rules.policy.values import PolicyError


class Command(BaseCommand):
    help = (
        "Say what would change of all instruments and sets if another preset, value, supply or "
        "sterilizer were in force. Nothing is put in force."
    )
    requires_system_checks = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--preset", choices=list(presets()), default="", help="its values")
        parser.add_argument(
            "--value", action="append", default=[], metavar="NAME=VALUE", help="a policy value"
        )
        parser.add_argument(
            "--with", dest="more", action="append", default=[], metavar="CODE|FILE",
            help="a supply on record that is not in stock, or supplies (kind) and cycles (method) "
            "as JSON with the keys of recommend",
        )  # fmt: skip
        parser.add_argument(
            "--without", action="append", default=[], metavar="CODE", help="a supply in stock"
        )
        parser.add_argument(
            "--sterilizer", action="append", default=[], metavar="CODE",
            help="one in use: as if it were not there; one out of use: as if it were in use",
        )  # fmt: skip
        parser.add_argument("--json", action="store_true", help="print JSON")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            found = what_if(supposed_by(self._said(options)), self._teller())
        except (PolicyError, ValueError) as problem:
            raise CommandError(str(problem)) from problem
        except DatabaseError as problem:
            raise CommandError(
                "There is no catalog in this database yet: run manage.py demo or manage.py migrate."
            ) from problem
        if options["json"]:
            self.stdout.write(json.dumps(found.as_json(), indent=2, ensure_ascii=False))
        else:
            self._print(found)

    def _said(self, options: dict[str, Any]) -> Said:
        values = dict(self._pair(text) for text in options["value"])
        files = {name: self._text(name) for name in options["more"] if name.endswith(".json")}
        return Said(
            preset=options["preset"],
            values=values,
            supplies=tuple(name for name in options["more"] if name not in files),
            without=tuple(options["without"]),
            sterilizers=tuple(options["sterilizer"]),
            files=files,
        )

    def _pair(self, text: str) -> tuple[str, str]:
        name, equals, value = text.partition("=")
        if not equals:
            raise CommandError("--value takes NAME=VALUE, for example side_clearance_mm=15")
        return name.strip(), value

    def _text(self, name: str) -> str:
        try:
            return Path(name).read_text(encoding="utf-8-sig")
        except OSError as problem:
            raise CommandError(f"{name} cannot be read: {problem.strerror}.") from problem
        except UnicodeDecodeError as problem:
            raise CommandError(f"{name} is not UTF-8 text.") from problem

    def _teller(self) -> Any:
        """How far it is, on a terminal alone."""
        if not sys.stderr.isatty():
            return lambda done: None
        of = steps_of()
        return lambda done: self.stderr.write(f"\r{done:,} of {of:,}", ending="")

    def _print(self, found: Consequences) -> None:
        for one in found.changed:
            self.stdout.write(f"{one.what} {one.code}: {one.before} -> {one.after}")
        for code in found.over:
            self.stdout.write(f"set {code}: goes over its weight limit")
        self.stdout.write(
            f"Of {found.instruments:,} instruments and {found.sets:,} sets {len(found.changed):,} "
            f"would change, {len(found.undecided):,} of them to undecided; {len(found.over):,} "
            "sets would go over a limit. Nothing was put in force."
        )
