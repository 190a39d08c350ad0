"""``manage.py demo``: the invented hospital, set up and served on this machine."""

from __future__ import annotations

import time
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.db import connection

from config import demo


class Command(BaseCommand):
    help = (
        "Set up the invented Hollin Fell Hospital out of its spreadsheets and serve it on "
        "127.0.0.1. The database is DATABASE_URL, else var/packbench.sqlite3. Run again, it "
        "changes nothing; it never touches a database that it did not fill itself."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--no-serve", action="store_true", help="set up, then stop")
        parser.add_argument("--fresh", action="store_true", help="empty the demo and start over")
        parser.add_argument("--no-day", action="store_true", help="the hospital, no work begun")
        parser.add_argument("--port", type=int, default=8000, help="port on 127.0.0.1")

    def handle(self, *args: Any, **options: Any) -> None:
        self.started = time.monotonic()
        self.say("database")
        self._refuse_others()
        if options["fresh"] and self._has_tables():
            self.say("emptying the demo")
            call_command("flush", interactive=False, verbosity=0)
        call_command("migrate", verbosity=0)
        if demo.is_demo():
            self.say("the hospital is there already: nothing changed")
        else:
            demo.load(self.say, day=not options["no_day"])
        self._print_accounts(options["port"])
        if not options["no_serve"]:
            call_command("runserver", f"127.0.0.1:{options['port']}", use_reloader=False)

    def say(self, what: str) -> None:
        self.stdout.write(f"{time.monotonic() - self.started:5.1f} s  {what}")
        self.stdout.flush()

    def _has_tables(self) -> bool:
        return "catalog_change" in connection.introspection.table_names()

    def _refuse_others(self) -> None:
        names = connection.introspection.table_names()
        if not names or (self._has_tables() and (demo.is_demo() or demo.is_empty())):
            return
        where = connection.settings_dict["NAME"]
        shown = where if not Path(str(where)).is_absolute() else Path(str(where)).name
        raise CommandError(
            f"The database {shown} holds data that the demo did not put there. It was left "
            "alone. Set DATABASE_URL to a new database, for example sqlite:///var/demo2.sqlite3."
        )

    def _print_accounts(self, port: int) -> None:
        self.stdout.write(f"\nOpen http://127.0.0.1:{port}/ and sign in as one of:\n")
        for account in demo.ACCOUNTS:
            self.stdout.write(f"  {account:<12} password  {demo.password(account)}")
        self.stdout.write("")
        self.stdout.flush()
