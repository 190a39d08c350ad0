"""``manage.py flush``: Django's own, past the guards of the records."""

from __future__ import annotations

from typing import Any

from django.core.management.commands import flush

from catalog.chain.guards import let_through


class Command(flush.Command):
    def handle(self, **options: Any) -> None:
        with let_through(options["database"]):
            super().handle(**options)
