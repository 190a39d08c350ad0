"""What is written in the database's own words, on the other database too."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests import postgres

HERE = Path(__file__).parent
TESTS = HERE.parents[1]
ASKED = [
    HERE / "test_staging.py",
    HERE.parent / "spreadsheets" / "batches" / "test_updated_list.py",
    TESTS / "catalog" / "chain" / "test_chain.py",
    TESTS / "project" / "test_plans.py",
    TESTS / "config" / "installation" / "on_postgresql.py",
]


@pytest.mark.needs("PostgreSQL")
def test_lists_and_databases_are_moved_and_indexes_used_on_a_postgresql_server() -> None:
    with postgres.server() as url:
        run = subprocess.run(
            [sys.executable, "-m", "pytest", "-n0", "-q", *ASKED],
            cwd=TESTS.parent, env={**os.environ, "DATABASE_URL": url, "PYTEST_ADDOPTS": ""},
            capture_output=True, text=True, timeout=600, check=False,
        )  # fmt: skip
    assert run.returncode == 0 and "skipped" not in run.stdout, run.stdout
