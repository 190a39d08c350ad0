"""``manage.py let_go DAY``: changes, and packages, that are kept no longer, with stubs."""

from __future__ import annotations

from argparse import ArgumentParser
from datetime import date, datetime
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.db import transaction
from django.utils import timezone

from assembly.judging.facts_from_catalog import policy_in_force
from assembly.retention import let_packages_go, may_go
from catalog.chain.letting_go import NotAsSealed, let_go
from catalog.models import Change

STAY = (
    " What stays is still here, or on hold, or is not on record as no implant, or is named by "
    "something else: a load or request that is not over, a recall, a complaint, a repair, a piece "
    "that is missing, a question, a count of what is on hand. Or it was too many for one go: run "
    "this again."
)


class Command(BaseCommand):
    help = (
        "Let go of the changes of before a day (the page Records), all or none. Back up first: "
        "they do not come back. What is left of each in the chain is its number and digest, with "
        "who let it go and why. With --packages, also the packages of before then that are gone, "
        "with their decisions, moves and assemblies. Loads, requests and tests stay, with their "
        "steps."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("day", type=date.fromisoformat, help="2016-01-01")
        parser.add_argument("--as", dest="actor", required=True, help="who lets them go")
        parser.add_argument("--reason", required=True, help="why: it stays in the chain")
        parser.add_argument("--packages", action="store_true", help="packages too: see above")

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
        why = f"{options['actor']}: {options['reason']}"[:300]
        try:
            with transaction.atomic():
                many = let_go(Change.objects.filter(at__lt=before), why)
                packages = _packages(before, why) if options["packages"] else ""
        except NotAsSealed as problem:
            raise CommandError(str(problem)) from problem
        self.stdout.write(f"{many} changes of before {options['day']} were let go.{packages}")


def _packages(before: datetime, why: str) -> str:
    pks, stay = may_go(before)
    let_packages_go(pks, why)
    return f" {len(pks)} packages were let go; of before then {stay} stay.{STAY if stay else ''}"
