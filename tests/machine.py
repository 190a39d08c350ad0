"""What the machine has beside Python, which some tests need (``@pytest.mark.needs(...)``).

Where it is missing they are skipped by name. In CI nothing is skipped: there a skip fails.
"""

from __future__ import annotations

import ctypes.util
import os
import shutil
import socket
from collections import Counter
from collections.abc import Iterable
from pathlib import Path

IN_CI = os.environ.get("CI", "").lower() in ("1", "true", "yes")
POSTGRES_URL = "TEST_DATABASE_URL"
"""The variable that names a PostgreSQL server which runs already."""
HOW_TO_GET = {
    "chromium": "apt-get install chromium",
    "ZBar": "apt-get install libzbar0",
    "PostgreSQL": f"apt-get install postgresql, or name a server in {POSTGRES_URL}",
}

WANT = "for want of "
"""What the reason of such a skip begins with; the need follows."""


def chromium_path(*, viewer: bool = False) -> str | None:
    """Debian's chromium; None where there is none.

    The one without windows where it is installed, as it opens a page in a third of the time; with
    ``viewer`` never that one, which shows no PDF.
    """
    names = ("chromium-headless-shell", "chromium", "chromium-browser")
    return next(filter(None, map(shutil.which, names[viewer:])), None)


def postgres_programs() -> Path | None:
    """The folder of initdb and pg_ctl, which Debian keeps off the path; None for none."""
    on_path = shutil.which("initdb")
    found = [Path(on_path)] if on_path else sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"))
    return found[-1].parent if found else None


def has(need: str) -> bool:
    """Whether this machine has it. KeyError for what is no key of ``HOW_TO_GET``."""
    look = {
        "chromium": lambda: chromium_path(viewer=True),
        "ZBar": lambda: ctypes.util.find_library("zbar"),
        "PostgreSQL": lambda: os.environ.get(POSTGRES_URL) or postgres_programs(),
    }
    return bool(look[need]())


def told(reasons: Iterable[str]) -> str:
    """One line on what was not run, from the reasons of all skipped tests; empty for none."""
    counts = Counter(reason.partition(WANT)[2] for reason in reasons)
    parts = [f"{need} ({counts[need]}; {how})" for need, how in HOW_TO_GET.items() if counts[need]]
    return f"Tests skipped for want of {'; '.join(parts)}." if parts else ""


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])
