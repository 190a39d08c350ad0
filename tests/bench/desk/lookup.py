"""The look-up among so many instruments and among more: ``python -m tests.bench.desk.lookup``.

Among 10,000 and 100,000, or two numbers that are named, with a set to each twenty of them, on
SQLite and on PostgreSQL where it is there. Names are of invented words, more of them the longer
the list. For each question: the page that answers it and the look-up alone, in ms of processor
time, that of the database's server too. Both departments are asked in turns, a process each, and
the medians compared, so that what else the machine does falls on both. Before that: what the first
question of a process takes, and the first after a name changed.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from random import Random
from statistics import median
from typing import Any

from tests import machine, postgres

TURNS = 25
MOST_TIMES = 1.3
"""As point 3 of the plan for scale has it: among ten times as many."""
RIGHT = ("HF-105000", "needle holder", "needle holder 6 in", "fenestrated")
WRONG = ("aldersike sissors", "forsceps", "needel holder", "carling dissecting forsceps 120",
         "mosquito artery fortceps", "needel holder 6 in", "xyzzy", "HF105000")  # fmt: skip
PARTS = ("al", "bir", "car", "dun", "esk", "fell", "gar", "hart", "kirk", "low", "mel", "nor",
         "os", "pen", "ros", "syke", "thwa", "ul", "wan", "yew")  # fmt: skip


def name_word(random: Random, rows: int) -> str:
    """An invented word, the early ones often; the longer the list, the more there are of them."""
    number = int(random.random() ** 3 * 30 * rows**0.5)
    word = ""
    while number or not word:
        number, at = divmod(number, len(PARTS))
        word += PARTS[at]
    return word.capitalize()


def fill(rows: int) -> None:
    """So many instruments, as the generated master list has them, and a twentieth of sets."""
    from catalog.models import Instrument, InstrumentSet, names_changed
    from tests.bench.lists.big_list import _row

    random = Random(20)
    columns = ("item_number", "name", "group", "maker", "maker_catalog_number", "length_mm")
    begun, last = Instrument.objects.count(), rows
    for first in range(begun, last, 5000):
        made = [dict(zip(columns, _row(number, random), strict=False))
                for number in range(first, min(first + 5000, last))]  # fmt: skip
        for one in made:
            one["name"] = f"{name_word(random, rows)} {one['name']}"
        Instrument.objects.bulk_create(Instrument(**one) for one in made)
    InstrumentSet.objects.bulk_create(
        InstrumentSet(code=f"BS-{number}", name=f"{name_word(random, rows)} set {number}",
                      service=name_word(random, 100))
        for number in range(begun // 20, last // 20)
    )  # fmt: skip
    for model in (Instrument, InstrumentSet):
        names_changed(model._meta.model_name, model.objects.values_list("pk", flat=True))


def spent() -> float:
    """Seconds of processor time of this process, and of the server's that answers it."""
    from django.db import connection

    if connection.vendor == "sqlite":
        return time.process_time()
    behind = Path(f"/proc/{connection.connection.info.backend_pid}/schedstat")
    return time.process_time() + int(behind.read_text().split()[0]) / 1e9


def took(work: Callable[[], Any]) -> float:
    began = spent()
    work()
    return (spent() - began) * 1000


def resident() -> float:
    """MB of this process."""
    pages = int(Path("/proc/self/statm").read_text().split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE") / 1e6


def answer(count: int) -> None:
    """A department of so many in the database that ``DATABASE_URL`` names, made where it is empty:
    for each line read, a question, what its page and the look-up alone took."""
    import django
    from django.core.management import call_command

    django.setup()
    from django.contrib.auth.models import User
    from django.db import connection
    from django.test import Client

    from catalog.lookup.finding import find
    from catalog.models import Instrument

    call_command("migrate", verbosity=0)
    client = Client()
    client.force_login(User.objects.create_superuser(f"coordinator {os.getpid()}"))
    client.get("/find/?q=before")
    fill(count)
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")
    before, first = resident(), took(lambda: find("firsst"))
    Instrument.objects.all()[count // 2].save()
    print(f"{connection.vendor}, {count:,} instruments: first question {first:.0f} ms and "
          f"{resident() - before:.0f} MB, after a change {took(lambda: find('firsst')):.0f} ms",
          flush=True)  # fmt: skip
    for line in sys.stdin:
        words = line.rstrip("\n")
        page = took(lambda: client.get("/find/", {"q": words}))  # noqa: B023
        print(page, took(lambda: find(words)), flush=True)  # noqa: B023


def measure(urls: list[str], counts: list[int]) -> None:
    """The same questions to a department in each database, in turns."""
    started = []
    for url, count in zip(urls, counts, strict=True):
        one = subprocess.Popen(
            [sys.executable, "-m", "tests.bench.desk.lookup", "--answer", str(count)],
            env={"DJANGO_SETTINGS_MODULE": "config.settings.test", **os.environ,
                 "DATABASE_URL": url},
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
        )  # fmt: skip
        print(_line(one), flush=True)
        started.append(one)
    for words in (*RIGHT, *WRONG):
        taken: list[list[list[float]]] = [[] for _ in started]
        for turn in range(TURNS):
            # Whoever is asked first finds what the other left of the processor's memory.
            for place in (range(len(started)), reversed(range(len(started))))[turn % 2]:
                print(words, file=started[place].stdin, flush=True)
                taken[place].append([float(part) for part in _line(started[place]).split()])
        (page, alone), (more, more_alone) = ([median(one) for one in zip(*each, strict=True)]
                                             for each in taken)  # fmt: skip
        print(f"{words:34} page {page:7.1f} {more:7.1f} ms, {more / page:5.2f} times (goal "
              f"{MOST_TIMES}); alone {alone:7.1f} {more_alone:7.1f} ms, "
              f"{more_alone / alone:5.2f} times", flush=True)  # fmt: skip
    for one in started:
        one.communicate()


def _line(one: subprocess.Popen[str]) -> str:
    if one.stdout is None or not (said := one.stdout.readline()):
        raise RuntimeError("A department ended before it answered")
    return said.strip()


def databases() -> Iterator[list[str]]:
    """Two new ones of each kind."""
    with tempfile.TemporaryDirectory() as folder:
        yield [f"sqlite:///{Path(folder) / name}.sqlite3" for name in ("few", "many")]
    if machine.has("PostgreSQL"):
        with (
            postgres.server() as few,
            tempfile.TemporaryDirectory() as folder,
            postgres.Cluster(folder, "-c fsync=off") as many,
        ):
            yield [few, many.url]


def main(counts: list[int]) -> None:
    for urls in databases():
        measure(urls, counts)


if __name__ == "__main__":
    if sys.argv[1:2] == ["--answer"]:
        answer(int(sys.argv[2]))
    else:
        main([int(one) for one in sys.argv[1:]] or [10_000, 100_000])
