"""A 50,000 x 10 master list: raw reading, our check, our commit, and django-import-export.

Run as ``PYTHONPATH=. python tests/bench/bench_import.py`` after ``pip install -e '.[bench]'``;
``--rows N`` takes another length. Everything reads the same generated file, each step in a
process of its own, so that one's memory is not another's; SQLite databases are new ones.
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

from tests.bench.big_list import write

ROWS = 50_000
ENVIRONMENT = {"DJANGO_SETTINGS_MODULE": "config.settings.development", "DEBUG": "False"}


def raw(path: Path) -> dict[str, Any]:
    """openpyxl's read-only iteration over every value: the floor."""
    import openpyxl

    start = time.perf_counter()
    book = openpyxl.load_workbook(path, read_only=True, data_only=True)
    rows = sum(1 for sheet in book for _ in sheet.iter_rows(values_only=True))
    return {"seconds": time.perf_counter() - start, "rows": rows - 1}


def check(path: Path) -> dict[str, Any]:
    """Our reading and check: every row with its verdict, nothing stored."""
    from catalog.spreadsheets.checking import InstrumentCheck
    from catalog.spreadsheets.reading import read_workbook

    start = time.perf_counter()
    under_way = InstrumentCheck(read_workbook(path.read_bytes(), path.name), {})
    rows = sum(row.goes_in for row in under_way.rows())
    return {"seconds": time.perf_counter() - start, "rows": rows}


def batch(path: Path) -> dict[str, Any]:
    """The whole way of the web: propose, check with near-duplicates, store, apply, revert."""
    from catalog.models import Change, Instrument, SpreadsheetBatch
    from catalog.spreadsheets.batches import run

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
    from django.conf import settings

    settings.INSTALLED_APPS  # noqa: B018  The settings are read before its own are.
    from import_export import resources

    from catalog.models import Instrument
    from tests.bench.big_list import HEADINGS

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

    start = time.perf_counter()
    data = tablib.Dataset().load(path.read_bytes(), format="xlsx")
    assert tuple(data.headers or ()) == HEADINGS
    data.headers = list(names)
    resource_ = InstrumentResource()
    dry = resource_.import_data(data, dry_run=True)
    assert not dry.has_errors()
    middle = time.perf_counter()
    done = resource_.import_data(data, dry_run=False)
    assert not done.has_errors()
    end = time.perf_counter()
    return {
        "seconds": {"read and dry run": middle - start, "import": end - middle},
        "rows": Instrument.objects.count(),
    }


def _timed(work: Callable[[], object]) -> float:
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


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
    print(f"{rows:,} rows x 10 columns, {path.stat().st_size / 1e6:.1f} MB")
    floor = _run("raw", path, folder)
    print(f"openpyxl, read-only, raw values: {floor['seconds']:.1f} s, {floor['peak_mb']} MB")
    ours = _run("check", path, folder)
    ratio = ours["seconds"] / floor["seconds"]
    print(f"our check: {ours['seconds']:.1f} s, {ours['peak_mb']} MB; {ratio:.2f} times the raw "
          "read (goal at most 1.6)")  # fmt: skip
    full = _run("batch", path, folder)
    told = ", ".join(f"{name} {seconds:.1f} s" for name, seconds in full["seconds"].items())
    print(f"as a batch: {told}; {full['rows']:,} rows, {full['changes']:,} changes on record, "
          f"{full['peak_mb']} MB")  # fmt: skip
    if with_peer:
        other = _run("peer", path, folder)
        told = ", ".join(f"{name} {seconds:.1f} s" for name, seconds in other["seconds"].items())
        print(f"django-import-export: {told}; {other['rows']:,} rows, {other['peak_mb']} MB")
        mine = full["seconds"]["check"] + full["seconds"]["commit"]
        theirs = sum(other["seconds"].values())
        print(f"stored check plus commit: {mine:.1f} s, {mine / theirs:.2f} of its "
              f"{theirs:.1f} s (goal at most 0.33); of its import alone "
              f"{mine / other['seconds']['import']:.2f}")  # fmt: skip


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rows", type=int, default=ROWS)
    parser.add_argument("--no-peer", action="store_true", help="leave django-import-export out")
    parser.add_argument("--step", help=argparse.SUPPRESS)
    parser.add_argument("--file", type=Path, help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.step:
        _step(options.step, options.file)
        return
    with tempfile.TemporaryDirectory() as folder:
        _compare(options.rows // 5, Path(folder), with_peer=False)  # For the memory's sake.
        _compare(options.rows, Path(folder), with_peer=not options.no_peer)


if __name__ == "__main__":
    main()
