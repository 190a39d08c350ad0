"""How long a look-up takes among so many instruments: ``python -m tests.bench.bench_lookup``.

An in-memory SQLite database, the median of five, in ms of processor time.
"""

from __future__ import annotations

import os
import statistics
import sys
import time
from random import Random

ROWS = 10_000
WORDS = (
    "HF-105000", "aldersyke scissors", "needle holder", "carling dissecting forceps, 120",
    "needle holder 6 in", "aldersike sissors", "nothing alike", "mosquito artery forceps",
)  # fmt: skip


def fill(rows: int) -> None:
    """So many instruments, as the generated master list has them."""
    from catalog.models import Instrument
    from tests.bench.big_list import _row

    random = Random(20)
    names = ("item_number", "name", "group", "maker", "maker_catalog_number", "length_mm")
    made = (dict(zip(names, _row(number, random), strict=False)) for number in range(rows))
    Instrument.objects.bulk_create(Instrument(**one) for one in made)


def median_ms(words: str) -> float:
    from catalog.lookup.finding import find

    took = []
    for _ in range(5):
        began = time.process_time()
        find(words)
        took.append((time.process_time() - began) * 1000)
    return statistics.median(took)


def main(rows: int) -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings.test")
    import django
    from django.core.management import call_command

    django.setup()
    call_command("migrate", verbosity=0)
    fill(rows)
    for words in WORDS:
        print(f"{words:34}{median_ms(words):8.1f} ms")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else ROWS)
