"""Thirty benches count and ten liaisons ask, all at once, on a department's server.

Run as ``python -m tests.load``, on a SQLite file and on a PostgreSQL server of its own, or ``--on``
one of them; ``--seconds`` (60 on each), ``--benches``, ``--liaisons``. The server is README's,
the settings are a department's. Ends with 1 where anything was answered with an error, lost,
counted twice or written half, or where a count takes more than three times a bare page (95th
percentiles of the same run).
"""

from __future__ import annotations

import os
import sys
import tempfile
from argparse import ArgumentParser
from pathlib import Path

from tests import databases
from tests.served.server import environment, line_of_readme


def on(kind: str, seconds: float, benches: int, liaisons: int) -> bool:
    """Whether it held on a new database of this kind."""
    with databases.new(kind) as url, tempfile.TemporaryDirectory() as folder:
        os.environ |= environment(url, Path(folder))
        import django

        django.setup()
        from tests.load.working import table, work

        worked = work(url, Path(folder), seconds, benches, liaisons)
    print(f"\n{kind}: {benches} benches, {liaisons} liaisons, {seconds:g} s, "
          f"gunicorn {' '.join(line_of_readme())}\n{table(worked)}", flush=True)  # fmt: skip
    return not worked.breached


if __name__ == "__main__":
    parser = ArgumentParser(description=__doc__)
    parser.add_argument("--seconds", type=float, default=60)
    parser.add_argument("--benches", type=int, default=30)
    parser.add_argument("--liaisons", type=int, default=10)
    given = databases.asked(parser)
    if not given.on:
        sys.exit(databases.each("tests.load"))
    sys.exit(not on(given.on, given.seconds, given.benches, given.liaisons))
