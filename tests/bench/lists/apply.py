"""How long a bench waits while 50,000 rows go into the catalog.

Run as ``PYTHONPATH=. python -m tests.bench.lists.apply``; ``--rows N`` takes another length,
``--sets N`` and ``--lines N`` other count sheets. On a SQLite file of its own a list is checked and
applied by its jobs, as from the page: all rows new, then all of them changed, then that taken back;
then a fifth as many new ones, taken back too. Count sheets of these instruments follow: all sets
new, then all lines changed, then that taken back. Beside each, in this process, one piece after the
other of a set is counted with the verb of the bench. Goal: no count waits longer than a second.
"""

from __future__ import annotations

import argparse
import os
import statistics
import tempfile
import time
from pathlib import Path

ROWS = 50_000
SETS, LINES = 400, 40
PIECES = 50
"""Of one set: then the next one is begun."""
PAUSE_S = 0.02
"""Between two counts: faster than any hand, and the job is left some of the machine."""
ENVIRONMENT = {"DJANGO_SETTINGS_MODULE": "config.settings.development", "DEBUG": "False"}


def _list(rows: int, weight: int, first: int = 100_000) -> bytes:
    lines = ["Item #,Name,Length (mm),Width (mm),Weight (g),Sterilize by,Steam cycle"]
    lines += [
        f"HF-{first + n},Aldersyke forceps 140 mm no. {n},140,20,{weight + n % 50},"
        "steam,134C 3-18 min dry 20"
        for n in range(rows)
    ]
    return "\n".join(lines).encode()


def _count_sheets(sets: int, lines: int, quantity: int, code: str = "BS") -> bytes:
    found = ["Set no.,Set name,Quantity,Item #,Name"]
    found += [
        f"{code}-{one},Bench set no. {one},{quantity},HF-{100_000 + n},"
        f"Aldersyke forceps 140 mm no. {n}"
        for one in range(sets)
        for n in range(one, one + lines)
    ]
    return "\n".join(found).encode()


def _checked(data: bytes, what: str) -> int:
    """A file that is checked and has its rows selected: the batch's number."""
    from catalog.models import SpreadsheetBatch
    from catalog.spreadsheets.batches.verbs import run

    one = SpreadsheetBatch.objects.create(file_name="list.csv", sha256="-", content=data, by="b")
    run(one.pk, "look")
    print(f"{what}, {_beside(one.pk, 'check')}", flush=True)
    said = {"groups": ["new", "changed"], "rows": []}
    SpreadsheetBatch.objects.filter(pk=one.pk).update(selection=said, applied_by="b")
    return one.pk


def _beside(pk: int, job: str) -> str:
    """Start the job and count pieces until it has ended; what that was like, in words."""
    from assembly.bench import builds
    from catalog.models import SpreadsheetBatch
    from catalog.spreadsheets.batches import jobs
    from tests.factories import bench

    kept, me = bench.a_set(f"TS-{pk}-{job}", wanted=(PIECES,)), bench.person()
    batch = SpreadsheetBatch.objects.get(pk=pk)
    began = time.perf_counter()
    jobs.start(batch, job)
    waits = []
    while jobs.is_running(batch):
        start = time.perf_counter()
        if len(waits) % PIECES == 0:
            build = bench.a_build(kept)
            line = build.lines.get()
        builds.count(me, build.pk, line.pk, 1, bench.key())
        waits.append(time.perf_counter() - start)
        time.sleep(PAUSE_S)
    took = time.perf_counter() - began
    state = jobs.settle(batch).state
    return (
        f"{job}: {state} after {took:.1f} s; {len(waits)} counts beside it, "
        f"median {statistics.median(waits) * 1000:.0f} ms, longest {max(waits) * 1000:.0f} ms"
    )


def main(rows: int, sets: int, lines: int) -> None:
    with tempfile.TemporaryDirectory() as folder:
        database = Path(folder) / "bench.sqlite3"
        os.environ.update({**ENVIRONMENT, "DATABASE_URL": f"sqlite:///{database}"})
        import django
        from django.core.management import call_command

        django.setup()
        call_command("migrate", verbosity=0)
        _files(
            (f"{rows:,} new", _list(rows, 100), ["apply"]),
            (f"{rows:,} changed", _list(rows, 160), ["apply", "revert"]),
            (f"{rows // 5:,} new", _list(rows // 5, 100, first=500_000), ["apply", "revert"]),
            (f"{sets} sets of {lines} new", _count_sheets(sets, lines, 1), ["apply"]),
            (f"{sets} sets changed", _count_sheets(sets, lines, 2), ["apply", "revert"]),
            (f"{sets} sets of {lines} new", _count_sheets(sets, lines, 1, "CS"),
             ["apply", "revert"]),
        )  # fmt: skip


def _files(*each: tuple[str, bytes, list[str]]) -> None:
    for what, data, jobs in each:
        batch = _checked(data, what)
        for job in jobs:
            print(f"{what}, {_beside(batch, job)}", flush=True)


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rows", type=int, default=ROWS)
    parser.add_argument("--sets", type=int, default=SETS)
    parser.add_argument("--lines", type=int, default=LINES)
    given = parser.parse_args()
    main(given.rows, given.sets, given.lines)
