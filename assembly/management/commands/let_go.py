"""``manage.py let_go DAY``: changes that are kept no longer, with a stub of each."""

from __future__ import annotations

from argparse import ArgumentParser
from datetime import date, datetime
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from assembly.judging.facts_from_catalog import policy_in_force
from catalog.chain.letting_go import NotAsSealed, let_go
from catalog.models import Change


class Command(BaseCommand):
    help = (
        "Let go of the changes of before a day (the page Records), all or none. Back up first: "
        "they do not come back. What is left of each in the chain is its number and digest, with "
        "who let it go and why. Packages, loads, tests and all their steps stay."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("day", type=date.fromisoformat, help="2016-01-01")
        parser.add_argument("--as", dest="actor", required=True, help="who lets them go")
        parser.add_argument("--reason", required=True, help="why: it stays in the chain")

    def handle(self, *args: Any, **options: Any) -> None:
        years = policy_in_force().number_or_none("records_kept_years")
        if years is None:
            raise CommandError("The policy does not say how long records are kept: set "
                               "records_kept_years. Nothing was changed.")  # fmt: skip
        today = timezone.localdate()
        last = date(today.year - int(years), today.month, min(today.day, 28))
        if options["day"] > last:
            raise CommandError(f"Records are kept {years:g} years: name a day up to {last}, not "
                               f"{options['day']}. Nothing was changed.")  # fmt: skip
        before = timezone.make_aware(datetime.combine(options["day"], datetime.min.time()))
        try:
            many = let_go(Change.objects.filter(at__lt=before),
                          f"{options['actor']}: {options['reason']}"[:300])  # fmt: skip
        except NotAsSealed as problem:
            raise CommandError(str(problem)) from problem
        self.stdout.write(f"{many} changes of before {options['day']} were let go.")
