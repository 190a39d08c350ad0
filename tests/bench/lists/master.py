"""A 50,000 x 10 master list: raw reading, our check, our commit, and django-import-export.

Run as ``PYTHONPATH=. python tests/bench/lists/master.py`` after ``pip install -e '.[bench]'``;
``--rows N`` takes another length. Everything reads the same generated file, each step in a
process of its own, so that one's memory is not another's; SQLite databases are new ones.
Each time is told twice: on the clock, and in brackets of the processor, which other work on
the machine disturbs less; ratios are of processor times.
"""

from __future__ import annotations

import argparse
import json
import os
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from tests.bench.lists.big_list import write

ROWS = 50_000
ENVIRONMENT = {"DJANGO_SETTINGS_MODULE": "config.settings.development", "DEBUG": "False"}


def raw(path: Path) -> dict[str, Any]:
    """openpyxl's read-only iteration over every value: the floor."""
    import openpyxl

    def read() -> int:
        book = openpyxl.load_workbook(path, read_only=True, data_only=True)
        return sum(1 for sheet in book for _ in sheet.iter_rows(values_only=True)) - 1

    return {"seconds": {"read": _timed(read)}}


def check(path: Path) -> dict[str, Any]:
    """Our reading and check: every row with its verdict, nothing stored."""
    from catalog.spreadsheets.checking.instruments import InstrumentCheck
    from catalog.spreadsheets.workbook.reading import read_workbook

    def read_and_check() -> int:
        under_way = InstrumentCheck(read_workbook(path.read_bytes(), path.name), {})
        return sum(row.goes_in for row in under_way.rows())

    return {"seconds": {"check": _timed(read_and_check)}}


def batch(path: Path) -> dict[str, Any]:
    """The whole way of the web: propose, check with near-duplicates, store, apply, revert."""
    from catalog.models import Change, Instrument, SpreadsheetBatch
    from catalog.spreadsheets.batches.verbs import run

    data = path.read_bytes()
    one = SpreadsheetBatch.objects.create(file_name=path.name, sha256="-", content=data, by="b")
    seconds = {"look": _timed(lambda: run(one.pk, "look"))}
    seconds["check"] = _timed(lambda: run(one.pk, "check"))
    SpreadsheetBatch.objects.update(
        selection={"groups": ["new", "changed"]}, applied_by="b", state="applying"
    )
    seconds["commit"] = _timed(lambda: run(one.pk, "apply"))
    rows, changes = Instrument.objects.count(), Change.objects.count()
    seconds["revert"] = _timed(lambda: run(one.pk, "revert"))
    assert not Instrument.objects.exists()
    return {"seconds": seconds, "rows": rows, "changes": changes}


def peer(path: Path) -> dict[str, Any]:
    """The same columns by django-import-export as its documentation shows: dry run, then import."""
    import tablib
    from import_export import resources

    from catalog.models import Instrument
    from tests.bench.lists.big_list import HEADINGS

    names = ("item_number", "name", "group", "maker", "maker_catalog_number", "length_mm",
             "width_mm", "weight_g", "notes", "ifu_reference")  # fmt: skip

    class InstrumentResource(resources.ModelResource):  # type: ignore[misc]
        def before_import_row(self, row: Any, **kwargs: Any) -> None:
            weight = str(row["weight_g"])
            if weight.endswith(" oz"):
                row["weight_g"] = round(float(weight[:-3]) * 28.349523125, 1)
            for name in ("notes", "ifu_reference"):
                row[name] = row[name] or ""

        class Meta:
            model = Instrument
            import_id_fields = ("item_number",)
            fields = names

    resource_ = InstrumentResource()

    def load_and_try() -> Any:
        data = tablib.Dataset().load(path.read_bytes(), format="xlsx")
        assert tuple(data.headers or ()) == HEADINGS
        data.headers = list(names)
        assert not resource_.import_data(data, dry_run=True).has_errors()
        return data

    loaded: list[Any] = []
    seconds = {"read and dry run": _timed(lambda: loaded.append(load_and_try()))}
    seconds["import"] = _timed(lambda: resource_.import_data(loaded[0], dry_run=False))
    return {"seconds": seconds, "rows": Instrument.objects.count()}


def _timed(work: Callable[[], object]) -> tuple[float, float]:
    """Seconds on the clock, and of the processor."""
    start, used = time.perf_counter(), time.process_time()
    work()
    return time.perf_counter() - start, time.process_time() - used


def _told(found: dict[str, Any]) -> str:
    times = found["seconds"].items()
    told = ", ".join(f"{name} {wall:.1f} s ({cpu:.1f})" for name, (wall, cpu) in times)
    return f"{told}; peak {found['peak_mb']} MB"


def _step(name: str, path: Path) -> None:
    """Run in the child: one step, its figures as JSON on the last line."""
    import django
    from django.core.management import call_command

    django.setup()
    if name in ("batch", "peer"):
        call_command("migrate", verbosity=0)
    found = {"raw": raw, "check": check, "batch": batch, "peer": peer}[name](path)
    found["peak_mb"] = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
    print(json.dumps(found))


def _run(name: str, path: Path, folder: Path) -> dict[str, Any]:
    database = folder / f"{name}-{path.stem}.sqlite3"
    environment = {**os.environ, **ENVIRONMENT, "DATABASE_URL": f"sqlite:///{database}"}
    command = [sys.executable, __file__, "--step", name, "--file", str(path)]
    done = subprocess.run(command, env=environment, capture_output=True, text=True, check=False)
    if done.returncode:
        raise SystemExit(f"{name} failed:\n{done.stderr}")
    return dict(json.loads(done.stdout.splitlines()[-1]))


def _compare(rows: int, folder: Path, with_peer: bool) -> None:
    path = folder / f"list-{rows}.xlsx"
    write(path, rows)
    _say(f"{rows:,} rows x 10 columns, {path.stat().st_size / 1e6:.1f} MB")
    floor = _run("raw", path, folder)
    _say(f"openpyxl, read-only, raw values: {_told(floor)}")
    ours = _run("check", path, folder)
    ratio = ours["seconds"]["check"][1] / floor["seconds"]["read"][1]
    _say(f"our check: {_told(ours)}")
    _say(f"  {ratio:.2f} times the raw read (goal at most 1.0)")
    full = _run("batch", path, folder)
    _say(f"as a batch, stored, with likeness of names: {_told(full)}")
    _say(f"  {full['rows']:,} rows went in, {full['changes']:,} changes on record")
    if with_peer:
        other = _run("peer", path, folder)
        _say(f"django-import-export: {_told(other)}")
        mine = full["seconds"]["check"][1] + full["seconds"]["commit"][1]
        theirs = sum(cpu for _, cpu in other["seconds"].values())
        alone = other["seconds"]["import"][1]
        _say(f"  our stored check and commit take {mine / theirs:.2f} of its dry run and import "
             f"(goal at most 0.33), {mine / alone:.2f} of its import alone")  # fmt: skip


def _say(line: str) -> None:
    print(line, flush=True)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rows", type=int, default=ROWS)
    parser.add_argument("--one-size", action="store_true", help="leave the fifth of it out")
    parser.add_argument("--no-peer", action="store_true", help="leave django-import-export out")
    parser.add_argument("--step", help=argparse.SUPPRESS)
    parser.add_argument("--file", type=Path, help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.step:
        _step(options.step, options.file)
        return
    with tempfile.TemporaryDirectory() as folder:
        if not options.one_size:
            _compare(options.rows // 5, Path(folder), with_peer=False)  # For the memory's sake.
        _compare(options.rows, Path(folder), with_peer=not options.no_peer)


if __name__ == "__main__":
    main()
