"""Exports against the bare ``csv.writer``, and every address, at 10,000 instruments.

``python -m tests.bench.desk.exports [instruments]``: a department of 10,000 instruments, a set of
40 lines for each twenty, two packages for each, where nothing is said. Seconds of processor time:
other work on the machine only adds to it, so each is the least of five, in turns with the bare
writer. An export is timed from the request to its last byte, the bare writer from the query to the
last byte of the same rows; of *Records* both work out the same differences, and of the whole
catalog both read all its tables, cycles and substitutes too. Then every address that answers GET is
asked once as a coordinator, cold, and what takes longest is told: no request may take more than
2 s. What runs beside the web server is timed apart.
"""

from __future__ import annotations

import csv
import io
import os
import shutil
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from itertools import cycle, islice
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tests import migrated

if TYPE_CHECKING:
    from django.test import Client

RUNS, LINES, A_SET, PACKAGES_EACH = 5, 40, 20, 2
MOST_TIMES, MOST_S, TOLD = 3.0, 2.0, 12


def in_turns(*works: Callable[[], object]) -> list[float]:
    """Seconds of each, the least of all runs."""
    took: list[list[float]] = [[] for _ in works]
    for _ in range(RUNS):
        for times, work in zip(took, works, strict=True):
            began = time.process_time()
            work()
            times.append(time.process_time() - began)
    return [*map(min, took)]


def grow(instruments: int) -> None:
    """The demo's catalog so many times over, sets of 40 lines, packages, and their records."""
    from catalog.models import Container, CycleOption, Instrument, Line
    from tests.bench.desk.many_packages import Department, of_the_demo
    from tests.factories import catalog as make

    own = list(Instrument.objects.prefetch_related("cycles"))
    cycles = {one.item_number: list(one.cycles.all()) for one in own}
    for number, one in enumerate(islice(cycle(own), instruments - len(own))):
        like = one.item_number
        columns = [field.attname for field in Instrument._meta.concrete_fields]
        values = {name: getattr(one, name) for name in columns if name != "id"}
        values |= {"item_number": f"BI-{number:06}", "name": f"{one.name} {number}"}
        if "photo" in values:
            values["photo"] = ""
        made = Instrument.objects.create(**values)
        for option in cycles[like]:
            option.pk, option.instrument = None, made
            option._state.adding = True
            option.save()
    print(f"{Instrument.objects.count():,} instruments, {CycleOption.objects.count():,} cycles",
          flush=True)  # fmt: skip
    rows, full = list(Instrument.objects.all()), Container.objects.get(code="RC-FULL")
    for number in range(instruments // A_SET):
        sheet = make.CountSheet(instrument_set=make.InstrumentSet(container=full,
                                                                  code=f"BS-{number}"))  # fmt: skip
        Line.objects.bulk_create(
            Line(count_sheet=sheet, order=place, quantity=1,
                 instrument=rows[(number * A_SET + place) % len(rows)])
            for place in range(LINES)
        )  # fmt: skip
    Department(of_the_demo, instruments * PACKAGES_EACH).grow(instruments * PACKAGES_EACH)


def bare(rows: Callable[[], Iterator[Any]]) -> Callable[[], object]:
    """The same rows with nothing but the writer."""

    def work() -> int:
        out = io.StringIO()
        csv.writer(out).writerows(rows())
        return len(out.getvalue().encode())

    return work


def asked(client: Client, address: str) -> Callable[[], object]:
    def work() -> int:
        answer = client.get(address)
        if answer.status_code != 200:
            raise RuntimeError(f"{address} answered {answer.status_code}")
        return sum(map(len, answer if answer.streaming else [answer.content]))

    return work


def compare(client: Client) -> None:
    from assembly.models import Package, Shortfall
    from catalog.history import differences
    from catalog.models import Change, CycleOption, Instrument, Line
    from catalog.pages import exports
    from catalog.pages.lists import SetList

    at_once, exports.LONG_CELLS = exports.LONG_CELLS, dict.fromkeys(exports.FORMATS, sys.maxsize)

    def changes() -> Iterator[Any]:
        for one in Change.objects.iterator():
            yield one.at, one.actor, one.verb, one.kind, one.object_name, differences(one)

    found = {
        "/instruments/": lambda: Instrument.objects.values_list(
            "item_number", "name", "also_known_as", "group", "length_mm", "width_mm", "weight_g",
            "protector").iterator(),
        "/sets/": lambda: SetList().get_queryset().values_list(
            "code", "name", "service", "packed_in", "current_revision", "pieces").iterator(),
        "/records/": changes,
        "/shelf/packages/": lambda: Package.objects.filter(
            shelved__state="on shelf").values_list(
            "code", "what", "number", "shelved__place__code", "packed_at", "use_by").iterator(),
    }  # fmt: skip
    for address, rows in found.items():
        forms = ("csv", "xlsx")
        floor, *took = in_turns(
            bare(rows), *(asked(client, f"{address}?as={form}") for form in forms)
        )
        for form, ours in zip(forms, took, strict=True):
            print(f"{address}?as={form}: {ours:.2f} s, csv.writer {floor:.2f} s, "
                  f"{ours / floor:.2f} times (goal {MOST_TIMES})", flush=True)  # fmt: skip
    fields = [field.attname for field in Instrument._meta.concrete_fields]
    lines = ("order", "quantity", "section", "note", "instrument__name", "count_sheet__revision",
             "count_sheet__instrument_set__code", "count_sheet__instrument_set__name")  # fmt: skip
    ours, *floors = in_turns(
        asked(client, "/whole-catalog.xlsx"),
        bare(lambda: Instrument.objects.values_list(*fields).iterator()),
        bare(lambda: CycleOption.objects.values_list().iterator()),
        bare(lambda: Line.objects.values_list(*lines).iterator()),
        bare(lambda: Line.substitutes.through.objects.values_list().iterator()),
    )
    floor = sum(floors)
    print(f"/whole-catalog.xlsx: {ours:.2f} s, csv.writer {floor:.2f} s, {ours / floor:.2f} times "
          f"(goal {MOST_TIMES})")  # fmt: skip
    exports.LONG_CELLS = at_once
    print(f"{Change.objects.count():,} changes, {Package.objects.count():,} packages, "
          f"{Shortfall.objects.count():,} shortfalls")  # fmt: skip


def addresses(rows: dict[str, str]) -> Iterator[str]:
    """Everything that answers GET, in each state of the table, and each list in each form."""
    from reports.gathering.list_files import KINDS
    from tests.addresses import concrete, states

    for kind in ("page", "part", "file"):
        for path, question in states(kind):
            if "lists/" not in path:
                yield concrete(path, rows) + question
    for path in ("instruments/", "sets/", "records/", "shelf/packages/", "shelf/places/"):
        yield f"/{path}?as=xlsx"
    for key in KINDS:
        yield f"/papers/lists/{key}/"
        for form in ("csv", "xlsx", "pdf"):
            yield f"/papers/lists/{key}.{form}"


def walk(client: Client, rows: dict[str, str]) -> None:
    took = []
    for address in addresses(rows):
        began = time.process_time()
        answer = client.get(address)
        size = sum(map(len, answer if answer.streaming else [answer.content]))
        answer.close()
        took.append((time.process_time() - began, answer.status_code, size, address))
    over = sum(one[0] > MOST_S for one in took)
    print(f"{len(took)} addresses, {over} over {MOST_S} s; the longest:")
    for seconds, status, size, address in sorted(took, reverse=True)[: max(TOLD, over)]:
        print(f"{seconds:7.2f} s {status} {size / 1e3:9.1f} KB  {address}", flush=True)


def measure(instruments: int) -> None:
    """In the database that ``DATABASE_URL`` names, which has its tables and nothing else."""
    import django

    django.setup()
    from django.conf import settings
    from django.contrib.auth.models import User
    from django.test import Client

    from config import demo
    from tests.factories.hospital import a_hospital

    demo.load(lambda _: None, day=False)
    rows = a_hospital()
    grow(instruments)
    client = Client()
    client.force_login(User.objects.get(username="coordinator"))
    compare(client)
    settings.BACKGROUND_IN_PROCESS = False
    walk(client, rows)


def main(given: list[int]) -> None:
    os.environ["DJANGO_SETTINGS_MODULE"] = "config.settings.test"
    with tempfile.TemporaryDirectory() as folder:
        database = Path(folder) / "exports.sqlite3"
        shutil.copy(migrated.file(), database)
        os.environ |= {"DATABASE_URL": f"sqlite:///{database}", "TMPDIR": folder}
        tempfile.tempdir = folder
        measure((given or [10_000])[0])


if __name__ == "__main__":
    main([int(word) for word in sys.argv[1:]])
