"""Jobs as processes of their own, on a database in a file: killed, orphaned, limited."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from tests import migrated

pytestmark = pytest.mark.xdist_group("jobs")

ROOT = Path(__file__).parents[4]
DATABASE = "jobs.sqlite3"
ROWS = 2000
SET_UP = f"""
import json, os, signal, threading
from django.conf import settings
from django.db import connection
from catalog import background
from catalog.models import Change, Instrument, InstrumentSet, Line, SpreadsheetBatch
from catalog.spreadsheets.batches import jobs, verbs as batches

def new():
    lines = ["Item #,Name"] + [f"T-{{n}},Probe no. {{n}}" for n in range({ROWS})]
    return sent(lines)

def ready():
    return chosen(SpreadsheetBatch.objects.get())

def counted():
    return [Instrument.objects.count(), Change.objects.count()]

def sent(lines):
    data = "\\n".join(lines).encode()
    batch = SpreadsheetBatch.objects.create(file_name="list.csv", sha256="-", content=data, by="b")
    for job in ("look", "check"):
        batches.run(batch.pk, job)
    return chosen(batch)

def chosen(batch):
    batch.refresh_from_db()
    batch.selection, batch.applied_by = {{"groups": ["new"]}}, "b"
    settings.BACKGROUND_IN_PROCESS = False
    return batch

def until(condition):
    for _ in range(3000):
        if condition():
            return
        threading.Event().wait(0.01)
    raise SystemExit("It never came.")

def tell(batch):
    batch = jobs.settle(SpreadsheetBatch.objects.get(pk=batch.pk))
    print(json.dumps({{"state": batch.state, "job": batch.job, "said": batch.said,
                      "instruments": Instrument.objects.count(),
                      "changes": Change.objects.count()}}))
"""


class Machine:
    """A database in a file, and scripts that are run on it in processes of their own."""

    def __init__(self, folder: Path) -> None:
        self.environment = {
            **os.environ,
            "DATABASE_URL": f"sqlite:///{folder / DATABASE}",
            "DJANGO_SETTINGS_MODULE": "config.settings.test",
        }

    def manage(self, *arguments: str) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [sys.executable, "manage.py", *arguments],
            cwd=ROOT, env=self.environment, capture_output=True, text=True, timeout=90, check=False,
        )  # fmt: skip

    def run(self, script: str) -> dict[str, Any]:
        done = self.manage("shell", "--no-imports", "-c", SET_UP + script)
        lines = done.stdout.splitlines()
        assert lines, done.stderr
        return dict(json.loads(lines[-1]))


@pytest.fixture(scope="module")
def checked(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A database in which a list was sent and checked, once for all tests: ``ready()``."""
    folder = tmp_path_factory.mktemp("checked")
    shutil.copy(migrated.file(), folder / DATABASE)
    done = Machine(folder).manage("shell", "--no-imports", "-c", SET_UP + "new()")
    assert done.returncode == 0, done.stderr
    return folder / DATABASE


@pytest.fixture
def machine(checked: Path, tmp_path: Path) -> Machine:
    shutil.copy(checked, tmp_path / DATABASE)
    return Machine(tmp_path)


KILLED = """
batch = ready()
jobs.start(batch, "apply")
child = background._started[-1]
until(lambda: jobs.progress_of(batch).done)
os.kill(child.pid, signal.SIGKILL)
child.wait()
tell(batch)
"""


def test_a_job_killed_in_the_middle_leaves_nothing_and_is_marked_as_stopped(
    machine: Machine,
) -> None:
    told = machine.run(KILLED)
    assert (told["state"], told["instruments"], told["changes"]) == ("stopped", 0, 0)


KILLED_AT = """
from catalog.actions import many_sets, staging
from catalog.models import StagedInstrument
batch = ready()
batch.job, batch.host, batch.state = "apply", jobs.HOST, "applying"
batch.save()
if os.fork() == 0:
    connection.close()
    real, calls = {verb}, []
    def verb(*what):
        calls.append(what)
        if "{when}" == "before" and len(calls) == {times}:
            os.kill(os.getpid(), signal.SIGKILL)
        told = real(*what)
        if "{when}" == "after" and len(calls) == {times}:
            os.kill(os.getpid(), signal.SIGKILL)
        return told
    {verb} = verb
    batches.run(batch.pk, "apply")
    os._exit(0)
os.wait()
seen = [jobs.settle(SpreadsheetBatch.objects.get(pk=batch.pk)).state,
        *counted()]
again = new()
again.save()
batches.run(again.pk, "apply")
print(json.dumps({{"seen": seen, "then": [*counted(), StagedInstrument.objects.count()]}}))
"""


@pytest.mark.parametrize(
    ("verb", "times", "when", "seen"),
    [
        ("staging.Staging.add", 1, "after", ["stopped", 0, 0]),
        ("staging.Staging.add", 3, "before", ["stopped", 0, 0]),
        ("staging.Staging.move", 1, "before", ["stopped", 0, 0]),
        ("staging.Staging.move", 1, "after", ["stopped", 0, 0]),
        ("staging.finish_records", 3, "before", ["applied", ROWS, ROWS]),
        ("staging._record_piece", 3, "before", ["applied", ROWS, ROWS]),
        ("staging.Staging.clear", 2, "before", ["applied", ROWS, ROWS]),
    ],
    ids=[
        "one piece staged",
        "half staged",
        "all staged",
        "not committed yet",
        "committed",
        "half recorded",
        "recorded",
    ],
)
def test_killed_anywhere_all_of_a_list_is_in_or_nothing_and_the_next_goes_in_whole(
    machine: Machine, verb: str, times: int, when: str, seen: list[Any]
) -> None:
    told = machine.run(KILLED_AT.format(verb=verb, times=times, when=when))
    assert told == {"seen": seen, "then": [ROWS, ROWS, 0]}


SETS = 20
COUNT_SHEETS = f"""
def ready():
    return new()

def new():
    Instrument.objects.bulk_create(
        [Instrument(item_number=f"T-{{n}}", name="Probe") for n in range(3)], ignore_conflicts=True
    )
    return sent(["Set no.,Set name,Quantity,Item #,Name"] + [
        f"S-{{one}},Set no. {{one}},1,T-{{n}},Probe" for one in range({SETS}) for n in range(3)
    ])

def counted():
    return [InstrumentSet.objects.count(), Line.objects.count(), Change.objects.count()]
"""


@pytest.mark.parametrize(
    ("verb", "times", "seen"),
    [
        ("many_sets.ManySets.write", 1, ["stopped", 0, 0, 0]),
        ("staging._record_piece", 2, ["applied", SETS, 3 * SETS, 3 * SETS]),
    ],
    ids=["not committed yet", "committed"],
)
def test_killed_anywhere_all_count_sheets_are_in_or_none_and_the_next_go_in_whole(
    machine: Machine, verb: str, times: int, seen: list[Any]
) -> None:
    told = machine.run(COUNT_SHEETS + KILLED_AT.format(verb=verb, times=times, when="after"))
    assert told == {"seen": seen, "then": [SETS, 3 * SETS, 3 * SETS, 0]}


LOOKED_AT = """
batch = ready()
jobs.start(batch, "apply")
seen = set()
while jobs.is_running(batch):
    seen.add(Instrument.objects.count())
print(json.dumps({"seen": sorted(seen | {Instrument.objects.count()})}))
"""


def test_nobody_who_looks_meanwhile_sees_half_of_it(machine: Machine) -> None:
    assert machine.run(LOOKED_AT)["seen"] == [0, ROWS]


def test_a_job_outlives_the_server_that_started_it(machine: Machine) -> None:
    machine.manage(
        "shell", "--no-imports", "-c", SET_UP + 'jobs.start(ready(), "apply"); os._exit(9)'
    )
    told = machine.run(
        "batch = SpreadsheetBatch.objects.get()\n"
        "until(lambda: not jobs.is_running(batch))\ntell(batch)"
    )
    assert (told["state"], told["instruments"], told["changes"]) == ("applied", ROWS, ROWS)


def test_a_running_job_is_not_taken_for_a_dead_one(machine: Machine) -> None:
    told = machine.run('batch = ready()\njobs.start(batch, "apply")\ntell(batch)')
    assert told["state"] == "applying"


def test_a_second_job_for_the_same_batch_does_not_start(machine: Machine) -> None:
    told = machine.run(
        'batch = ready()\njobs.start(batch, "apply")\n'
        "try:\n    jobs.start(batch, 'apply')\n    told = 'started'\n"
        "except BlockingIOError:\n    told = 'busy'\nprint(json.dumps({'second': told}))"
    )
    assert told["second"] == "busy"


TOO_MUCH = """
from catalog.management import limits
from django.core.management import call_command
batch = ready()
batches.VERBS["check"] = lambda *_: bytearray(2 * limits.MEMORY_BYTES)
call_command("run_spreadsheet_job", batch.pk, "check", progress_fd=os.open(os.devnull, os.O_RDWR))
tell(batch)
"""


def test_a_check_that_needs_too_much_memory_ends_with_a_sentence(machine: Machine) -> None:
    assert "more memory" in machine.run(TOO_MUCH)["said"]


TOO_LONG = """
from catalog.management import limits
from django.core.management import call_command
batch = ready()
batch.job, batch.host = "check", jobs.HOST
batch.save()
if os.fork() == 0:
    connection.close()
    limits.CPU_SECONDS = 1
    def endless(*_):
        while True: pass
    batches.VERBS["check"] = endless
    devnull = os.open(os.devnull, os.O_RDWR)
    call_command("run_spreadsheet_job", batch.pk, "check", progress_fd=devnull)
    os._exit(0)
os.wait()
tell(batch)
"""


def test_a_check_that_never_ends_is_ended_and_marked_as_stopped(machine: Machine) -> None:
    told = machine.run(TOO_LONG)
    assert (told["state"], "more memory or time" in told["said"]) == ("stopped", True)


ENDING = """
import fcntl, time
batch = ready()
lock = os.open(jobs.progress_file(batch), os.O_RDWR | os.O_CREAT)
fcntl.flock(lock, fcntl.LOCK_EX)
threading.Timer(0.5, os.close, [lock]).start()
jobs.start(batch, "apply")
until(lambda: not jobs.is_running(batch))
tell(batch)
"""


def test_a_job_waits_for_the_process_of_the_one_before_it_to_go(machine: Machine) -> None:
    assert machine.run(ENDING)["state"] == "applied"


DOWNLOAD = """
from catalog.spreadsheets.batches import downloads
batch = ready()
def never(*_):
    raise SystemExit("It was parsed in the web server's process.")
downloads.read_batch = downloads.marked_workbook = never
print(json.dumps({"start": downloads.written(batch, "marked")[:2].decode(),
                  "second": downloads.written(batch, "refused")[:2].decode()}))
"""


def test_a_workbook_to_fetch_is_written_in_a_process_of_its_own(machine: Machine) -> None:
    assert machine.run(DOWNLOAD) == {"start": "PK", "second": "PK"}
