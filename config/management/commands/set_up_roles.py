"""``manage.py set_up_roles``: make the three roles, or bring them up to date."""

from typing import Any

from django.core.management.base import BaseCommand

from config.roles import ROLES, set_up_roles


class Command(BaseCommand):
    help = "Make the roles technician, OR liaison and coordinator, with their permissions."

    def handle(self, *args: Any, **options: Any) -> None:
        set_up_roles()
        for role, names in ROLES.items():
            self.stdout.write(f"{role}: {len(names)} permissions")
