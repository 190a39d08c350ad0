"""The races of this folder (``on_*.py``), on a SQLite file and on a PostgreSQL server."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests import postgres

HERE = Path(__file__).parent
RACES = [str(path) for path in sorted(HERE.glob("on_*.py"))]
ROOT = HERE.parents[2]


def run_on(url: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "pytest", "-n0", "-q", *RACES],
        cwd=ROOT, env={**os.environ, "DATABASE_URL": url, "PYTEST_ADDOPTS": ""},
        capture_output=True, text=True, timeout=600,
    )  # fmt: skip


def held(run: subprocess.CompletedProcess[str]) -> bool:
    """Whether every race was run and none was lost."""
    return run.returncode == 0 and "passed" in run.stdout and "skipped" not in run.stdout


def test_every_race_holds_on_a_sqlite_file(tmp_path: Path) -> None:
    run = run_on(f"sqlite:///{tmp_path / 'together.sqlite3'}")
    assert held(run), run.stdout


@pytest.mark.needs("PostgreSQL")
def test_every_race_holds_on_a_postgresql_server() -> None:
    with postgres.server() as url:
        run = run_on(url)
    assert held(run), run.stdout
