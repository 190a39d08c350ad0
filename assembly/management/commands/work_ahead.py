"""``manage.py work_ahead``: the shift's board, what must begin by when and in which loads."""

from __future__ import annotations

import json
from argparse import ArgumentParser
from datetime import datetime
from typing import Any

from django.core.management.base import BaseCommand

from assembly.planning.words import NOT_KNOWN, said_of
from assembly.planning.work import Board, board
from assembly.rules.computing.ahead import Task


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
        said = said_of(found)
        self._say(f"Until {said.until}; {said.hands}.")
        for one in said.begin:
            length = f"; {one.length}: {one.source}" if one.length else ""
            self._say(_line(f"{one.act} by {one.by}", one.late, f"{one.what} ({one.number})",
                            f"due {one.due}, {one.going}{length}", one.note))  # fmt: skip
        for run in said.runs:
            self._say(_line(f"start {run.sterilizer} {run.cycle} by {run.by}", run.late,
                            ", ".join(run.inside), run.code, run.doubt))  # fmt: skip
        for out in said.out:
            self._say(_line(f"release {out.load} by {out.by}", out.late, ", ".join(out.inside)))
        for unknown in said.unknown:
            self._say(f"cannot tell: {unknown.what}, due {unknown.due}: {unknown.why}")
        self._say("Nothing waits." if said.empty else NOT_KNOWN)

    def _say(self, words: str) -> None:
        self.stdout.write(words)


def _line(act: str, late: str, *words: str) -> str:
    """One line: what is to be done, how late it is, and what there is to know."""
    first = f"{act}, {late}" if late else act
    return f"{first}: {'; '.join(filter(None, words))}"


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
        "own_median": bool(hands and hands.own),
    }  # fmt: skip


def _at(moment: datetime | None) -> str | None:
    return moment.isoformat(timespec="minutes") if moment else None


def _minutes(length: Any) -> int | None:
    return None if length is None else int(length.total_seconds() // 60)
