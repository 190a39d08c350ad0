"""Applying a checked spreadsheet, and taking it back: all of it at one moment, or nothing."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from itertools import islice
from typing import Any

from django.db import IntegrityError
from django.db.models import Max, Model, Q, QuerySet, prefetch_related_objects
from django.utils import timezone

from catalog.actions import Actor
from catalog.actions.count_sheets import sheet_key
from catalog.actions.many_sets import ManySets
from catalog.actions.staging import (
    ROWS_AT_A_TIME,
    Staging,
    chunks,
    finish_records,
    forget,
    in_one_step,
    uses_of,
)
from catalog.models import (
    Change,
    CountSheet,
    Instrument,
    InstrumentSet,
    Line,
    SpreadsheetBatch,
    SpreadsheetRow,
    Unrecorded,
    lines_with_instruments,
)
from catalog.spreadsheets.batches.applying import (
    Applied,
    HowFar,
    Planned,
    apply_report,
    check_workbook,
    nobody_watches,
    stage_instruments,
    without_lines,
)
from catalog.spreadsheets.batches.correcting import read_batch
from catalog.spreadsheets.batches.headings import headings_before
from catalog.spreadsheets.batches.known import with_known
from catalog.spreadsheets.cells.folding import folded_number
from catalog.spreadsheets.cells.report import Report, Verdict
from catalog.spreadsheets.checking.matching import SPARES
from catalog.spreadsheets.columns.choices import choices_from_json

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


def rests(batch: SpreadsheetBatch, state: str) -> None:
    """The job is done."""
    batch.job, batch.state = Job.NONE, state
    batch.save()


def last_change() -> int:
    """The number of the last change on record; 0 when there is none."""
    return Change.objects.aggregate(last=Max("pk"))["last"] or 0


def catalog_changes(batch: SpreadsheetBatch, since: int | None = None) -> list[Change]:
    """What others changed since the batch was checked (or since that change on record) of what the
    batch is about to change; :data:`MOST_NAMED` and one more at the most.

    Spares that a bench took or brought back are no such change: a list leaves them as they are,
    unless somebody asked for its spares.
    """
    changes = Change.objects.filter(
        pk__gt=batch.catalog_mark or 0 if since is None else since,
        kind__in=KINDS_CHANGED[batch.kind],
    ).exclude(batch=batch.label)
    if not changes.exists():
        return []
    mine = set(map(folded_number, _numbers_of(batch)))
    spares = bool(batch.selection.get("spares"))
    found = (
        each
        for each in changes.iterator()
        if (spares or not _is_of_spares(each))
        and (each.kind != "instrument" or folded_number(each.object_key) in mine)
    )
    return list(islice(found, MOST_NAMED + 1))


def _numbers_of(batch: SpreadsheetBatch) -> Iterator[str]:
    yield from batch.rows.values_list("key", flat=True)
    yield from (row.renumbers for row in batch.rows.exclude(same_as=None).exclude(changes=[]))
    yield from batch.selection.get("retire", ())


def _is_of_spares(change: Change) -> bool:
    """Whether it is a piece that went or came, at a bench."""
    return change.verb == Change.Verb.CHANGED and set(change.after or ()) == {SPARES}


def refuse_changed(batch: SpreadsheetBatch, since: int | None = None) -> None:
    """RefusedError where others changed what the batch is about to change."""
    if changes := catalog_changes(batch, since):
        told = " ".join([*_told(changes), *(["There are more."] if changes[MOST_NAMED:] else [])])
        raise RefusedError(f"The catalog changed since the check. {told} Check again.")


def _refuse_unrecorded() -> None:
    """While the records of another batch are not whole, nobody can tell what it changed."""
    if other := Unrecorded.objects.first():
        raise RefusedError(f"“{other}” was written at the same moment. Press again.")


# Applying


def selected(batch: SpreadsheetBatch) -> QuerySet[SpreadsheetRow]:
    """The rows to apply: whole groups, single rows, never one that must not go in."""
    groups = batch.selection.get("groups", [])
    rows = batch.selection.get("rows", [])
    wanted = Q(verdict__in=groups) | Q(pk__in=rows)
    if batch.selection.get("spares"):
        wanted |= Q(verdict=Verdict.UNCHANGED) & ~Q(changes=[])
    return batch.rows.filter(wanted, goes_in=True, left_out=False)


def in_pieces(rows: QuerySet[SpreadsheetRow]) -> Iterator[list[SpreadsheetRow]]:
    """The rows, some hundreds at a time, each piece read to its end: a half-read answer would pin
    SQLite to an old state of the database, from which nothing can be written."""
    keys = list(rows.order_by("pk").values_list("pk", flat=True))
    for piece in chunks(keys, ROWS_AT_A_TIME):
        yield list(rows.filter(pk__in=piece).order_by("pk"))


def apply(batch: SpreadsheetBatch, how_far: HowFar = nobody_watches) -> Applied:
    """Write the selected rows: all of them, or none when anything is in the way."""
    _forget_left_over()
    seen = last_change()
    refuse_changed(batch)

    def within(applied: Applied) -> None:
        _refuse_unrecorded()
        refuse_changed(batch, seen)
        is_applied(batch, applied)

    actor = Actor(batch.applied_by, batch.label, account=batch.applied_account)
    try:
        if batch.kind == "sets":
            report = _sets_to_apply(batch)
            of = len(report.rows)
            return apply_report(report, actor, lambda done: how_far(done, of), within)
        return _apply_instruments(batch, actor, within, how_far)
    except IntegrityError as error:
        raise RefusedError(TAKEN_MEANWHILE) from error


TAKEN_MEANWHILE = "Somebody else put one of these numbers on record meanwhile. Check again."


def _forget_left_over() -> None:
    """What killed jobs had staged, thrown away by the next one."""
    finish_records()
    busy = [each.label for each in SpreadsheetBatch.objects.exclude(job=Job.NONE).only("pk")]
    due = Unrecorded.objects.values_list("batch", flat=True)
    forget(~Q(batch__in=[*busy, *due]))


def is_applied(batch: SpreadsheetBatch, applied: Applied) -> None:
    """The batch says so, in the transaction that shows what it wrote."""
    batch.said, batch.applied_at = str(applied), timezone.now()
    rests(batch, State.APPLIED)


def _sets_to_apply(batch: SpreadsheetBatch) -> Report:
    workbook, choices = with_known(read_batch(batch)), choices_from_json(batch.mapping)
    report = check_workbook(workbook, "sets", choices=choices)
    return without_lines(report, set(batch.rows.filter(left_out=True).values_list("sheet", "row")))


def _apply_instruments(
    batch: SpreadsheetBatch, actor: Actor, within: Callable[[Applied], None], how_far: HowFar
) -> Applied:
    rows, applied = selected(batch), Applied()
    retired = batch.selection.get("retire", [])
    of = rows.count() + len(retired)

    def stage(staging: Staging) -> None:
        planned = (
            Planned(row.renumbers or row.key, row.taken, _values(row, "new"))
            for piece in in_pieces(rows)
            for row in piece
        )
        stage_instruments(planned, staging, applied, lambda done: how_far(done, of))
        for numbers in chunks(retired, ROWS_AT_A_TIME):
            gone = Instrument.objects.filter(item_number__in=numbers, retired=False)
            applied.done["retired"] += len(gone)
            staging.retire(gone, True, f"not in {batch.file_name} any more")

    in_one_step(actor, stage, lambda: within(applied))
    return applied


def _values(row: SpreadsheetRow, which: str) -> dict[str, Any]:
    """Of the row's changes that are done, the "new" values or the "old" ones, by field."""
    return {each["field"]: each[which] for each in row.done}


def _told(changes: Sequence[Change]) -> list[str]:
    return [
        f"{(each.before or {}).get('code', each.object_key)} was {each.verb} by {each.actor} on "
        f"{each.at:%Y-%m-%d %H:%M}."
        for each in changes[:MOST_NAMED]
    ]


# Taking back


def in_the_way(batch: SpreadsheetBatch) -> list[str]:
    """What would be lost if the batch were taken back: later changes, what counts on what it added,
    and packaging of before that is gone. Empty when nothing would."""
    mine = Change.objects.filter(batch=batch.label)
    first = mine.order_by("pk").values_list("pk", flat=True).first()
    if first is None:
        return []
    lost = headings_before(batch)[1]
    return [*_told(_later(batch, first)), *map(_use_told, _uses(batch)), *lost]


def _uses(batch: SpreadsheetBatch) -> Iterator[Model]:
    """What counts on what the batch added, but for its own count sheets, which go with it."""
    instruments, sets, sheets = _added_by(batch)
    own = [sheet.pk for sheet in sheets]
    yield from uses_of(instruments, but=[Line])
    yield from uses_of(sets, but=[CountSheet])
    lines = Line.objects.filter(instrument__in=instruments).exclude(count_sheet__in=own)
    yield from lines[:MOST_NAMED]
    revisions = CountSheet.objects.filter(instrument_set__in=sets).exclude(pk__in=own)
    yield from revisions[:MOST_NAMED]


def _added_by(
    batch: SpreadsheetBatch,
) -> tuple[QuerySet[Instrument], QuerySet[InstrumentSet], list[CountSheet]]:
    """The instruments, sets and count sheets that a batch added and that are still there."""
    mine = Change.objects.filter(batch=batch.label, verb=Change.Verb.ADDED)
    keys = {
        kind: mine.filter(kind=kind).values("object_key")
        for kind in ("instrument", "set", "count sheet")
    }
    named = set(keys["count sheet"].values_list("object_key", flat=True))
    codes = {key.rpartition(" r")[0] for key in named}
    sheets = CountSheet.objects.filter(instrument_set__code__in=codes)
    return (
        Instrument.objects.filter(item_number__in=keys["instrument"]),
        InstrumentSet.objects.filter(code__in=keys["set"]),
        [each for each in sheets.select_related("instrument_set") if sheet_key(each) in named],
    )


def _use_told(use: Model) -> str:
    if isinstance(use, Line):
        return f"{use.instrument.item_number} is counted on {use.count_sheet}."
    if isinstance(use, CountSheet):
        return f"{use} was made since."
    return f"What it added is in use: {use._meta.verbose_name} {use}."


def _later(batch: SpreadsheetBatch, since: int) -> list[Change]:
    """What others did later to what the batch has changed."""
    mine = Change.objects.filter(batch=batch.label)
    later = Change.objects.filter(pk__gt=since, kind__in=KINDS_CHANGED[batch.kind]).exclude(
        batch=batch.label
    )
    found = later.filter(object_key__in=mine.values("object_key"))[:MOST_NAMED]
    return [*found, *_coded_anew(later, mine)]


def _coded_anew(later: QuerySet[Change], mine: QuerySet[Change]) -> list[Change]:
    """Of later changes, those that gave a set that was changed here another code."""
    found = later.filter(verb=Change.Verb.CHANGED, kind="set", before__has_key="code")
    codes = set(mine.filter(kind="set").values_list("object_key", flat=True)) if found else ()
    return [each for each in found if (each.before or {})["code"] in codes]


def revert(batch: SpreadsheetBatch, how_far: HowFar = nobody_watches) -> None:
    """Take the whole batch back, or nothing of it. Its records stay, and new ones are written."""
    _forget_left_over()
    seen = last_change()
    _refuse_loss(in_the_way(batch))

    def within() -> None:
        _refuse_unrecorded()
        _refuse_loss(_told(_later(batch, seen)))
        batch.said = ""
        rests(batch, State.REVERTED)

    actor = Actor(
        batch.applied_by, batch.label, "the spreadsheet was taken back", batch.applied_account
    )
    gone = ManySets(actor)

    def stage(staging: Staging) -> None:
        if batch.kind == "sets":
            _stage_sets_back(batch, staging, gone)
        else:
            _stage_back(batch, staging, how_far)

    def may_go() -> None:
        gone.lock()
        within()
        gone.write()

    try:
        in_one_step(actor, stage, may_go)
    except IntegrityError as error:
        raise RefusedError("Something it added was used meanwhile. Look again.") from error


def _stage_sets_back(batch: SpreadsheetBatch, staging: Staging, gone: ManySets) -> None:
    instruments, sets, sheets = _added_by(batch)
    prefetch_related_objects(sheets, lines_with_instruments())
    gone.remove(sets, sheets)
    for one, before in headings_before(batch)[0]:
        gone.change(one, before)
    gone.ready()
    for numbers in chunks(list(instruments.values_list("pk", flat=True)), ROWS_AT_A_TIME):
        staging.remove(Instrument.objects.filter(pk__in=numbers).prefetch_related("cycles"))


def _refuse_loss(told: Sequence[str]) -> None:
    if told:
        raise RefusedError(f"Taking it back would lose later work. {' '.join(told)}")


def _stage_back(batch: SpreadsheetBatch, staging: Staging, how_far: HowFar) -> None:
    mine = Change.objects.filter(batch=batch.label, kind="instrument")
    added = set(mine.filter(verb=Change.Verb.ADDED).values_list("object_key", flat=True))
    rows = selected(batch)
    of, done = rows.count(), 0
    for chunk in in_pieces(rows):
        numbers = [row.key for row in chunk if row.key in added]
        there = Instrument.objects.filter(item_number__in=numbers).prefetch_related("cycles")
        staging.remove(there)
        back = (
            Planned(row.key, {}, _values(row, "old"))
            for row in chunk
            if row.changes and row.key not in added
        )
        stage_instruments(back, staging, Applied())
        done += len(chunk)
        how_far(done, of)
    retired = mine.filter(verb=Change.Verb.RETIRED).values_list("object_key", flat=True)
    for keys in chunks(list(retired), ROWS_AT_A_TIME):
        staging.retire(Instrument.objects.filter(item_number__in=keys), False, "")
