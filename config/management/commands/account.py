"""``manage.py account NAME --off | --on | --password``: a leaver, a return, a new password."""

from __future__ import annotations

import getpass
import sys
from argparse import ArgumentParser
from typing import Any

from django.contrib.auth.models import User
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError


def read_password(user: User) -> str:
    """A password for the account, asked for or from standard input. CommandError if it is weak."""
    password = getpass.getpass() if sys.stdin.isatty() else sys.stdin.readline().rstrip("\n")
    try:
        validate_password(password, user)
    except ValidationError as problem:
        raise CommandError(" ".join(problem.messages)) from problem
    return password


class Command(BaseCommand):
    help = "Switch an account off (its sessions end at once) or on, or give it a new password."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("name")
        what = parser.add_mutually_exclusive_group(required=True)
        what.add_argument("--off", action="store_true")
        what.add_argument("--on", action="store_true")
        what.add_argument("--password", action="store_true")

    def handle(self, *args: Any, **options: Any) -> None:
        user = User.objects.filter(username__iexact=options["name"]).first()
        if user is None:
            raise CommandError(f"There is no account {options['name']}.")
        if options["password"]:
            user.set_password(read_password(user))
        else:
            user.is_active = options["on"]
        user.save()
        done = "new password" if options["password"] else "on" if user.is_active else "off"
        self.stdout.write(f"{user.username}: {done}")
