from typing import Any

from django.apps import AppConfig, apps
from django.contrib.auth.signals import user_logged_in
from django.core.signals import request_finished
from django.db import connections
from django.db.models.signals import post_migrate


def roles_and_guards_follow(using: str, **_: Any) -> None:
    """Each ``migrate`` leaves roles, guards of the records, and the watch over what decisions
    start from, as this version has them."""
    from catalog.chain.guards import set_guards
    from config.roles import roles_can_be_set_up, set_up_roles
    from config.watched import watch

    if roles_can_be_set_up():
        set_up_roles()
    set_guards(connections[using])
    watch(connections[using])


class ConfigConfig(AppConfig):
    name = "config"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        # Content types come after accounts: when their turn is there, all permissions are.
        post_migrate.connect(roles_and_guards_follow, sender=apps.get_app_config("contenttypes"))
        from catalog.chain.sealing import seal_now_and_then
        from config.sessions import begun

        user_logged_in.connect(begun)
        request_finished.connect(seal_now_and_then)  # Who asked has the answer already.
