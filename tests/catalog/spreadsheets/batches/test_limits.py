"""The command at the command line: the same limits as the pages' jobs, with a sentence when one is
reached, and stopped by hand."""

from __future__ import annotations

import os
import shutil
import signal
import time
from pathlib import Path

import pytest

from catalog.management import limits
from tests import migrated
from tests.catalog.spreadsheets.workbooks import with_part, xlsx
from tests.forked import Forked

pytestmark = pytest.mark.xdist_group("jobs")  # forked from one process, as those are

PATCHED = """
import sys
from catalog.management import limits
{patch}
from django.core.management import execute_from_command_line
execute_from_command_line(["manage.py", "import_spreadsheet", *sys.argv[1:]])
"""
LIST = {"List": [["Item #", "Name"], ["T-1", "Probe"]]}
LITTLE_MEMORY = """
pages = int(open("/proc/self/statm").read().split()[0])
limits.MEMORY_BYTES = pages * 4096 + 40_000_000
"""
"""What the process has once the program is loaded, and 40 MB."""
ENDLESS = """
import catalog.management.commands.import_spreadsheet as command
def endless(*_, **__):
    print("begun", flush=True)
    while True: pass
command.kind_of = endless
"""


def start(file: Path, patch: str = "") -> Forked:
    url = f"sqlite:///{file.with_name('database')}"
    return Forked(PATCHED.format(patch=patch), file.parent, url, [str(file)])


def ended(process: Forked) -> tuple[int, str]:
    code = process.ended()
    return code, process.errors.strip() or process.said


def begun(process: Forked) -> Forked:
    """Once it has said so."""
    for _ in range(6000):
        if process.said == "begun\n":
            return process
        time.sleep(0.01)
    raise TimeoutError(process.errors)


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "list.xlsx"
    path.write_bytes(xlsx(LIST))
    shutil.copy(migrated.file(), tmp_path / "database")
    return path


def many_styles(count: int) -> bytes:
    """A small list with more cell formats than any program writes, in little space."""
    styles = b"".join(b'<xf numFmtId="%d" xfId="%d"/>' % (n % 163, n) for n in range(count))
    more = b"<cellXfs>" + styles + b"</cellXfs><cellXfs"
    return with_part(xlsx(LIST), "xl/styles.xml", b"<cellXfs", more)


def test_a_file_that_needs_too_much_memory_ends_with_a_sentence(tmp_path: Path) -> None:
    path = tmp_path / "hostile.xlsx"
    path.write_bytes(many_styles(100_000))
    code, said = ended(start(path, LITTLE_MEMORY))
    assert (code, said) == (1, f"CommandError: {limits.TOO_MUCH_MEMORY} Nothing was changed.")


def test_a_check_that_never_ends_is_ended_with_a_sentence(file: Path) -> None:
    code, said = ended(start(file, ENDLESS + "limits.CPU_SECONDS = 1"))
    assert (code, "more time" in said, "Nothing was changed" in said) == (1, True, True), said


def test_a_check_that_waits_for_ever_is_ended_with_a_sentence(file: Path) -> None:
    code, said = ended(start(file, ENDLESS + "limits.WALL_SECONDS = 1"))
    assert (code, "more time" in said) == (1, True), said


def test_a_library_that_gives_up_without_memory_ends_with_the_same_sentence(file: Path) -> None:
    patch = "import os, catalog.management.commands.import_spreadsheet as command\n"
    code, said = ended(start(file, patch + "command.read_workbook = lambda *_: os.abort()"))
    assert (code, said) == (1, f"{limits.TOO_MUCH_MEMORY} Nothing was changed.")


def test_ctrl_c_stops_it_and_says_so(file: Path) -> None:
    process = begun(start(file, ENDLESS))
    os.kill(process.pid, signal.SIGINT)
    assert ended(process) == (limits.STOPPED, "CommandError: Stopped. Nothing was changed.")


def test_ctrl_c_from_a_terminal_reaches_both_processes_and_is_said_once(file: Path) -> None:
    process = begun(start(file, ENDLESS))
    os.killpg(process.pid, signal.SIGINT)
    assert ended(process) == (limits.STOPPED, "CommandError: Stopped. Nothing was changed.")


def test_what_the_command_says_comes_through_the_child(file: Path) -> None:
    code, said = ended(start(file))
    assert (code, "1 new" in said) == (0, True)


def test_an_error_ends_it_as_before(tmp_path: Path) -> None:
    code, said = ended(start(tmp_path / "nowhere.xlsx"))
    assert (code, "cannot be opened" in said) == (1, True)
