"""Commands that the program starts itself, beside the web server, whose log they write to."""

from __future__ import annotations

import logging
import sys

from django.core.management.base import BaseCommand

LOG = logging.getLogger("packbench.beside")


class Beside(BaseCommand):
    """What goes wrong in it is a line of the log like any other, never an error's own words: they
    can hold a name, or a cell of somebody's list."""

    requires_system_checks = []

    def run_from_argv(self, argv: list[str]) -> None:
        try:
            super().run_from_argv(argv)
        except Exception:
            LOG.exception("Work beside the web server failed")
            sys.exit(1)
