"""Papers from rows to PDF, decisions included: ``python -m tests.bench.desk.papers``.

Sets of 40 lines of the demo's instruments, decided anew for their sheets, and labels of packages
on record: what making a document of each takes beside drawing it. Processor time, once through.
``printing.py`` times the drawing alone, against the bare library. How many sets and labels may be
named: 500 and 5,000 where nothing is said.
"""

from __future__ import annotations

import os
import shutil
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from tests import migrated

LINES = 40


def timed(work: Callable[[], Any]) -> tuple[float, Any]:
    """Seconds of processor time, and what came of it."""
    began = time.process_time()
    made = work()
    return time.process_time() - began, made


def tell(
    name: str, count: int, gather: Callable[[], list[Any]], draw: Callable[[Any], Any]
) -> None:
    gathered, documents = timed(gather)
    drawn, _ = timed(lambda: draw(documents))
    print(f"{count:,} {name}: {gathered + drawn:.1f} s, of which {drawn:.1f} s drawing: "
          f"{(gathered + drawn) / drawn:.2f} times", flush=True)  # fmt: skip


def measure(sets: int, labels: int) -> None:
    """In the database that ``DATABASE_URL`` names, which has its tables and nothing else."""
    import django

    django.setup()
    from assembly.models import Package
    from catalog.models import Container, Instrument, InstrumentSet
    from config import demo
    from reports.drawing.labels.labels import draw_labels
    from reports.drawing.stocks import stock
    from reports.gathering.count_sheets import count_sheet_documents
    from reports.gathering.labels.packages import package_label_document
    from tests.bench.desk.many_packages import Department, of_the_demo
    from tests.factories import catalog as make
    from tests.reports.examples import draw_count_sheets

    demo.load(lambda _: None, day=False)
    instruments, full = list(Instrument.objects.all()), Container.objects.get(code="RC-FULL")
    for number in range(sets):
        one = make.InstrumentSet(container=full, code=f"BS-{number}")
        sheet = make.CountSheet(instrument_set=one)
        make.models.Line.objects.bulk_create(
            make.models.Line(count_sheet=sheet, order=place, quantity=1,
                             instrument=instruments[(number + place) % len(instruments)])
            for place in range(LINES)
        )  # fmt: skip
    rows = list(InstrumentSet.objects.filter(code__startswith="BS-"))
    left_out: list[str] = []
    tell(f"count sheets of {LINES} lines", sets,
         lambda: list(count_sheet_documents(rows, "bench", left_out)),
         draw_count_sheets)  # fmt: skip
    Department(of_the_demo, labels).grow(labels)
    packages = list(Package.objects.all()[:labels])
    tell("labels", labels, lambda: [package_label_document(one) for one in packages],
         lambda documents: draw_labels(documents, stock("label-100x50")))  # fmt: skip


def main(given: list[int]) -> None:
    os.environ["DJANGO_SETTINGS_MODULE"] = "config.settings.test"
    with tempfile.TemporaryDirectory() as folder:
        database = Path(folder) / "papers.sqlite3"
        shutil.copy(migrated.file(), database)
        os.environ["DATABASE_URL"] = f"sqlite:///{database}"
        measure(*(given + [500, 5000][len(given) :])[:2])


if __name__ == "__main__":
    main([int(word) for word in sys.argv[1:]])
