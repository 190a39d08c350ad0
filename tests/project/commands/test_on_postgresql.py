"""What is written in the database's own words, on the other database too."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests import postgres

TESTS = Path(__file__).parents[2]
BATCHES = TESTS / "catalog" / "spreadsheets" / "batches"
ASKED = [
    TESTS / "catalog" / "actions" / "test_staging.py",
    BATCHES / "test_updated_list.py",
    TESTS / "assembly" / "judging" / "test_department.py",
    TESTS / "catalog" / "lookup" / "test_kept.py",
    TESTS / "catalog" / "chain" / "test_chain.py",
    TESTS / "project" / "test_plans.py",
    TESTS / "assembly" / "shortfalls" / "test_shortfalls_migration.py",
    TESTS / "config" / "installation" / "on_postgresql.py",
    f"{TESTS / 'reports' / 'pages' / 'test_what_if_page.py'}::TestLong",
    *sorted((TESTS / "assembly" / "races").glob("on_*.py")),
]
"""In one run on one server: to make it and to migrate take longer than most of them."""


@pytest.mark.needs("PostgreSQL")
def test_lists_indexes_moves_runs_and_races_hold_on_a_postgresql_server() -> None:
    with postgres.server() as url:
        run = subprocess.run(
            [sys.executable, "-m", "pytest", "-n0", "-q", *ASKED],
            cwd=TESTS.parent, env={**os.environ, "DATABASE_URL": url, "PYTEST_ADDOPTS": ""},
            capture_output=True, text=True, timeout=600, check=False,
        )  # fmt: skip
    assert run.returncode == 0 and "passed" in run.stdout and "skipped" not in run.stdout, (
        run.stdout
    )
