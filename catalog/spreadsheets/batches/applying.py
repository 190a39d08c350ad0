"""From a report to the catalog: the only half of the import that writes, in one step."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any, NamedTuple

from django.db.models import QuerySet

from catalog import actions
from catalog.actions.many_sets import ManySets
from catalog.actions.staging import ROWS_AT_A_TIME, Staging, chunks, in_one_step
from catalog.models import (
    CountSheet,
    Instrument,
    InstrumentSet,
    Protector,
    lines_with_instruments,
)
from catalog.spreadsheets.batches.known import with_known
from catalog.spreadsheets.batches.sets import Applied, SetPlan
from catalog.spreadsheets.cells.report import Note, Report
from catalog.spreadsheets.checking.asking import letters_asked
from catalog.spreadsheets.checking.instruments import HowFar, InstrumentCheck, guess_kind
from catalog.spreadsheets.checking.matching import SPARES
from catalog.spreadsheets.checking.sets.lines import check_sets
from catalog.spreadsheets.checking.sets.tables import without_sets
from catalog.spreadsheets.columns.choices import Choices
from catalog.spreadsheets.columns.instruments import INSTRUMENT_COLUMNS
from catalog.spreadsheets.cycles.reading import NAMES as CYCLE_NAMES
from catalog.spreadsheets.workbook.reading import Workbook, read_workbook
from catalog.vocabulary import Kind

KINDS = ("instruments", "sets")
OTHERWISE_STORED = {"item_number", "also_known_as", "methods", "cycle", "forbids"}
"""Columns whose value is not simply that of the field of the same name."""
PLAIN_FIELDS = tuple(
    column.name for column in INSTRUMENT_COLUMNS if column.name not in OTHERWISE_STORED
)
NEVER_NULL = tuple(
    stored
    for stored in Instrument._meta.concrete_fields
    if stored.name in PLAIN_FIELDS and not stored.null
)
"""Fields that have a value of their own for "not known"."""


Tick = Callable[[int], None]
"""Told how many are done so far."""


def nobody_watches(*_done: int) -> None:
    """For those who do not watch."""


class KindUnknown(ValueError):  # noqa: N818
    """Nobody can tell whether a file holds instruments or sets."""


def known_instruments(among: QuerySet[Instrument] | None = None) -> dict[str, dict[str, Any]]:
    """Item number to field and value, as the checking half compares them."""
    rows = Instrument.objects.all() if among is None else among
    return {row.item_number: known_values(row) for row in rows.prefetch_related("cycles")}


def numbers_in_use() -> list[str]:
    """The item numbers of what is not retired."""
    return list(Instrument.objects.filter(retired=False).values_list("item_number", flat=True))


def stocked_protectors() -> set[str]:
    """The names and codes of the tip protectors in stock."""
    rows = Protector.objects.filter(in_stock=True).values_list("name", "code")
    return {word for row in rows for word in row}


def known_values(row: Instrument) -> dict[str, Any]:
    """What the catalog holds of one instrument; its cycles should be prefetched."""
    return {
        **{name: getattr(row, name) for name in PLAIN_FIELDS},
        "also_known_as": tuple(row.nicknames),
        "forbids": tuple(str(kind) for kind in Kind if kind in row.forbids),
        "methods": tuple(
            {name: getattr(cycle, name) for name in CYCLE_NAMES} for cycle in row.cycles.all()
        ),
    }


def known_sets() -> dict[str, dict[str, Any]]:
    """Set code to its heading and, for the revision in force, item number to quantity."""
    sheets = CountSheet.objects.filter(state=CountSheet.State.CURRENT).prefetch_related(
        lines_with_instruments(), "lines__substitutes"
    )
    current = {sheet.instrument_set_id: sheet for sheet in sheets}
    known = {}
    for row in InstrumentSet.objects.all():
        sheet = current.get(row.pk)
        lines = sheet.lines.all() if sheet else ()
        known[row.code] = {
            "name": row.name,
            "service": row.service,
            "packed_in": row.packed_in,
            "revision": str(sheet.revision) if sheet else "",
            "lines": {line.instrument.item_number: line.quantity for line in lines},
            "sections": {line.instrument.item_number: line.section for line in lines},
            "more": {
                line.instrument.item_number: {
                    "may_go_without": line.may_go_without,
                    "note": line.note,
                    "substitutes": tuple(each.item_number for each in line.substitutes.all()),
                }
                for line in lines
            },
            "sequence": [line.instrument.item_number for line in lines],
        }
    return known


def known_to_lines() -> tuple[dict[str, tuple[str, list[str]]], list[str]]:
    """Item number to name and nicknames of what a line of a count sheet can name, and the item
    numbers of what is retired."""
    instruments: dict[str, tuple[str, list[str]]] = {}
    retired: list[str] = []
    for row in Instrument.objects.only("item_number", "name", "also_known_as", "retired"):
        if row.retired:
            retired.append(row.item_number)
        else:
            instruments[row.item_number] = (row.name, row.nicknames)
    return instruments, retired


def kind_of(workbook: Workbook) -> str:
    """What a workbook holds; KindUnknown when it holds neither kind, or both."""
    kind = guess_kind(workbook)
    others, set_aside = without_sets(workbook)
    if set_aside and guess_kind(others) == "instruments":
        raise KindUnknown(
            f"{workbook.file_name} holds both instruments and count sheets. Read them one "
            "after the other: --kind instruments first, then --kind sets."
        )
    if kind is None:
        raise KindUnknown(
            f"{workbook.file_name} looks like neither a list of instruments nor count sheets: "
            "no row of headings was found. Say which it is (--kind instruments or --kind sets)."
        )
    return kind


def check_workbook(
    workbook: Workbook,
    kind: str | None = None,
    *,
    empty: bool = False,
    choices: Choices | None = None,
    how_far: HowFar = nobody_watches,
) -> Report:
    """The report on a workbook, with what a person said of its sheets; nothing is written.

    ``empty`` compares with an empty catalog. KindUnknown when ``kind`` is not given and the
    file does not say.
    """
    if workbook.problems:
        at = (kind or "instruments", workbook.file_name, workbook.sha256, workbook.problems)
        return Report(*at, questions=letters_asked(workbook))
    kind = kind or kind_of(workbook)
    if kind == "sets":
        instruments, retired = ({}, []) if empty else known_to_lines()
        known_by_code = {} if empty else known_sets()
        report = check_sets(workbook, known_by_code, instruments, choices, retired)
        return with_remarks(report, workbook)
    listed, notes = without_sets(workbook)
    known = {} if empty else known_instruments()
    protectors = None if empty else stocked_protectors()
    in_use = () if empty else numbers_in_use()
    report = InstrumentCheck(listed, known, choices, protectors, in_use).whole(how_far)
    return with_remarks(replace(report, column_notes=(*report.column_notes, *notes)), workbook)


def with_remarks(report: Report, workbook: Workbook) -> Report:
    """The report, which begins with how the file as a whole was read."""
    notes = [
        Note(workbook.sheets[0].title, 1, "", "", "how_read", remark) for remark in workbook.remarks
    ]
    return replace(report, column_notes=(*notes, *report.column_notes))


def check_file(path: Path, kind: str | None = None) -> Report:
    """:func:`check_workbook` on a file by its path; OSError when it cannot be opened."""
    return check_workbook(with_known(read_workbook(path.read_bytes(), path.name)), kind)


def apply_report(
    report: Report,
    actor: actions.Actor,
    tick: Tick = nobody_watches,
    within: Callable[[Applied], None] = lambda applied: None,
) -> Applied:
    """Write every row that goes in; all of them or none.

    A new set's count sheet comes into force at once when every line goes in; one with a line
    left out, and a changed one, become drafts. Rows that wait or are refused are counted and left.
    ``within`` runs in the transaction that shows it all, and may still refuse it.
    """
    applied = Applied()
    if report.kind == "sets":
        _apply_sets(report, actor, applied, tick, within)
        return applied
    for row in report.rows:
        if not row.goes_in:
            applied.left["waiting" if row.waits else "refused"] += 1
    rows = (
        Planned(row.key, row.values, {each.field: each.new for each in row.done})
        for row in report.rows
        if row.goes_in
    )
    in_one_step(
        actor,
        lambda staging: stage_instruments(rows, staging, applied, tick),
        lambda: within(applied),
    )
    return applied


def _apply_sets(
    report: Report, actor: actions.Actor, applied: Applied, tick: Tick,
    within: Callable[[Applied], None],
) -> None:  # fmt: skip
    sets = ManySets(actor)

    def stage(staging: Staging) -> None:
        plan, done = SetPlan(sets, staging, applied), 0
        for one in report.sets:
            plan.take(one)
            done += len(one.lines)
            tick(done)
        plan.end()

    def may_go() -> None:
        sets.lock()
        within(applied)

    in_one_step(actor, stage, may_go, sets.write)


class Planned(NamedTuple):
    """One instrument to be written: all its values, and those that differ from the catalog."""

    key: str
    values: Mapping[str, Any]
    changes: Mapping[str, Any]


def stage_instruments(
    rows: Iterable[Planned], staging: Staging, applied: Applied, tick: Tick = nobody_watches
) -> None:
    """Instruments that are added and changed, some hundreds at a time."""
    done = 0
    for chunk in chunks(rows, ROWS_AT_A_TIME):
        numbers = [row.key for row in chunk]
        there = Instrument.objects.filter(item_number__in=numbers).prefetch_related("cycles")
        known = {row.item_number: row for row in there}
        new = [row for row in chunk if row.key not in known]
        changed = [row for row in chunk if row.key in known and row.changes]
        staging.add([
            (_columns({**row.values, "item_number": row.key}), _cycles(row.values)) for row in new
        ])  # fmt: skip
        staging.change([
            (known[row.key], _columns(row.changes),
             _cycles(row.changes) if "methods" in row.changes else None) for row in changed
        ])  # fmt: skip
        applied.done["added"] += len(new)
        renumbered = sum("item_number" in row.changes for row in changed)
        applied.done["changed"] += len(changed) - renumbered
        applied.done["renumbered"] += renumbered
        applied.done["unchanged"] += len(chunk) - len(new) - len(changed)
        done += len(chunk)
        tick(done)
    applied.done = +applied.done


def _columns(values: Mapping[str, Any]) -> dict[str, Any]:
    """A row's values as the model holds them."""
    columns = {name: values[name] for name in ("item_number", *PLAIN_FIELDS) if name in values}
    for stored in NEVER_NULL:
        if stored.name in columns:
            columns[stored.name] = columns[stored.name] or stored.get_default()
    if "also_known_as" in values:
        columns["also_known_as"] = "; ".join(values["also_known_as"] or ())
    if "forbids" in values:
        columns["forbids"] = list(values["forbids"] or ())
    return columns


def _cycles(values: Mapping[str, Any]) -> list[dict[str, Any]]:
    return [dict(option) for option in values.get("methods") or ()]


def with_spares(report: Report) -> Report:
    """The report with the spares on hand set as the list says them."""
    rows = (
        replace(row, changes=tuple(
            replace(each, left_out=each.left_out and each.field != SPARES) for each in row.changes
        ))
        for row in report.rows
    )  # fmt: skip
    return replace(report, rows=tuple(rows))


def without_lines(report: Report, out: Collection[tuple[str, int]]) -> Report:
    """The report with the lines at these sheets and rows held back by a person."""
    sets = tuple(
        replace(one, lines=tuple(
            replace(line, held=True) if (line.sheet, line.row) in out else line
            for line in one.lines
        ))
        for one in report.sets
    )  # fmt: skip
    return replace(report, sets=sets, rows=tuple(line for one in sets for line in one.lines))
