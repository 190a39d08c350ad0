"""What is worked out from a whole department: ``python -m tests.bench.rules.planning``.

Sets of 40 lines of the demo's instruments in their containers: all ranked by the water that
condenses on them, what helps the first of them to dry; then as many of them as are named second are
needed within the shift's hours: the board, and its paper. Processor time, the second time of each.
How many sets and needs may be named: 500 and 100 where nothing is said.
"""

from __future__ import annotations

import os
import shutil
import sys
import tempfile
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import Any

from tests import migrated
from tests.bench.desk.papers import LINES, timed


def tell(name: str, work: Callable[[], Any]) -> Any:
    work()
    seconds, made = timed(work)
    print(f"{name}: {1000 * seconds:.0f} ms", flush=True)
    return made


def measure(sets: int, needs: int) -> None:
    """In the database that ``DATABASE_URL`` names, which has its tables and nothing else."""
    import django

    django.setup()
    from django.utils import timezone

    from assembly.packages import levels
    from assembly.planning.wet_risk import risk_of, with_figures
    from assembly.planning.work import board
    from catalog.models import Container, Instrument
    from config import demo
    from reports.drawing.boards import draw_board
    from reports.gathering.shift_board import board_document
    from tests.factories import catalog as make
    from tests.factories import requests as ask

    demo.load(lambda _: None, day=False)
    instruments, full = list(Instrument.objects.all()), Container.objects.get(code="RC-FULL")
    made = []
    for number in range(sets):
        made.append(make.InstrumentSet(container=full, code=f"BS-{number}"))
        sheet = make.CountSheet(instrument_set=made[-1])
        make.models.Line.objects.bulk_create(
            make.models.Line(count_sheet=sheet, order=place, quantity=1,
                             instrument=instruments[(number + place) % len(instruments)])
            for place in range(LINES)
        )  # fmt: skip
    first = tell(f"{sets} sets of {LINES} lines ranked", lambda: list(with_figures()))[0]
    risk = risk_of(first)
    assert risk is not None
    tell("one set, with what helps it to dry", lambda: risk_of(first).as_json())  # type: ignore[union-attr]
    for number, one in enumerate(made[:needs]):
        due = timezone.now() + timedelta(minutes=60 + number * 13 % 1300)
        levels.say_when_needed(ask.liaison(), one, due, "OR 1", 1)
    found = tell(f"the board of {needs} needs", board)
    print(f"{len(found.plan.tasks)} tasks, {len(found.plan.loads)} loads, "
          f"{len(found.plan.unknown)} that cannot be told")  # fmt: skip
    document = board_document("bench")
    tell("its paper, drawn", lambda: draw_board(document))


def main(given: list[int]) -> None:
    os.environ["DJANGO_SETTINGS_MODULE"] = "config.settings.test"
    with tempfile.TemporaryDirectory() as folder:
        database = Path(folder) / "planning.sqlite3"
        shutil.copy(migrated.file(), database)
        os.environ["DATABASE_URL"] = f"sqlite:///{database}"
        measure(*(given + [500, 100][len(given) :])[:2])


if __name__ == "__main__":
    main([int(word) for word in sys.argv[1:]])
