"""The verbs of a spreadsheet batch as jobs: look and check; apply and take back (``writing``)."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import asdict, replace
from typing import Any

from catalog.actions.staging import ROWS_AT_A_TIME, chunks, finish_records, write_rows
from catalog.models import (
    HeadingMapping,
    Instrument,
    InstrumentSet,
    SpreadsheetBatch,
    SpreadsheetRow,
)
from catalog.spreadsheets.batches.applying import (
    HowFar,
    Tick,
    check_workbook,
    known_instruments,
    known_to_lines,
    nobody_watches,
    numbers_in_use,
    stocked_protectors,
    with_remarks,
)
from catalog.spreadsheets.batches.choosing import said_of_rows, say_again
from catalog.spreadsheets.batches.correcting import read_batch
from catalog.spreadsheets.batches.known import with_known
from catalog.spreadsheets.batches.writing import RefusedError, apply, last_change, rests, revert
from catalog.spreadsheets.cells.report import (
    ColumnNotes,
    Report,
    RowReport,
    Verdict,
    problem_as_json,
)
from catalog.spreadsheets.checking.asking import kind_question
from catalog.spreadsheets.checking.instruments import InstrumentCheck, guess_kind
from catalog.spreadsheets.checking.matching import Catalog, meant_once, would_change
from catalog.spreadsheets.checking.numbers import Numbers
from catalog.spreadsheets.checking.proposing import Remembered, propose
from catalog.spreadsheets.columns.choices import Choices, choices_from_json
from catalog.spreadsheets.columns.column import fold_heading
from catalog.spreadsheets.columns.likeness import Names
from catalog.spreadsheets.workbook.reading import Workbook

State, Job = SpreadsheetBatch.State, SpreadsheetBatch.Job
Like = Mapping[str, Any]
"""What a new row may be: ``key``, ``name``, and the ``changes`` if it is that one, renumbered."""


# Looking and remembering


def look(batch: SpreadsheetBatch, _how_far: HowFar = nobody_watches) -> None:
    """Read the file, guess what it holds, and propose heading rows, columns and units.

    Where nobody can tell how its letters are written, that alone is asked.
    """
    workbook = with_known(read_batch(batch))
    batch.readings, batch.proposals = list(map(asdict, workbook.readings)), []
    if workbook.problems and workbook.readings:
        rests(batch, State.UPLOADED)
        return
    if workbook.problems:
        _refuse_file(batch, Report("", batch.file_name, batch.sha256, workbook.problems))
        return
    kind = batch.kind or guess_kind(workbook)
    batch.kind = kind or "instruments"
    choices = choices_from_json(batch.mapping)
    sets = dict(InstrumentSet.objects.values_list("code", "name"))
    numbers = _numbers(batch.kind)
    found = propose(workbook, batch.kind, remembered(batch.kind), choices, sets, numbers)
    batch.proposals = list(map(asdict, found.sheets))
    questions = found.questions if kind else (kind_question(workbook),)
    batch.report = {"questions": list(map(asdict, questions))}
    rests(batch, State.UPLOADED)


def _numbers(kind: str) -> Numbers:
    """The item numbers on record, as the check of a kind of spreadsheet goes by them."""
    if kind == "sets":
        instruments, retired = known_to_lines()
        return Numbers.of_lines(Catalog.of(instruments), retired)
    return Numbers(dict(Instrument.objects.values_list("item_number", "name")))


def _refuse_file(batch: SpreadsheetBatch, report: Report) -> None:
    batch.report = report.as_json()
    rests(batch, State.REFUSED)


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
    finish_records()
    batch.catalog_mark = last_change()
    said = said_of_rows(batch)
    batch.rows.all().delete()
    workbook, notes = with_known(read_batch(batch)), ColumnNotes()
    choices = choices_from_json(batch.mapping)
    if batch.kind == "sets":
        report = check_workbook(workbook, "sets", choices=choices)
        counts = keep(batch, ((row, None) for row in report.rows), notes)
    else:
        report, counts = _check_instruments(batch, workbook, choices, notes, how_far)
    if report.file_problems:
        _refuse_file(batch, report)
        return
    batch.report = {
        **report.as_json(),
        "counts": counts,
        "problems": [problem_as_json(each) for each in report.problems_of_no_row],
        "notes": [asdict(each) for each in (*report.column_notes, *notes.said())],
    }
    rests(batch, State.CHECKED)
    say_again(batch, said)


def _check_instruments(
    batch: SpreadsheetBatch,
    workbook: Workbook,
    choices: Choices,
    notes: ColumnNotes,
    how_far: HowFar,
) -> tuple[Report, dict[str, int]]:
    known = known_instruments()
    under_way = InstrumentCheck(
        workbook, known, choices=choices, protectors=stocked_protectors(), in_use=numbers_in_use()
    )
    names = Names()
    for number, values in known.items():
        names.add(number, str(values["name"]))
    rows = _with_likeness(under_way.rows(), names, known)
    counts = keep(batch, rows, notes, lambda done: how_far(done, under_way.row_count))
    return with_remarks(_with_other_numbers(batch, under_way.report()), workbook), counts


def _with_likeness(
    rows: Iterable[RowReport], names: Names, known: Mapping[str, Mapping[str, Any]]
) -> Iterator[tuple[RowReport, Like | None]]:
    """Each row with the instrument that a new one may be: in the catalog, or further up."""
    for row in rows:
        name = str(row.values.get("name") or "")
        new = row.key and row.key not in known and row.verdict is not Verdict.REFUSED
        found = names.like(name) if new else None
        if found is None:
            yield row, None
        else:
            was = known.get(found[0])
            changes = would_change(was, found[0], row.values) if was else ()
            yield row, {"key": found[0], "name": found[1], "changes": list(map(asdict, changes))}
        if new:
            names.add(row.key, name)


def _with_other_numbers(batch: SpreadsheetBatch, report: Report) -> Report:
    """A new row that reads like one instrument that is gone from the list may be that one with
    another number; where two rows may be it, it is offered for neither."""
    alike = batch.rows.exclude(same_as=None).values_list("same_as__key", flat=True)
    found = meant_once(alike).intersection(report.updated.get("gone", ()))
    return replace(report, updated={**report.updated, "other_numbers": sorted(found)})


def keep(
    batch: SpreadsheetBatch,
    rows: Iterable[tuple[RowReport, Like | None]],
    notes: ColumnNotes,
    tick: Tick = nobody_watches,
) -> dict[str, int]:
    """Write the rows of the report; the number of each verdict comes back."""
    counts: Counter[str] = Counter({str(verdict): 0 for verdict in Verdict})
    done = 0
    for chunk in chunks(rows, ROWS_AT_A_TIME):
        write_rows((SpreadsheetRow, [_stored(batch, row, like) for row, like in chunk]))
        for row, _ in chunk:
            counts[str(row.verdict)] += 1
            notes.add(row)
        done += len(chunk)
        tick(done)
    return dict(counts)


def _stored(batch: SpreadsheetBatch, row: RowReport, like: Like | None) -> SpreadsheetRow:
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
        same_as=like,
    )


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
