"""The chain of digests among many packages: ``python -m tests.bench.desk.chain 20000``.

How long all of it takes to verify, what an entry takes on the disk, and what recording a package
costs more: with guards than without, and while somebody else seals. On SQLite, and on PostgreSQL
where it is there."""

from __future__ import annotations

import statistics
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

from tests.bench.desk.packages import beside

PACKED = 40
MOST_BYTES = 100


Took = tuple[float, float]
"""Seconds by the clock, and of this process's own."""


def timed(what: Callable[[], Any]) -> tuple[Took, Any]:
    began = time.perf_counter(), time.process_time()
    found = what()
    return (time.perf_counter() - began[0], time.process_time() - began[1]), found


def packing() -> list[Took]:
    """How long each of so many single packages took, recorded one by one."""
    from catalog.models import Instrument
    from tests.factories import requests as ask

    instrument = Instrument.objects.get(item_number="HF-1042")
    return [timed(lambda: ask.a_package_to_seal(instrument))[0] for _ in range(PACKED)]


@contextmanager
def sealing_meanwhile() -> Iterator[None]:
    """Somebody else has all of the records to seal."""
    from django.db import connection

    from catalog.chain import sealing

    stop = threading.Event()

    def seal() -> None:
        while not stop.is_set():
            sealing.seal_all()
        connection.close()

    other = threading.Thread(target=seal)
    other.start()
    yield
    stop.set()
    other.join()


def told(name: str, times: list[Took]) -> str:
    clock, own = ([1000 * one[which] for one in times] for which in (0, 1))
    high = statistics.quantiles(clock, n=20)[-1]
    return (f"{name} {statistics.median(clock):.1f} ms (95 %: {high:.1f}), "
            f"{statistics.median(own):.1f} of processor")  # fmt: skip


def measure(count: int) -> None:
    """In the database that ``DATABASE_URL`` names, which is empty."""
    import django
    from django.core.management import call_command

    django.setup()
    from django.db import connection

    from catalog.chain import guards, verifying
    from catalog.models import ChainSeal
    from config import demo
    from tests.bench.desk.many_packages import Department, of_the_demo

    call_command("migrate", verbosity=0)
    demo.load(lambda _: None, day=False)
    department = Department(of_the_demo, count)
    department.grow(count)
    took, found = timed(verifying.verify)
    kept = sum(len(one.entries) + 32 + 40 for one in ChainSeal.objects.all())
    print(f"{connection.vendor}: {department.count:,} packages, {found.entries:,} entries in "
          f"{found.seals:,} seals verified in {took[0]:.1f} s ({took[1]:.1f} of processor), "
          f"{len(found.wrong)} wrong; "
          f"{kept / found.entries:.1f} bytes an entry (goal {MOST_BYTES})", flush=True)  # fmt: skip
    packing()
    alone = packing()
    with sealing_meanwhile():
        beside_it = packing()
    guards.lift_guards(connection)
    bare = packing()
    guards.set_guards(connection)
    print(f"{connection.vendor}: recorded {told('without guards', bare)}; {told('with', alone)}; "
          f"{told('while somebody seals', beside_it)}", flush=True)  # fmt: skip


if __name__ == "__main__":
    if sys.argv[1:2] == ["--here"]:
        measure(int(sys.argv[2]))
    else:
        beside("tests.bench.desk.chain", sys.argv[1:] or ["20000"])
