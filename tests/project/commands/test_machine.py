"""What a bare machine lacks is left out by name; in CI nothing is left out."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

from tests import machine

ROOT = Path(__file__).resolve().parents[3]
IN_A_BROWSER = "tests/browser/bench/test_first_path.py"


def on_a_bare_machine(folder: Path, **variables: str) -> subprocess.CompletedProcess[str]:
    """A run of browser tests where no program is found but Python."""
    return subprocess.run(
        [sys.executable, "-m", "pytest", "-n0", "-q", IN_A_BROWSER], cwd=ROOT,
        env={**os.environ, "PATH": str(folder), "PYTEST_ADDOPTS": "", "CI": "", **variables},
        capture_output=True, text=True, timeout=120,
    )  # fmt: skip


def test_what_is_lacking_is_left_out_and_says_how_to_get_it(tmp_path: Path) -> None:
    run = on_a_bare_machine(tmp_path)
    assert run.returncode == 0, run.stdout
    assert re.search(r"for want of chromium \(\d+; apt-get install chromium\)\.", run.stdout)


def test_in_ci_what_is_left_out_has_failed(tmp_path: Path) -> None:
    assert on_a_bare_machine(tmp_path, CI="true").returncode == 1


def test_the_line_counts_each_need() -> None:
    reasons = [f"Skipped: {machine.WANT}{need}" for need in ("ZBar", "chromium", "ZBar")]
    assert machine.told(reasons) == (
        "Tests skipped for want of chromium (1; apt-get install chromium); "
        "ZBar (2; apt-get install libzbar0)."
    )


def test_other_skips_are_not_counted() -> None:
    assert machine.told(["Skipped: copies a SQLite database"]) == ""
