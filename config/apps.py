from typing import Any

from django.apps import AppConfig, apps
from django.db.models.signals import post_migrate


def roles_follow(**_: Any) -> None:
    """Each ``migrate`` leaves the roles as this version has them."""
    from config.roles import roles_can_be_set_up, set_up_roles

    if roles_can_be_set_up():
        set_up_roles()


class ConfigConfig(AppConfig):
    name = "config"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        # Accounts come after our own apps: when their turn is there, all permissions are.
        post_migrate.connect(roles_follow, sender=apps.get_app_config("auth"))
