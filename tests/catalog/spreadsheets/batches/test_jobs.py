"""Jobs as processes of their own, on a database in a file: killed, orphaned, limited."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import pytest

from tests import migrated
from tests.forked import Forked

pytestmark = pytest.mark.xdist_group("jobs")

DATABASE = "jobs.sqlite3"
ROWS = 2000
FEW, PIECE = 200, 50
SET_UP = f"""
ROWS = {ROWS}
import json, os, signal, threading
from django.conf import settings
from django.db import connection
from catalog import background
from catalog.models import Change, Instrument, InstrumentSet, Line, SpreadsheetBatch
from catalog.spreadsheets.batches import jobs, verbs as batches

def new():
    lines = ["Item #,Name"] + [f"T-{{n}},Probe no. {{n}}" for n in range(ROWS)]
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


SMALL = f"""
from catalog.actions import staging
from catalog.spreadsheets.batches import applying
ROWS, staging.ROWS_AT_A_TIME, applying.ROWS_AT_A_TIME = {FEW}, {PIECE}, {PIECE}
ready = new
"""
"""A list in as many pieces as a long one, where nobody has to meet it while it is applied."""


class Machine:
    """A database in a file, and scripts that are run on it in processes of their own."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def ended(self, script: str) -> Forked:
        done = Forked(SET_UP + script, self.folder, f"sqlite:///{self.folder / DATABASE}")
        done.ended()
        return done

    def run(self, script: str) -> dict[str, Any]:
        done = self.ended(script)
        assert done.said, done.errors
        return dict(json.loads(done.said.splitlines()[-1]))


@pytest.fixture(scope="module")
def checked(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A database in which a list was sent and checked, once for all tests: ``ready()``."""
    folder = tmp_path_factory.mktemp("checked")
    shutil.copy(migrated.file(), folder / DATABASE)
    assert Machine(folder).ended("new()").errors == ""
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
        ("staging.finish_records", 3, "before", ["applied", FEW, FEW]),
        ("staging._record_piece", 3, "before", ["applied", FEW, FEW]),
        ("staging.Staging.clear", 2, "before", ["applied", FEW, FEW]),
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
    told = machine.run(SMALL + KILLED_AT.format(verb=verb, times=times, when=when))
    assert told == {"seen": seen, "then": [FEW, FEW, 0]}


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
    threading.Event().wait(0.002)
print(json.dumps({"seen": sorted(seen | {Instrument.objects.count()})}))
"""


def test_nobody_who_looks_meanwhile_sees_half_of_it(machine: Machine) -> None:
    assert machine.run(LOOKED_AT)["seen"] == [0, ROWS]


def test_a_job_outlives_the_server_that_started_it(machine: Machine) -> None:
    machine.ended('jobs.start(ready(), "apply"); os._exit(9)')
    told = machine.run(
        "batch = SpreadsheetBatch.objects.get()\n"
        "until(lambda: not jobs.is_running(batch))\ntell(batch)"
    )
    assert (told["state"], told["instruments"], told["changes"]) == ("applied", ROWS, ROWS)


def test_a_running_job_is_not_taken_for_a_dead_one_and_no_second_starts(machine: Machine) -> None:
    told = machine.run(
        'batch = ready()\njobs.start(batch, "apply")\n'
        "try:\n    jobs.start(batch, 'apply')\n    print('started')\n"
        "except BlockingIOError:\n    tell(batch)"
    )
    assert told["state"] == "applying"


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
    assert machine.run(SMALL + DOWNLOAD) == {"start": "PK", "second": "PK"}
