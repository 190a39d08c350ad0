"""``manage.py add_user NAME --role ROLE``: an account in one of the three roles."""

from __future__ import annotations

from argparse import ArgumentParser
from typing import Any

from django.contrib.auth.models import Group, User
from django.core.management.base import BaseCommand, CommandError
from django.db import transaction

from config.management.commands.account import read_password
from config.roles import ROLES


class Command(BaseCommand):
    help = "Add an account. The password is asked for, or read from standard input."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("name")
        parser.add_argument("--role", choices=list(ROLES), required=True)
        parser.add_argument("--full-name", default="")

    @transaction.atomic
    def handle(self, *args: Any, **options: Any) -> None:
        name = options["name"]
        if User.objects.filter(username__iexact=name).exists():
            raise CommandError(f"There is an account {name} already.")
        group = Group.objects.filter(name=options["role"]).first()
        if group is None:
            raise CommandError("The roles are not set up yet: run manage.py migrate.")
        first, _, last = options["full_name"].partition(" ")
        user = User(username=name, first_name=first, last_name=last)
        user.set_password(read_password(user))
        user.save()
        user.groups.add(group)
        self.stdout.write(f"{name}: {options['role']}")
