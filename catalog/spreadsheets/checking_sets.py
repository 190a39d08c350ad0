"""Check a workbook of count sheets: one sheet for each set, its heading block above its lines.

A line is matched by its item number; the name beside it must be the instrument's name or
one of its nicknames. A total is checked against the lines above it, and is never a line.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from openpyxl.utils import column_index_from_string, get_column_letter

from catalog.spreadsheets.cells import Place, plain_text, problem, read_text
from catalog.spreadsheets.columns import SET_COLUMNS, SET_LABELS, fold_heading
from catalog.spreadsheets.reading import Cell, Row, Sheet, Workbook
from catalog.spreadsheets.report import (
    Change,
    Note,
    Problem,
    Report,
    RowReport,
    SetReport,
    Verdict,
    changes_between,
    verdict_on,
)
from catalog.spreadsheets.tables import (
    ItemRow,
    Table,
    find_table,
    folded_number,
    no_table,
    tables_in,
    total_cell,
)

KnownSets = Mapping[str, Mapping[str, object]]
"""Set code to name, service, revision, packed_in, and lines: item number to quantity."""
Instruments = Mapping[str, tuple[str, Sequence[str]]]
"""Item number to name and nicknames."""

HEAD_FIELDS = {"set_name": "name", "service": "service", "packed_in": "packed_in"}


def looks_like_sets(workbook: Workbook) -> bool:
    """True when a sheet has the lines of a count sheet with a set number above them."""
    for sheet in workbook.sheets:
        table = find_table(sheet, SET_COLUMNS)
        required = {column.key for column in SET_COLUMNS if column.required}
        if table and required <= set(table.mapping) and "set_code" in _head_cells(table):
            return True
    return False


def check_sets(workbook: Workbook, known_sets: KnownSets, instruments: Instruments) -> Report:
    """The report on a workbook of count sheets; ``counts`` counts lines."""
    report = Report("sets", workbook.file_name, workbook.sha256)
    if workbook.problems:
        return replace(report, file_problems=workbook.problems)
    tables, notes = tables_in(workbook, SET_COLUMNS)
    if not tables:
        return replace(report, file_problems=(no_table(SET_COLUMNS),), column_notes=tuple(notes))
    check = _Check(
        {folded_number(code): (code, was) for code, was in known_sets.items()},
        {folded_number(number): (number, *names) for number, names in instruments.items()},
    )
    sets = tuple(check.one_set(table) for table in tables)
    return replace(
        report,
        rows=tuple(line for one in sets for line in one.lines),
        sets=sets,
        column_notes=(*notes, *check.notes),
        mapping={
            table.sheet.title: {key: mapped.letter for key, mapped in table.mapping.items()}
            for table in tables
        },
        skipped=tuple(row for table in tables for row in table.skipped),
    )


@dataclass(frozen=True, slots=True)
class _Head:
    """What the block above the lines says, and its problems."""

    values: dict[str, str]
    code_cell: Cell
    problems: tuple[Problem, ...]


@dataclass(slots=True)
class _Check:
    """The state of one check: what is known, and the set codes met so far."""

    known: dict[str, tuple[str, Mapping[str, object]]]
    instruments: dict[str, tuple[str, str, Sequence[str]]]
    met: dict[str, str] = field(default_factory=dict)
    notes: list[Note] = field(default_factory=list)

    def one_set(self, table: Table) -> SetReport:
        head = _read_head(table)
        problems = [*head.problems, *self._code_problems(head, table)]
        code = head.values["set_code"]
        spelled, was = self.known.get(folded_number(code), (code, None)) if code else ("", None)
        refused = verdict_on(problems, False, ()) is Verdict.REFUSED
        values = {**head.values, "set_code": spelled}
        lines = tuple(self._lines(table, values, was, refused))
        problems += self._total_problems(table, lines)
        changes = changes_between(was or {}, _head_values(values))
        removed = _removed(was, lines)
        return SetReport(
            spelled,
            values["set_name"],
            values["service"],
            values["revision"],
            values["packed_in"],
            table.sheet.title,
            lines,
            _set_verdict(problems, lines, was is not None, changes, removed),
            tuple(problems),
            changes,
            removed,
        )

    def _code_problems(self, head: _Head, table: Table) -> Iterator[Problem]:
        code, place = head.values["set_code"], Place(table.sheet.title, "Set no.")
        if not code:
            at = (head.code_cell.row, head.code_cell.column_letter)
            if at not in {(each.row, each.column) for each in head.problems}:
                message = 'The sheet has no set number. Write "Set no." and the number beside it.'
                yield problem(head.code_cell, place, "missing_set_code", message)
            return
        earlier = self.met.setdefault(folded_number(code), table.sheet.title)
        if earlier != table.sheet.title:
            message = f'{code} is already the number of the sheet "{earlier}". Give it its own.'
            yield problem(head.code_cell, place, "repeated_set", message)

    def _lines(
        self,
        table: Table,
        head: Mapping[str, str],
        was: Mapping[str, object] | None,
        refused: bool,
    ) -> Iterator[RowReport]:
        known_lines = _known_lines(was)
        met: dict[str, int] = {}
        for order, item in enumerate(table.items, start=1):
            problems: list[Problem] = []
            number = self._instrument(item, table, problems, met)
            values = {**head, "order": order, "item_number": number}
            values["quantity"] = _quantity(item, table, problems)
            if item.group is not None:
                values["section"] = item.group
            old = known_lines.get(folded_number(number))
            changes = changes_between({"quantity": old}, values) if old is not None else ()
            problems.sort(key=lambda p: (len(p.column), p.column))
            verdict = verdict_on(problems, old is not None, changes)
            yield RowReport(
                table.sheet.title,
                item.row.number,
                number,
                Verdict.REFUSED if refused else verdict,
                values,
                tuple(problems),
                changes,
            )

    def _instrument(
        self, item: ItemRow, table: Table, problems: list[Problem], met: dict[str, int]
    ) -> str:
        """The item number as the catalog spells it; problems are added."""
        cell, place = table.cell(item.row, "item_number"), table.place("item_number")
        reading = read_text(cell, place)
        problems += reading.problems
        number = str(reading.value or "")
        if not number:
            if not reading.problems:
                message = "The line has no item number. Write it, or delete the line."
                problems.append(problem(cell, place, "missing_item_number", message))
            return ""
        found = self.instruments.get(folded_number(number))
        if found is None:
            message = f"{number} is not in the catalog. Enter the instrument first, or correct it."
            problems.append(problem(cell, place, "unknown_instrument", message))
        else:
            number = found[0]
            _check_name(item, table, found, problems)
        earlier = met.setdefault(folded_number(number), item.row.number)
        if earlier != item.row.number:
            message = f"{number} stands already in row {earlier} of this set. Is that meant?"
            problems.append(problem(cell, place, "repeated_line", message))
        return number

    def _total_problems(self, table: Table, lines: Sequence[RowReport]) -> list[Problem]:
        found: list[Problem] = []
        last = table.header.number
        for row in table.totals:
            said, cell = _total_said(row, table)
            place = Place(table.sheet.title, table.heading_of(cell.column_letter))
            above = [line for line in lines if line.row < row.number]
            counts = [line.values["quantity"] for line in above]
            since = [line.values["quantity"] for line in above if line.row > last]
            last = row.number
            if said is None or None in counts:
                message = "The total cannot be checked: it, or a count above it, is no number."
                found.append(problem(cell, place, "total_unreadable", message))
            elif said not in (_sum(counts), _sum(since)):
                message = (
                    f"The total says {said}, the lines above it make {_sum(counts)}. Count again."
                )
                found.append(problem(cell, place, "total_mismatch", message))
            else:
                message = f"The total of {said} agrees with the lines above it."
                self.notes.append(
                    Note(
                        table.sheet.title,
                        row.number,
                        cell.column_letter,
                        place.heading,
                        "total_checked",
                        message,
                    )
                )
        return found


def _sum(counts: Sequence[object]) -> int:
    return sum(count for count in counts if isinstance(count, int))


def _check_name(
    item: ItemRow,
    table: Table,
    instrument: tuple[str, str, Sequence[str]],
    problems: list[Problem],
) -> None:
    cell, place = table.cell(item.row, "name"), table.place("name")
    reading = read_text(cell, place)
    if reading.problems:
        problems += reading.problems
        return
    number, name, aliases = instrument
    allowed = {fold_heading(each) for each in (name, *aliases)}
    if reading.value and fold_heading(str(reading.value)) not in allowed:
        message = (
            f'{number} is "{name}" in the catalog, but the line says "{reading.value}". '
            "Correct one of them, or add the nickname."
        )
        problems.append(problem(cell, place, "name_mismatch", message))


def _quantity(item: ItemRow, table: Table, problems: list[Problem]) -> int | None:
    cell, place = table.cell(item.row, "quantity"), table.place("quantity")
    column = next(column for column in SET_COLUMNS if column.key == "quantity")
    reading = column.reader(cell, place)
    problems += reading.problems
    if cell.is_empty or any(each.code == "unknown_value" for each in reading.problems):
        message = "The line has no count. Write how many belong in the set."
        problems.append(problem(cell, place, "missing_quantity", message))
    return reading.value if isinstance(reading.value, int) else None


def _total_said(row: Row, table: Table) -> tuple[int | None, Cell]:
    """The number in a total row: in the quantity column, or the only number there is.

    A formula counts with what the spreadsheet program last calculated.
    """
    quantity = table.cell(row, "quantity")
    others = [cell for cell in row.cells if cell is not quantity]
    for cell in [quantity, *others]:
        value = cell.value
        if isinstance(value, int | float) and not isinstance(value, bool) and value == value // 1:
            return int(value), cell
    return None, total_cell(row) or quantity


def _head_cells(table: Table) -> dict[str, tuple[Cell, Cell]]:
    """Label key to the label's cell and the value's cell, from the rows above the lines."""
    found: dict[str, tuple[Cell, Cell]] = {}
    for row in table.sheet.rows:
        if row.number >= table.header.number:
            break
        for place, cell in enumerate(row.cells):
            for key, labels in SET_LABELS.items():
                if isinstance(cell.value, str) and fold_heading(cell.value) in labels:
                    beside = row.cells[place + 1] if place + 1 < len(row.cells) else cell
                    if _is_label(beside):
                        beside = Cell(row.number, _next_letter(cell.column_letter))
                    found.setdefault(key, (cell, beside))
    return found


def _next_letter(letter: str) -> str:
    return str(get_column_letter(column_index_from_string(letter) + 1))


def _is_label(cell: Cell) -> bool:
    folded = fold_heading(cell.typed)
    return any(folded in labels for labels in SET_LABELS.values())


def _read_head(table: Table) -> _Head:
    cells = _head_cells(table)
    values = dict.fromkeys(SET_LABELS, "")
    problems: list[Problem] = []
    for key, (label, cell) in cells.items():
        reading = read_text(cell, Place(table.sheet.title, label.typed.strip()))
        values[key] = str(reading.value or "")
        problems += reading.problems
    if "set_name" not in cells:
        values["set_name"] = _title(table.sheet, table.header)
    empty = Cell(table.header.number, "A")
    code_cell = cells["set_code"][1] if "set_code" in cells else empty
    return _Head(values, code_cell, tuple(problems))


def _title(sheet: Sheet, header: Row) -> str:
    """The name of a set: the first lonely text above the lines, else the sheet's title."""
    for row in sheet.rows:
        if row.number < header.number and len(row.cells) == 1 and not row.cells[0].formula:
            return plain_text(row.cells[0])
    return sheet.title


def _head_values(values: Mapping[str, str]) -> dict[str, object]:
    fields = {**HEAD_FIELDS, "revision": "revision"}
    return {name: values[key] for key, name in fields.items() if values[key]}


def _known_lines(was: Mapping[str, object] | None) -> dict[str, object]:
    lines = (was or {}).get("lines")
    if not isinstance(lines, Mapping):
        return {}
    return {folded_number(str(number)): quantity for number, quantity in lines.items()}


def _removed(was: Mapping[str, object] | None, lines: Sequence[RowReport]) -> tuple[str, ...]:
    here = {folded_number(line.key) for line in lines}
    known = (was or {}).get("lines")
    numbers = known if isinstance(known, Mapping) else {}
    return tuple(str(number) for number in numbers if folded_number(str(number)) not in here)


def _set_verdict(
    problems: Sequence[Problem],
    lines: Sequence[RowReport],
    known: bool,
    changes: Sequence[Change],
    removed: Sequence[str],
) -> Verdict:
    """A set with a line in doubt is itself in doubt: it would leave short without a word."""
    own = verdict_on(problems, known, changes)
    if own in (Verdict.REFUSED, Verdict.DOUBTFUL):
        return own
    if any(line.verdict in (Verdict.REFUSED, Verdict.DOUBTFUL) for line in lines):
        return Verdict.DOUBTFUL
    moved = removed or any(line.verdict is not Verdict.UNCHANGED for line in lines)
    return Verdict.CHANGED if own is Verdict.UNCHANGED and moved else own
