"""``manage.py work_ahead``: the shift's board, what must begin by when and in which loads."""

from __future__ import annotations

import json
from argparse import ArgumentParser
from datetime import datetime
from typing import Any

from django.core.management.base import BaseCommand

from assembly.planning.work import Board, board
from assembly.requests.clocks import clock, span
from assembly.rules.computing.ahead import Load, Task


class Command(BaseCommand):
    help = "Say what waits, by when each thing must begin to be there in time, and in which loads."
    requires_system_checks = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--json", action="store_true", help="print JSON")

    def handle(self, *args: Any, **options: Any) -> None:
        found = board()
        if options["json"]:
            self._say(json.dumps(_as_json(found), indent=2, ensure_ascii=False))
        else:
            self._tell(found)

    def _tell(self, found: Board) -> None:
        now = found.now
        self._say(f"Until {clock(found.until, now)}, {found.hands} at a time "
                  f"({found.hands_source}).")  # fmt: skip
        for task in found.plan.tasks:
            by = task.begin_by or task.packed_by
            what = "begin by" if task.begin_by else "load by"
            late = f", {span(task.late)} too late" if task.late else ""
            hands = task.job.hands
            length = f"; {hands.minutes:g} min, {hands.source}" if hands else ""
            self._say(f"{what} {clock(by, now)}{late}: {task.job.what} ({task.job.number}), due "
                      f"{clock(task.job.due, now)}{length}")  # fmt: skip
        for load in found.plan.loads:
            late = f", {span(load.late)} too late" if load.late else ""
            self._say(f"start {load.machine} {load.way.programme.code} by "
                      f"{clock(load.start_by, now)}{late}: {_inside(load)}")  # fmt: skip
        for one in found.releases:
            self._say(f"release {one.load} by {clock(one.by, now)}: {', '.join(one.what)}")
        for job, why in found.plan.unknown:
            self._say(f"cannot tell: {job.what}, due {clock(job.due, now)}: {why}")
        if found.empty:
            self._say("Nothing waits.")

    def _say(self, words: str) -> None:
        self.stdout.write(words)


def _inside(load: Load) -> str:
    room = "" if load.room_told else " (whether there is room cannot be told)"
    return ", ".join(one.what for one in load.jobs) + room


def _as_json(found: Board) -> dict[str, Any]:
    return {
        "now": _at(found.now), "until": _at(found.until), "at_a_time": found.hands,
        "tasks": [_task(one) for one in found.plan.tasks],
        "loads": [
            {"sterilizer": one.machine, "cycle": one.way.programme.code, "load": one.code or None,
             "start_by": _at(one.start_by), "late_min": _minutes(one.late),
             "room_told": one.room_told, "inside": [job.number for job in one.jobs]}
            for one in found.plan.loads
        ],
        "release": [
            {"load": one.load, "by": _at(one.by), "late_min": _minutes(one.late),
             "for": list(one.what)} for one in found.releases
        ],
        "cannot_tell": [
            {"number": job.number, "what": job.what, "due": _at(job.due), "why": why}
            for job, why in found.plan.unknown
        ],
        "filled_and_not_needed": list(found.idle),
    }  # fmt: skip


def _task(one: Task) -> dict[str, Any]:
    hands = one.job.hands
    return {
        "number": one.job.number, "what": one.job.what, "where": one.job.where,
        "due": _at(one.job.due), "begin_by": _at(one.begin_by), "packed_by": _at(one.packed_by),
        "goes_on": one.job.goes_on, "late_min": _minutes(one.late), "note": one.job.note,
        "minutes": hands.minutes if hands else None, "minutes_from": hands.source if hands else "",
    }  # fmt: skip


def _at(moment: datetime | None) -> str | None:
    return moment.isoformat(timespec="minutes") if moment else None


def _minutes(length: Any) -> int | None:
    return None if length is None else int(length.total_seconds() // 60)
