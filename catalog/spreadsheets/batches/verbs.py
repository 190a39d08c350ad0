"""The verbs of a spreadsheet batch: look, check, apply, take back. Each runs as one job."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import asdict
from typing import Any

from django.db import transaction
from django.db.models import Max, ProtectedError, Q, QuerySet
from django.utils import timezone

from catalog.actions import Actor
from catalog.actions.bulk import ROWS_AT_A_TIME, remove_instruments, take_back_sets
from catalog.models import (
    Change,
    HeadingMapping,
    Instrument,
    InstrumentSet,
    SpreadsheetBatch,
    SpreadsheetRow,
)
from catalog.spreadsheets.batches.applying import (
    Applied,
    HowFar,
    Planned,
    Tick,
    apply_instruments,
    apply_report,
    check_workbook,
    chunks,
    known_instruments,
    nobody_watches,
    stocked_protectors,
    without_lines,
)
from catalog.spreadsheets.batches.correcting import read_batch
from catalog.spreadsheets.cells.report import (
    ColumnNotes,
    Report,
    RowReport,
    Verdict,
    problem_as_json,
)
from catalog.spreadsheets.checking.asking import kind_question
from catalog.spreadsheets.checking.instruments import InstrumentCheck, guess_kind
from catalog.spreadsheets.checking.proposing import Remembered, propose
from catalog.spreadsheets.columns.choices import Choices, choices_from_json
from catalog.spreadsheets.columns.column import fold_heading
from catalog.spreadsheets.columns.likeness import Names
from catalog.spreadsheets.workbook.reading import Workbook, read_workbook

State, Job = SpreadsheetBatch.State, SpreadsheetBatch.Job
KINDS_CHANGED = {
    "instruments": ("instrument",),
    "sets": ("instrument", "set", "count sheet"),
}
"""Kind of spreadsheet to the kinds of objects whose changes make its check stale."""
MOST_NAMED = 50
"""Changes that a refusal names; beyond it says how many more."""


class RefusedError(Exception):
    """A job that must not be done; the message says why. Nothing was changed."""


# Looking and remembering


def look(batch: SpreadsheetBatch, _how_far: HowFar = nobody_watches) -> None:
    """Read the file, guess what it holds, and propose heading rows, columns and units."""
    workbook = read_workbook(bytes(batch.content), batch.file_name)
    if workbook.problems:
        _refuse_file(batch, Report("", batch.file_name, batch.sha256, workbook.problems))
        return
    kind = batch.kind or guess_kind(workbook)
    batch.kind = kind or "instruments"
    choices = choices_from_json(batch.mapping)
    found = propose(workbook, batch.kind, remembered(batch.kind), choices, _names(batch.kind))
    batch.proposals = list(map(asdict, found.sheets))
    questions = found.questions if kind else (kind_question(),)
    batch.report = {"questions": list(map(asdict, questions))}
    _rests(batch, State.UPLOADED)


def _names(kind: str) -> dict[str, str]:
    """The numbers on record of a kind, with their names."""
    if kind == "sets":
        return dict(InstrumentSet.objects.values_list("code", "name"))
    return dict(Instrument.objects.values_list("item_number", "name"))


def _refuse_file(batch: SpreadsheetBatch, report: Report) -> None:
    batch.report = report.as_json()
    _rests(batch, State.REFUSED)


def _rests(batch: SpreadsheetBatch, state: str) -> None:
    """The job is done."""
    batch.job, batch.state = Job.NONE, state
    batch.save()


def remembered(kind: str) -> dict[str, Remembered]:
    """What people said about headings before, by fingerprint."""
    rows = HeadingMapping.objects.filter(kind=kind)
    return {row.fingerprint: Remembered(row.columns, row.units) for row in rows}


def remember(batch: SpreadsheetBatch, by: str) -> None:
    """Keep what was said about this set of headings for the next file that has it."""
    choices = choices_from_json(batch.mapping)
    for sheet in batch.proposals:
        choice = choices.get(sheet["title"])
        if choice is None or choice.left_out or not sheet["fingerprint"]:
            continue
        columns = {
            fold_heading(column["heading"]): choice.columns.get(column["letter"], "")
            for column in sheet["columns"]
            if column["heading"]
        }
        HeadingMapping.objects.update_or_create(
            kind=batch.kind,
            fingerprint=sheet["fingerprint"],
            defaults={"columns": columns, "units": dict(choice.units), "by": by},
        )


def remembered_choices(workbook: Workbook, kind: str) -> Choices:
    """The choices for those sheets whose headings somebody has mapped before."""
    found = propose(workbook, kind, remembered(kind))
    return {each.title: each.choice() for each in found.sheets if each.remembered}


# Checking


def check(batch: SpreadsheetBatch, how_far: HowFar = nobody_watches) -> None:
    """Check the file against the catalog and keep every row with its verdict.

    The rows go in some hundreds at a time, without one long transaction that would keep
    others from writing; until the batch is "checked" nobody is shown them.
    """
    batch.catalog_mark = last_change()
    left_out = set(batch.rows.filter(left_out=True).values_list("sheet", "row"))
    batch.rows.all().delete()
    workbook, notes = read_batch(batch), ColumnNotes()
    choices = choices_from_json(batch.mapping)
    if batch.kind == "sets":
        report = check_workbook(workbook, "sets", choices=choices)
        counts = _keep(batch, ((row, None) for row in report.rows), notes)
    else:
        report, counts = _check_instruments(batch, workbook, choices, notes, how_far)
    if report.file_problems:
        _refuse_file(batch, report)
        return
    for row in batch.rows.filter(row__in={row for _, row in left_out}):
        row.left_out = (row.sheet, row.row) in left_out
        row.save(update_fields=["left_out"])
    batch.report = {
        **report.as_json(),
        "counts": counts,
        "problems": [problem_as_json(each) for each in report.problems_of_no_row],
        "notes": [asdict(each) for each in (*report.column_notes, *notes.said())],
    }
    _rests(batch, State.CHECKED)


def _check_instruments(
    batch: SpreadsheetBatch,
    workbook: Workbook,
    choices: Choices,
    notes: ColumnNotes,
    how_far: HowFar,
) -> tuple[Report, dict[str, int]]:
    known = known_instruments()
    under_way = InstrumentCheck(workbook, known, choices=choices, protectors=stocked_protectors())
    names = Names()
    for number, values in known.items():
        names.add(number, str(values["name"]))
    rows = _with_likeness(under_way.rows(), names, set(known))
    counts = _keep(batch, rows, notes, lambda done: how_far(done, under_way.row_count))
    return under_way.report(), counts


def _with_likeness(
    rows: Iterable[RowReport], names: Names, known: set[str]
) -> Iterator[tuple[RowReport, tuple[str, str] | None]]:
    """Each row with the instrument that a new one may be: in the catalog, or further up."""
    for row in rows:
        name = str(row.values.get("name") or "")
        new = row.key and row.key not in known and row.verdict is not Verdict.REFUSED
        yield row, names.like(name) if new else None
        if new:
            names.add(row.key, name)


def _keep(
    batch: SpreadsheetBatch,
    rows: Iterable[tuple[RowReport, tuple[str, str] | None]],
    notes: ColumnNotes,
    tick: Tick = nobody_watches,
) -> dict[str, int]:
    """Write the rows of the report; the number of each verdict comes back."""
    counts: Counter[str] = Counter({str(verdict): 0 for verdict in Verdict})
    done = 0
    for chunk in chunks(rows, ROWS_AT_A_TIME):
        SpreadsheetRow.objects.bulk_create([_stored(batch, row, like) for row, like in chunk])
        for row, _ in chunk:
            counts[str(row.verdict)] += 1
            notes.add(row)
        done += len(chunk)
        tick(done)
    return dict(counts)


def _stored(
    batch: SpreadsheetBatch, row: RowReport, like: tuple[str, str] | None
) -> SpreadsheetRow:
    return SpreadsheetRow(
        batch=batch,
        sheet=row.sheet[:250],
        row=row.row,
        key=row.key[:200],
        name=str(row.values.get("name") or "")[:200],
        verdict=str(row.verdict),
        goes_in=row.goes_in,
        values=dict(row.values) if row.goes_in else {},
        changes=[asdict(each) for each in row.changes],
        problems=[problem_as_json(each) for each in row.problems],
        cells=dict(row.cells),
        same_as={"key": like[0], "name": like[1]} if like else None,
    )


def last_change() -> int:
    """The number of the last change on record; 0 when there is none."""
    return Change.objects.aggregate(last=Max("pk"))["last"] or 0


def catalog_changes(batch: SpreadsheetBatch) -> QuerySet[Change]:
    """What others changed in the catalog since the batch was checked."""
    return Change.objects.filter(
        pk__gt=batch.catalog_mark or 0, kind__in=KINDS_CHANGED[batch.kind]
    ).exclude(batch=batch.label)


# Applying


@transaction.atomic
def apply_at_once(
    report: Report, data: bytes, by: str, how_far: HowFar = nobody_watches
) -> tuple[SpreadsheetBatch, Applied]:
    """A report made just now, applied as a batch of its own: for the command line."""
    batch = SpreadsheetBatch.objects.create(
        file_name=report.file_name[-200:],
        sha256=report.sha256,
        content=data,
        kind=report.kind,
        by=by,
        applied_by=by,
        report=report.as_json(),
    )
    _keep(batch, ((row, None) for row in report.rows), ColumnNotes())
    of = len(report.rows)
    applied = apply_report(report, Actor(by, batch.label), lambda done: how_far(done, of))
    batch.rows.filter(goes_in=True).update(applied=True)
    batch.said, batch.applied_at = str(applied), timezone.now()
    _rests(batch, State.APPLIED)
    return batch, applied


def selected(batch: SpreadsheetBatch) -> QuerySet[SpreadsheetRow]:
    """The rows to apply: whole groups, single rows, never one that must not go in."""
    groups = batch.selection.get("groups", [])
    rows = batch.selection.get("rows", [])
    wanted = Q(verdict__in=groups) | Q(pk__in=rows)
    return batch.rows.filter(wanted, goes_in=True, left_out=False)


@transaction.atomic
def apply(batch: SpreadsheetBatch, how_far: HowFar = nobody_watches) -> Applied:
    """Write the selected rows: all of them, or none when anything is in the way."""
    changes = list(catalog_changes(batch)[: MOST_NAMED + 1])
    if changes:
        told = " ".join([*_told(changes), *(["There are more."] if changes[MOST_NAMED:] else [])])
        raise RefusedError(f"The catalog changed since the check. {told} Check again.")
    actor = Actor(batch.applied_by, batch=batch.label)
    applied = Applied()
    if batch.kind == "sets":
        workbook = read_batch(batch)
        choices = choices_from_json(batch.mapping)
        out = set(batch.rows.filter(left_out=True).values_list("sheet", "row"))
        report = check_workbook(workbook, "sets", choices=choices)
        applied = apply_report(without_lines(report, out), actor)
        batch.rows.filter(goes_in=True, left_out=False).update(applied=True)
    else:
        rows = selected(batch)
        of = rows.count()
        planned = (
            Planned(row.key, row.values, {each["field"]: each["new"] for each in row.changes})
            for row in rows.iterator(ROWS_AT_A_TIME)
        )
        apply_instruments(planned, actor, applied, lambda done: how_far(done, of))
        selected(batch).update(applied=True)
    batch.said, batch.applied_at = str(applied), timezone.now()
    _rests(batch, State.APPLIED)
    return applied


def _told(changes: Sequence[Change] | QuerySet[Change]) -> list[str]:
    return [
        f"{each.object_key} was {each.verb} by {each.actor} on {each.at:%Y-%m-%d %H:%M}."
        for each in changes[:MOST_NAMED]
    ]


# Taking back


def in_the_way(batch: SpreadsheetBatch) -> list[str]:
    """What would be lost if the batch were taken back: later changes, and sets that count on it.

    Empty when nothing would.
    """
    mine = Change.objects.filter(batch=batch.label)
    first = mine.order_by("pk").values_list("pk", flat=True).first()
    if first is None:
        return []
    later = Change.objects.filter(
        pk__gt=first, object_key__in=mine.values("object_key"), kind__in=KINDS_CHANGED[batch.kind]
    ).exclude(batch=batch.label)
    told = _told(later)
    added = mine.filter(verb=Change.Verb.ADDED, kind="instrument").values("object_key")
    counted = Instrument.objects.filter(item_number__in=added, lines__isnull=False)
    for instrument in counted.distinct()[:MOST_NAMED]:
        line = instrument.lines.select_related("count_sheet__instrument_set").first()
        told.append(f"{instrument.item_number} is counted on {line.count_sheet}.")  # type: ignore[union-attr]
    return told


@transaction.atomic
def revert(batch: SpreadsheetBatch, how_far: HowFar = nobody_watches) -> None:
    """Take the whole batch back, or nothing of it. Its records stay, and new ones are written."""
    told = in_the_way(batch)
    if told:
        raise RefusedError(f"Taking it back would lose later work. {' '.join(told)}")
    actor = Actor(batch.applied_by, batch=batch.label, reason="the spreadsheet was taken back")
    try:
        if batch.kind == "sets":
            take_back_sets(actor)
        else:
            _revert_instruments(batch, actor, how_far)
    except ProtectedError as error:
        used = ", ".join(str(each) for each in list(error.protected_objects)[:MOST_NAMED])
        raise RefusedError(f"Taking it back would lose later work: {used}.") from error
    batch.said = ""
    _rests(batch, State.REVERTED)


def _revert_instruments(batch: SpreadsheetBatch, actor: Actor, how_far: HowFar) -> None:
    mine = Change.objects.filter(batch=batch.label, kind="instrument")
    added = set(mine.filter(verb=Change.Verb.ADDED).values_list("object_key", flat=True))
    rows = batch.rows.filter(applied=True)
    of, done = rows.count(), 0
    for chunk in chunks(rows.iterator(ROWS_AT_A_TIME), ROWS_AT_A_TIME):
        numbers = [row.key for row in chunk if row.key in added]
        there = Instrument.objects.filter(item_number__in=numbers).prefetch_related("cycles")
        remove_instruments(actor, list(there))
        back = (
            Planned(row.key, {}, {each["field"]: each["old"] for each in row.changes})
            for row in chunk
            if row.changes and row.key not in added
        )
        apply_instruments(back, actor, Applied())
        done += len(chunk)
        how_far(done, of)


# Running


VERBS: Mapping[str, Callable[[SpreadsheetBatch, HowFar], Any]] = {
    Job.LOOK: look,
    Job.CHECK: check,
    Job.APPLY: apply,
    Job.REVERT: revert,
}
_AFTER_REFUSAL = {Job.APPLY: State.CHECKED, Job.REVERT: State.APPLIED}


def run(pk: int, job: str, how_far: HowFar = nobody_watches) -> None:
    """Do one job and leave the batch in a state that says how it ended."""
    batch = SpreadsheetBatch.objects.get(pk=pk)
    try:
        VERBS[job](batch, how_far)
    except RefusedError as refusal:
        ended(pk, _AFTER_REFUSAL[Job(job)], str(refusal))
    except MemoryError:
        ended(pk, State.STOPPED, "The file needs more memory than a check may use. Split the list.")
    except Exception:
        ended(pk, stopped_state(job), "An error in the program ended this. Nothing was changed.")
        raise


def stopped_state(job: str) -> str:
    """The state of a batch whose job did not end well: what was applied stays applied."""
    return State.APPLIED if job == Job.REVERT else State.STOPPED


def ended(pk: int, state: str, said: str) -> None:
    """Write how a job ended that did not end well."""
    SpreadsheetBatch.objects.filter(pk=pk).update(job=Job.NONE, state=state, said=said)
