"""``manage.py verify_records``: all that is on record is as it was sealed, or what is not."""

from __future__ import annotations

from argparse import ArgumentParser
from datetime import date
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.db import DatabaseError
from django.utils import timezone

from catalog.chain import sealing, verifying


class Command(BaseCommand):
    help = (
        "Seal what is open, then read every entry on record and hold it against the chain of "
        "digests. Ends with 0 where all is as it was sealed; else with 1, and names what was "
        "changed, removed or inserted. Writes the digest of a day: print it, or keep it elsewhere."
    )
    requires_system_checks = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--day", type=date.fromisoformat, help="2026-03-01; else today")
        parser.add_argument(
            "--kept", help="a digest that was printed or saved: whether the chain still holds it"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            sealing.seal_all()
        except DatabaseError as problem:  # what is sealed can be verified all the same
            self.stdout.write(f"What is open could not be sealed: {problem}.")
        found = verifying.verify()
        wrong = list(found.wrong)
        if (kept := options["kept"]) and verifying.holds(kept) is None:
            wrong.append(
                f"changed: no seal has the digest {kept}: "
                "the chain was made anew, or its end is gone"
            )
        for line in wrong:
            self.stdout.write(line)
        self.stdout.write(f"{found.entries:,} entries in {found.seals:,} seals were read.")
        day = options["day"] or timezone.localdate()
        if seal := sealing.last_of_day(day):
            self.stdout.write(f"{day} {seal.digest.hex()} ({seal})")
        if wrong:
            raise CommandError(f"{len(wrong)} not as they were sealed.")
        self.stdout.write("All is as it was sealed.")
