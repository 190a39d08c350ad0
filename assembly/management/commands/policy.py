"""``manage.py policy``: every value with its unit, history and source; presets; what is stale."""

from __future__ import annotations

from argparse import ArgumentParser
from datetime import date, timedelta
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.db import DatabaseError
from django.utils import timezone

from assembly.consequences.policy_actions import apply_preset, override_value, read_value
from assembly.consequences.policy_words import value_words
from assembly.judging.facts_from_catalog import policy_in_force
from assembly.rules.policy.presets import presets
from assembly.rules.policy.values import Parameter, Policy, PolicyError, default_policy
from catalog.actions import Actor


class Command(BaseCommand):
    help = "List every policy value in force, what nobody re-checked, or set the department's own."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--stale", type=int, metavar="DAYS", help="only values nobody re-checked for so long"
        )
        parser.add_argument("--preset", choices=list(presets()), help="take over a preset")
        parser.add_argument("--set", metavar="NAME=VALUE", help="set one of the department's own")
        parser.add_argument("--from", dest="since", metavar="DATE", help="from then on, else today")
        parser.add_argument("--source", default="", help="where the value comes from")
        parser.add_argument("--clause", default="", help="where in the source it stands")
        parser.add_argument("--reason", default="", help="why the department sets it")
        parser.add_argument("--as", dest="actor", default="command line", help="who sets it")

    def execute(self, *args: Any, **options: Any) -> Any:
        """What only reads needs no system checks."""
        options["skip_checks"] |= not (options["preset"] or options["set"])
        return super().execute(*args, **options)

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            if options["preset"]:
                made = apply_preset(
                    self._actor(options), options["preset"], since=self._day(options)
                )
                self.stdout.write(f"{len(made)} values set from preset {options['preset']}.")
            elif options["set"]:
                self._set(options)
            else:
                self._list(options["stale"])
        except PolicyError as problem:
            raise CommandError(str(problem)) from problem

    def _actor(self, options: dict[str, Any]) -> Actor:
        return Actor(options["actor"], reason=options["reason"])

    def _day(self, options: dict[str, Any]) -> date:
        if not options["since"]:
            return timezone.localdate()
        try:
            return date.fromisoformat(options["since"])
        except ValueError as problem:
            raise CommandError(
                f"--from: read {options['since']!r}; write a date such as 2026-01-31"
            ) from problem

    def _set(self, options: dict[str, Any]) -> None:
        name, equals, text = options["set"].partition("=")
        if not equals:
            raise CommandError("--set takes NAME=VALUE, for example side_clearance_mm=30")
        made = override_value(
            self._actor(options),
            name.strip(),
            read_value(name.strip(), text),
            since=self._day(options),
            source=options["source"],
            clause=options["clause"],
        )
        self.stdout.write(f"{made}")

    def _list(self, stale: int | None) -> None:
        policy = self._policy()
        limit = timezone.localdate() - timedelta(days=stale or 0)
        shown = [
            parameter
            for parameter in policy.parameters.values()
            if stale is None or parameter.last_checked < limit
        ]
        for parameter in shown:
            self._print(parameter, policy)
        if stale is not None:
            self.stdout.write(f"{len(shown)} values not checked for {stale} days or more.")

    def _policy(self) -> Policy:
        try:
            return policy_in_force()
        except DatabaseError:
            self.stderr.write("No database yet: the shipped values.")
            return default_policy(timezone.localdate())

    def _print(self, parameter: Parameter, policy: Policy) -> None:
        entry = policy.entry(parameter.name)
        self.stdout.write(f"{parameter.name}: {value_words(entry.value, parameter.unit)}")
        self.stdout.write(f"  {parameter.title}")
        self.stdout.write(f"  from {entry.since}, {entry.cited} [{entry.confidence}]")
        for older in reversed(parameter.history):
            if older is not entry:
                words = value_words(older.value, parameter.unit)
                self.stdout.write(f"  shipped: {words} from {older.since}, {older.cited}")
        self.stdout.write(f"  last checked {parameter.last_checked}")
