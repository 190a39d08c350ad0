from collections.abc import Callable
from importlib import import_module
from typing import Any

from django.apps import AppConfig


class ReportsConfig(AppConfig):
    name = "reports"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Skills are looked up when work is given; a package is tried on its label."""
        from assembly.packages import printable
        from reports.gathering.skills import recording  # noqa: F401

        printable.WHY_NOT.append(_drawn("why_no_label"))
        printable.NO_PLACE.append(_drawn("no_place"))
        printable.LABEL_SIZES.append(_drawn("label_size"))


def _drawn(name: str) -> Callable[..., Any]:
    """What answers so, imported by the first who asks: what draws takes a third of every start."""

    def ask(*of: Any) -> Any:
        return getattr(import_module("reports.pages.before_recording"), name)(*of)

    return ask
