"""Bytes a package, and pages among many: ``python -m tests.bench.desk.packages 20000``.

On SQLite, and on PostgreSQL where it is there; after ``--on postgresql`` on that alone. With a
second number, the pages that ask for one package, set or code, among so many packages and then
among so many: ``python -m tests.bench.desk.packages 2000 200000``; the least of nine, in ms by the
clock.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING

from tests import machine, postgres

if TYPE_CHECKING:
    from django.test import Client

    from tests.bench.desk.many_packages import Department

RUNS = 9
MOST_BYTES, MOST_TIMES = 6144, 1.3
"""At most 6 KB a package, and 1.3 times the time among a hundred times as many."""


def size() -> int:
    """Bytes of the whole database."""
    from django.db import connection

    sqlite = "SELECT page_count * page_size FROM pragma_page_count(), pragma_page_size()"
    server = "SELECT pg_database_size(current_database())"
    with connection.cursor() as cursor:
        cursor.execute(sqlite if connection.vendor == "sqlite" else server)
        return int(cursor.fetchone()[0])


def biggest() -> str:
    """What takes most, table by table with its indexes: PostgreSQL alone tells it."""
    from django.db import connection

    if connection.vendor == "sqlite":
        return ""
    with connection.cursor() as cursor:
        cursor.execute("SELECT relname, pg_total_relation_size(oid) FROM pg_class WHERE "
                       "relkind = 'r' ORDER BY 2 DESC LIMIT 8")  # fmt: skip
        return ", ".join(f"{name} {taken / 1e6:.0f} MB" for name, taken in cursor.fetchall())


def addresses(department: Department) -> Iterator[str]:
    from tests.bench.desk.many_packages import SETS

    whole, single = department.packages[0], department.packages[SETS]
    yield f"/packages/{single.code}/"
    yield f"/packages/{single.code}/label.pdf"
    yield f"/packages/{whole.code}/"
    yield f"/sets/{whole.number}/"
    yield f"/find/?q={single.code.lower()}"
    yield f"/find/?q={single.number.lower()}"


def least_ms(client: Client, address: str) -> float:
    took = []
    for _ in range(RUNS):
        began = time.perf_counter()
        answer = client.get(address)
        if answer.status_code not in (200, 302):
            raise RuntimeError(f"{address} answered {answer.status_code}")
        answer.close()
        took.append((time.perf_counter() - began) * 1000)
    return min(took)


def measure(counts: list[int]) -> None:
    """In the database that ``DATABASE_URL`` names, which is empty."""
    import django
    from django.core.management import call_command

    django.setup()
    from django.contrib.auth.models import User
    from django.db import connection
    from django.test import Client

    from config import demo
    from tests.bench.desk.many_packages import Department, of_the_demo

    call_command("migrate", verbosity=0)
    demo.load(lambda _: None, day=False)
    department = Department(of_the_demo, counts[-1])
    client, before, found = Client(), size(), []
    client.force_login(User.objects.get(username="coordinator"))
    for count in counts:
        department.grow(count)
        of_each = (size() - before) / (department.count - len(department.packages))
        print(f"{connection.vendor}: {department.count:,} packages, {size() / 1e6:.1f} MB in all, "
              f"{of_each:,.0f} bytes a package (goal {MOST_BYTES:,}). {biggest()}",
              flush=True)  # fmt: skip
        if len(counts) > 1:
            found.append({one: least_ms(client, one) for one in addresses(department)})
    for few, many in pairwise(found):
        for one, took in few.items():
            print(f"{one:42}{took:8.1f} ms {many[one]:8.1f} ms, {many[one] / took:.2f} times "
                  f"(goal {MOST_TIMES})")  # fmt: skip


def beside(module: str, given: list[str]) -> None:
    """Measured in databases of its own, in a process each: SQLite, then PostgreSQL; or the one that
    is named after ``--on``."""
    on, counts = (given[1], given[2:]) if given[0] == "--on" else ("", given)
    command = [sys.executable, "-m", module, "--here", *counts]
    env = {"DJANGO_SETTINGS_MODULE": "config.settings.test", **os.environ}
    if on != "postgresql":
        with tempfile.TemporaryDirectory() as folder:
            url = f"sqlite:///{Path(folder) / 'packages.sqlite3'}"
            subprocess.run(command, check=True, env=env | {"DATABASE_URL": url})
    if on != "sqlite" and machine.has("PostgreSQL"):
        with postgres.server() as url:
            subprocess.run(command, check=True, env=env | {"DATABASE_URL": url})


if __name__ == "__main__":
    if sys.argv[1:2] == ["--here"]:
        measure([int(one) for one in sys.argv[2:]])
    else:
        beside("tests.bench.desk.packages", sys.argv[1:] or ["20000"])
