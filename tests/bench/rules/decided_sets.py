"""So many sets of 40 lines decided in a process of its own: ``python decided_sets.py 500``.

It stands alone, so that it runs in a checkout of another commit too: ``decisions.py`` starts it
there. Prints the seconds of processor time that all of them took, the first time and again.
"""

from __future__ import annotations

import importlib
import inspect
import os
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

LINES = 40


def add_sets(count: int) -> None:
    """So many sets of the demo's instruments in its largest container."""
    from catalog.models import Container, CountSheet, Instrument, InstrumentSet, Line

    instruments, full = list(Instrument.objects.all()), Container.objects.get(code="RC-FULL")
    for number in range(count):
        code = f"BS-{number}"
        one = InstrumentSet.objects.create(code=code, name=f"Set {code}", container=full)
        sheet = CountSheet.objects.create(instrument_set=one, revision=1, state="current")
        Line.objects.bulk_create(
            Line(count_sheet=sheet, order=place, quantity=1,
                 instrument=instruments[(number + place) % len(instruments)])
            for place in range(LINES)
        )  # fmt: skip


def lists() -> Any:
    """The module that decides all sets, where this commit has it."""
    try:
        return importlib.import_module("reports.gathering.lists_from_catalog")
    except ImportError:
        return importlib.import_module("reports.lists_from_catalog")


def main(count: int) -> None:
    os.environ["DJANGO_SETTINGS_MODULE"] = "config.settings.test"
    with tempfile.TemporaryDirectory() as folder:
        os.environ["DATABASE_URL"] = f"sqlite:///{Path(folder) / 'sets.sqlite3'}"
        import django

        django.setup()
        from django.core.management import call_command

        from config import demo

        call_command("migrate", verbosity=0)
        without_day = {"day": False} if "day" in inspect.signature(demo.load).parameters else {}
        demo.load(lambda _: None, **without_day)
        add_sets(count)
        answers = lists().answers
        for _ in range(2):
            began = time.process_time()
            found = sum(1 for _ in answers())
            print(f"{time.process_time() - began:.3f} {found}", flush=True)


if __name__ == "__main__":
    main(int(sys.argv[1]))
