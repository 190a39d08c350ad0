"""Send every address and every form what nobody would send: no answer may be an error of ours.

Run as ``python -m tests.fuzz``, with ``--requests`` (5,000 on each database), ``--seed`` and
``--on sqlite``. In this process, on a database of its own with some of everything, which is put
back as it was every so often: what was sent changes it. Ends with 1 where an answer was 500 or
more; each is printed with what was sent.
"""

from __future__ import annotations

import logging
import os
import sys
import tempfile
import time
import warnings
from argparse import ArgumentParser
from collections import Counter
from typing import TYPE_CHECKING

from tests import databases

if TYPE_CHECKING:
    from tests.fuzz.sending import Fuzz

BEFORE_ANEW = 500
"""Requests until the hospital is as it was: by then little of it stands open."""
ENVIRONMENT = {"DJANGO_SETTINGS_MODULE": "config.settings.test", "TIME_ZONE": "Europe/London"}
"""In a zone with hours that are not there, and hours that are there twice."""


def on(kind: str, requests: int, seed: int) -> bool:
    """Whether no answer was an error, on a new database of this kind."""
    with databases.new(kind) as url, tempfile.TemporaryDirectory() as folder:
        os.environ |= {**ENVIRONMENT, "DATABASE_URL": url}
        import django

        django.setup()
        logging.disable()
        warnings.simplefilter("error", RuntimeWarning)  # naive times; locks out of order
        from django.conf import settings
        from django.db import connection

        from tests.factories.hospital import a_hospital
        from tests.fuzz.sending import Fuzz

        settings.PRINT_FOLDER = folder
        fuzz = Fuzz(a_hospital(), seed)
        connection.close()
        databases.keep(url)
        began = time.perf_counter()
        for start in range(0, requests, BEFORE_ANEW):
            fuzz.run(min(BEFORE_ANEW, requests - start))
            connection.close()
            databases.put_back(url)
    told(kind, fuzz, time.perf_counter() - began)
    return not fuzz.breaches


def told(kind: str, fuzz: Fuzz, took: float) -> None:
    of_each = Counter(turn.split()[0] for turn in fuzz.times)
    print(f"\n{kind}: {fuzz.statuses.total():,} requests in {took:.0f} s, seed {fuzz.seed}")
    print("  " + ", ".join(f"{count} {of}" for of, count in of_each.items()) + " kinds of turn,")
    print(f"  each sent at least {min(fuzz.times.values())} times")
    print("  " + ", ".join(f"{code}: {times}" for code, times in sorted(fuzz.statuses.items())))
    print(f"  slowest {fuzz.slowest[0]:.1f} s: {fuzz.slowest[1]}")
    for number, one in enumerate(fuzz.breaches, start=1):
        print(f"\n{number}. {one.status} to {one.who}: {one.sent}\n{one.trace}")
    print(f"  answered with an error of ours: {len(fuzz.breaches)}", flush=True)


if __name__ == "__main__":
    parser = ArgumentParser(description=__doc__)
    parser.add_argument("--requests", type=int, default=5_000)
    parser.add_argument("--seed", type=int, default=int(time.time()))
    given = databases.asked(parser)
    if not given.on:
        sys.exit(databases.each("tests.fuzz"))
    sys.exit(not on(given.on, given.requests, given.seed))
