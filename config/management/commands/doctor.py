"""``manage.py doctor``: what is wrong with this installation, and what to do."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand

from config.installation.doctor import examined


class Command(BaseCommand):
    help = (
        "Say what is wrong with this installation and what to do; change nothing. Ends with 1 "
        "where something has to be mended, else with 0."
    )
    requires_system_checks = []

    def handle(self, *args: Any, **options: Any) -> None:
        found = sorted(examined(), key=lambda trouble: not trouble.wrong)
        for trouble in found:
            word = "WRONG" if trouble.wrong else "Think of"
            self.stdout.write(f"{word}: {trouble.what} {trouble.do}")
        if any(trouble.wrong for trouble in found):
            raise SystemExit(1)
        self.stdout.write("Nothing has to be mended.")
