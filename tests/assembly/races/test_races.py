"""The races of this folder (``on_*.py``) on a SQLite file; on PostgreSQL with all that asks it."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

HERE = Path(__file__).parent
RACES = [str(path) for path in sorted(HERE.glob("on_*.py"))]
ROOT = HERE.parents[2]


def test_every_race_holds_on_a_sqlite_file(tmp_path: Path) -> None:
    url = f"sqlite:///{tmp_path / 'together.sqlite3'}"
    run = subprocess.run(
        [sys.executable, "-m", "pytest", "-n0", "-q", *RACES],
        cwd=ROOT, env={**os.environ, "DATABASE_URL": url, "PYTEST_ADDOPTS": ""},
        capture_output=True, text=True, timeout=600, check=False,
    )  # fmt: skip
    assert run.returncode == 0 and "passed" in run.stdout and "skipped" not in run.stdout, (
        run.stdout
    )
