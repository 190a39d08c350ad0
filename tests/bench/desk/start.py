"""What a command that only reads takes beside Django itself: ``python -m tests.bench.desk.start``.

Seconds of processor time of a process of its own, user and system, the least of seven; the bare
process does ``django.setup()`` with our settings and ends. On the demo's catalog.
"""

from __future__ import annotations

import os
import resource
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

from tests import migrated

RUNS, GOAL = 7, 1.2
BARE = ("-c", "import django; django.setup()")
COMMANDS = (("recommend", "HF-1042"), ("recommend", "HF-S01"), ("policy",))


def seconds(*command: str) -> float:
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run([sys.executable, *command], check=True, stdout=subprocess.DEVNULL)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def main() -> None:
    os.environ["DJANGO_SETTINGS_MODULE"] = "config.settings.development"
    with tempfile.TemporaryDirectory() as folder:
        database = Path(folder) / "start.sqlite3"
        shutil.copy(migrated.file(), database)
        os.environ["DATABASE_URL"] = f"sqlite:///{database}"
        load = "from config import demo; demo.load(lambda _: None, day=False)"
        subprocess.run([sys.executable, "-c", f"{BARE[1]}; {load}"], check=True)
        bare, took = [], dict[tuple[str, ...], list[float]]()
        for _ in range(RUNS):
            bare.append(seconds(*BARE))
            for command in COMMANDS:
                took.setdefault(command, []).append(seconds("manage.py", *command))
    for command, times in took.items():
        print(f"{' '.join(command)}: {min(times):.2f} s, django.setup() {min(bare):.2f} s, "
              f"{min(times) / min(bare):.2f} times (goal {GOAL})")  # fmt: skip


if __name__ == "__main__":
    main()
