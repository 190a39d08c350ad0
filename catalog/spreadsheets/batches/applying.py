"""From a report to the catalog: the only half of the import that writes, in one transaction."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from itertools import islice
from pathlib import Path
from typing import Any, NamedTuple, TypeVar

from django.db import transaction
from django.db.models import QuerySet

from catalog import actions
from catalog.actions.bulk import ROWS_AT_A_TIME, add_instruments, change_instruments
from catalog.actions.count_sheets import copies_of
from catalog.models import (
    Basket,
    Container,
    CountSheet,
    Instrument,
    InstrumentSet,
    Protector,
    Wrap,
)
from catalog.spreadsheets.cells.cycles import NAMES as CYCLE_NAMES
from catalog.spreadsheets.cells.report import Report, RowReport, SetReport, Verdict
from catalog.spreadsheets.checking.instruments import HowFar, InstrumentCheck, guess_kind
from catalog.spreadsheets.checking.set_tables import without_sets
from catalog.spreadsheets.checking.sets import check_sets
from catalog.spreadsheets.columns.choices import Choices
from catalog.spreadsheets.columns.column import fold_heading
from catalog.spreadsheets.columns.instruments import INSTRUMENT_COLUMNS
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


T = TypeVar("T")


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
        "lines__instrument"
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
            "sequence": [line.instrument.item_number for line in lines],
        }
    return known


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
    if kind is None and not workbook.problems:
        kind = kind_of(workbook)
    if kind == "sets":
        instruments = {} if empty else {
            row.item_number: (row.name, row.nicknames)
            for row in Instrument.objects.filter(retired=False)
        }  # fmt: skip
        return check_sets(workbook, {} if empty else known_sets(), instruments, choices)
    listed, notes = without_sets(workbook)
    known = {} if empty else known_instruments()
    protectors = None if empty else stocked_protectors()
    report = InstrumentCheck(listed, known, choices, protectors).whole(how_far)
    return replace(report, column_notes=(*report.column_notes, *notes))


def check_file(path: Path, kind: str | None = None) -> Report:
    """:func:`check_workbook` on a file by its path; OSError when it cannot be opened."""
    return check_workbook(read_workbook(path.read_bytes(), path.name), kind)


@dataclass(slots=True)
class Applied:
    """What applying a report did."""

    done: Counter[str] = field(default_factory=Counter)
    left: Counter[str] = field(default_factory=Counter)

    def __str__(self) -> str:
        words = [f"{count} {what}" for what, count in (self.done + self.left).items()]
        return f"Read in: {', '.join(words) or 'nothing'}."


@transaction.atomic
def apply_report(report: Report, actor: actions.Actor, tick: Tick = nobody_watches) -> Applied:
    """Write every row that goes in; all of them or none.

    A new set's count sheet comes into force at once when every line goes in; one with a line
    left out, and a changed one, become drafts. Rows that wait or are refused are counted and left.
    """
    applied = Applied()
    if report.kind == "sets":
        for one in report.sets:
            _apply_set(one, actor, applied)
        return applied
    for row in report.rows:
        if not row.goes_in:
            applied.left["waiting" if row.waits else "refused"] += 1
    rows = (
        Planned(row.key, row.values, {each.field: each.new for each in row.changes})
        for row in report.rows
        if row.goes_in
    )
    apply_instruments(rows, actor, applied, tick)
    return applied


class Planned(NamedTuple):
    """One instrument to be written: all its values, and those that differ from the catalog."""

    key: str
    values: Mapping[str, Any]
    changes: Mapping[str, Any]


@transaction.atomic
def apply_instruments(
    rows: Iterable[Planned], actor: actions.Actor, applied: Applied, tick: Tick = nobody_watches
) -> None:
    """Add and change instruments, some hundreds at a time, in one transaction."""
    done = 0
    for chunk in chunks(rows, ROWS_AT_A_TIME):
        numbers = [row.key for row in chunk]
        there = Instrument.objects.filter(item_number__in=numbers).prefetch_related("cycles")
        known = {row.item_number: row for row in there}
        new = [row for row in chunk if row.key not in known]
        changed = [row for row in chunk if row.key in known and row.changes]
        add_instruments(actor, [
            ({"item_number": row.key, **_columns(row.values)}, _cycles(row.values)) for row in new
        ])  # fmt: skip
        change_instruments(actor, [
            (known[row.key], _columns(row.changes),
             _cycles(row.changes) if "methods" in row.changes else None) for row in changed
        ])  # fmt: skip
        applied.done["added"] += len(new)
        applied.done["changed"] += len(changed)
        applied.done["unchanged"] += len(chunk) - len(new) - len(changed)
        done += len(chunk)
        tick(done)
    applied.done = +applied.done


def chunks(rows: Iterable[T], size: int) -> Iterator[list[T]]:
    """``rows`` in lists of ``size``, the last one shorter."""
    iterator = iter(rows)
    while chunk := list(islice(iterator, size)):
        yield chunk


def _columns(values: Mapping[str, Any]) -> dict[str, Any]:
    """A row's values as the model holds them."""
    columns = {name: values[name] for name in PLAIN_FIELDS if name in values}
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


def _apply_set(one: SetReport, actor: actions.Actor, applied: Applied) -> None:
    if one.waits or one.verdict is Verdict.REFUSED:
        applied.left["sets waiting" if one.waits else "sets refused"] += 1
        return
    lines = [line for line in one.lines if line.goes_in]
    left_out = [_left_out(line) for line in one.lines if not line.goes_in]
    applied.left["lines left out"] += len(left_out)
    instrument_set = InstrumentSet.objects.filter(code=one.code).first()
    new = instrument_set is None
    if instrument_set is None:
        heading = {"name": one.name, "service": one.service, "packed_in": one.packed_in}
        instrument_set = actions.add_set(
            actor, {"code": one.code, **heading, **packaging(one.packed_in)}
        )
    else:
        headed = _change_heading(one, instrument_set, actor)
        if not _differs(one, instrument_set, len(lines)):
            applied.done["sets changed" if headed else "sets unchanged"] += 1
            return
    revision, rows = _revision(one, instrument_set), _lines(lines, instrument_set)
    if _is_drafted(instrument_set, rows, left_out):
        applied.done["sets unchanged"] += 1
        return
    sheet = actions.add_count_sheet(actor, instrument_set, revision, rows, left_out)
    if new and lines and not left_out:
        actions.approve_count_sheet(actor, sheet)
    applied.done["sets added" if new else "draft revisions"] += 1
    applied.done["new sets are drafts"] += bool(new and left_out)
    applied.done["lines"] += len(lines)


def _change_heading(one: SetReport, instrument_set: InstrumentSet, actor: actions.Actor) -> bool:
    """Name, service and packaging as the spreadsheet says them; whether any was another."""
    names = ("name", "service", "packed_in")
    values = {change.field: change.new for change in one.changes if change.field in names}
    if "packed_in" in values:
        found = packaging(str(values["packed_in"]))
        values |= dict.fromkeys(("container", "basket", "wrap")) | found
    if values:
        actions.change_set(actor, instrument_set, values)
    return bool(values)


def _differs(one: SetReport, instrument_set: InstrumentSet, lines: int) -> bool:
    """Whether the sheet's lines differ from the revision in force."""
    current = instrument_set.current
    changed = any(line.changes for line in one.lines)
    changed = changed or any(change.field == "order" for change in one.changes)
    return current is None or changed or bool(one.removed) or current.lines.count() != lines


def _is_drafted(
    instrument_set: InstrumentSet, rows: list[dict[str, Any]], left_out: list[str]
) -> bool:
    """Whether a set that nobody approved yet has a draft with just these lines."""
    wanted = [(row["instrument"].pk, row["quantity"], row["section"]) for row in rows]
    return instrument_set.current is None and any(
        sheet.left_out == left_out
        and list(sheet.lines.values_list("instrument_id", "quantity", "section")) == wanted
        for sheet in instrument_set.count_sheets.filter(state=CountSheet.State.DRAFT)
    )


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


def _left_out(line: RowReport) -> str:
    why = " ".join(problem.message for problem in line.problems)
    why = why or "Left out by the person who read the spreadsheet in."
    quantity = line.values.get("quantity") or "?"
    return f"row {line.row}: {quantity} × {line.key or 'no item number'}. {why}"


def _revision(one: SetReport, instrument_set: InstrumentSet) -> int:
    """The sheet's own revision where it is a new number, else the next one."""
    taken = list(instrument_set.count_sheets.values_list("revision", flat=True))
    stated = int(one.revision) if one.revision.isascii() and one.revision.isdigit() else 0
    return stated if stated > max(taken, default=0) else max(taken, default=0) + 1


def _lines(lines: list[RowReport], instrument_set: InstrumentSet) -> list[dict[str, Any]]:
    """The lines as rows. What a spreadsheet does not say is kept from the revision in force."""
    numbers = [line.key for line in lines]
    instruments = {
        row.item_number: row for row in Instrument.objects.filter(item_number__in=numbers)
    }
    current = instrument_set.current
    copies = copies_of(current) if current else []
    kept = {line["instrument"].item_number: line for line in copies}
    return [
        {
            "section": "",
            **kept.get(line.key, {}),
            **{name: line.values[name] for name in ("section", "quantity") if name in line.values},
            "order": order,
            "instrument": instruments[line.key],
        }
        for order, line in enumerate(lines, start=1)
    ]


def packaging(words: str) -> dict[str, Any]:
    """The container, basket or wrap that goes by exactly these words; nothing when unsure."""
    wanted = fold_heading(words)
    found: dict[str, Any] = {}
    for name, model in (("container", Container), ("basket", Basket), ("wrap", Wrap)):
        rows = [row for row in model.objects.all() if wanted in map(fold_heading, row.names)]
        if wanted and len(rows) == 1:
            found[name] = rows[0]
    return found if len(found) == 1 else {}
