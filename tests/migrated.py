"""A database with every migration applied: made once on a machine, copied by whoever needs one.

To migrate takes longer than most files of tests; each worker, demo and race wants the same.
"""

from __future__ import annotations

import fcntl
import os
import subprocess
import sys
import tempfile
from hashlib import sha256
from pathlib import Path

import django

ROOT = Path(__file__).resolve().parent.parent


def file() -> Path:
    """A SQLite file to copy, never to write in; made anew when a migration or Django changes."""
    kept = Path(tempfile.gettempdir()) / f"packbench-migrated-{_digest()}.sqlite3"
    if kept.exists():
        return kept
    with kept.with_suffix(".lock").open("w") as turn:
        fcntl.flock(turn, fcntl.LOCK_EX)
        if not kept.exists():
            new = kept.with_suffix(".new")
            new.unlink(missing_ok=True)
            env = {**os.environ, "DATABASE_URL": f"sqlite:///{new}"}
            env["DJANGO_SETTINGS_MODULE"] = "config.settings.test"
            command = [sys.executable, "manage.py", "migrate", "--verbosity", "0"]
            subprocess.run(command, cwd=ROOT, env=env, check=True)
            new.rename(kept)
    return kept


def _digest() -> str:
    """Of all that says what the database will be: migrations, roles and Django itself."""
    told = sha256(django.get_version().encode())
    for path in sorted(
        [
            *ROOT.glob("*/migrations/*.py"),
            *ROOT.glob("config/*.py"),
            *ROOT.glob("catalog/chain/*.py"),
        ]
    ):
        told.update(path.name.encode() + path.read_bytes())
    return told.hexdigest()[:16]
