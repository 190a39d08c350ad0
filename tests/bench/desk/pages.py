"""Bytes and time of the largest pages, plain and compressed: ``python -m tests.bench.desk.pages``.

Where there are so many of everything: 40, or as many as are named. The least of five, in ms of
processor time.
"""

from __future__ import annotations

import os
import shutil
import sys
import tempfile
import time
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tests import migrated

if TYPE_CHECKING:
    from django.test import Client

RUNS, LARGEST = 5, 10


def asked(client: Client, address: str, **headers: str) -> tuple[int, float]:
    """Bytes of the answer, and the least time it took."""
    took, answer = [], None
    for _ in range(RUNS):
        began = time.process_time()
        answer = client.get(address, headers=headers)
        took.append((time.process_time() - began) * 1000)
    if answer.status_code != 200:
        raise RuntimeError(f"{address} answered {answer.status_code}")
    return len(answer.content), min(took)


def measure(count: int) -> None:
    """In the database that ``DATABASE_URL`` names, which has its tables and nothing else."""
    import django

    django.setup()
    from django.contrib.auth.models import User
    from django.test import Client, override_settings

    from tests.addresses import concrete, states
    from tests.factories.hospital import a_hospital

    with override_settings(PRINT_FOLDER=tempfile.mkdtemp()):
        rows, client = a_hospital(count), Client()
    client.force_login(User.objects.create_superuser("bench"))
    pages = [concrete(path, rows) + state for kind in ("page", "part")
             for path, state in states(kind)]  # fmt: skip
    sizes: dict[str, Any] = {}
    for page in pages:
        answer = client.get(page)
        if answer.status_code == 200 and not answer.streaming and (
            answer.headers["Content-Type"].startswith("text/html")
        ):  # fmt: skip
            sizes[page] = len(answer.content)
    for page in sorted(sizes, key=sizes.__getitem__, reverse=True)[:LARGEST]:
        plain, small = asked(client, page), asked(client, page, accept_encoding="gzip")
        print(f"{page:44}{plain[0]:10,} bytes {small[0]:8,} ({plain[0] / small[0]:4.1f} times less)"
              f"{plain[1]:8.1f} ms {small[1]:8.1f} ms (+{small[1] - plain[1]:.1f})",
              flush=True)  # fmt: skip


def main(count: int) -> None:
    os.environ["DJANGO_SETTINGS_MODULE"] = "config.settings.test"
    with tempfile.TemporaryDirectory() as folder:
        database = Path(folder) / "pages.sqlite3"
        shutil.copy(migrated.file(), database)
        os.environ["DATABASE_URL"] = f"sqlite:///{database}"
        os.environ["MEDIA_ROOT"] = folder
        measure(count)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 40)
