"""Check a workbook of count sheets: a sheet for each set, or one long list of their lines.

A line is matched by its item number, else by its name; a name beside a number must be the
instrument's or one of its nicknames. A total is checked against the lines above it, and is
never a line.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from catalog.spreadsheets.cells.counts import read_quantity, says_a_count
from catalog.spreadsheets.cells.folding import folded_number
from catalog.spreadsheets.cells.named_sizes import LENGTH_IN_NAME, length_said, size_in_name
from catalog.spreadsheets.cells.report import (
    Change,
    Note,
    Problem,
    Report,
    RowReport,
    SetReport,
    Verdict,
    as_answered,
    changes_between,
    verdict_on,
)
from catalog.spreadsheets.cells.typed import Place, problem
from catalog.spreadsheets.checking.matching import Catalog, Instruments, match
from catalog.spreadsheets.checking.numbers import Numbers
from catalog.spreadsheets.checking.sets.questions import sets_in
from catalog.spreadsheets.checking.sets.tables import SetTable
from catalog.spreadsheets.checking.sheets import no_table
from catalog.spreadsheets.checking.tables import (
    ItemRow,
    Table,
    divided_by_a_comma,
    letters_of,
    reasons_of,
    total_cell,
)
from catalog.spreadsheets.columns.choices import Choices
from catalog.spreadsheets.columns.column import fold_heading
from catalog.spreadsheets.columns.sets import MORE_OF_A_LINE, SET_COLUMNS
from catalog.spreadsheets.workbook.reading import Cell, Row, Workbook
from catalog.units import show_length

KnownSet = Mapping[str, Any]
KnownSets = Mapping[str, KnownSet]
"""Set code to name, service, revision, packed_in, lines (item number to quantity), and where
known sections (item number to section) and sequence (the item numbers in their order)."""

NO_SET_SAID = "The line has no set number. Write it in every line."
HEAD_FIELDS = {"set_name": "name", "service": "service", "packed_in": "packed_in"}


def check_sets(
    workbook: Workbook,
    known_sets: KnownSets,
    instruments: Instruments,
    choices: Choices | None = None,
    retired: Iterable[str] = (),
) -> Report:
    """The report on a workbook of count sheets; ``counts`` counts lines.

    ``choices`` are a person's columns for a sheet. ``retired``: item numbers that are taken, of
    instruments that no line can name.
    """
    report = Report("sets", workbook.file_name, workbook.sha256)
    if workbook.problems:
        return replace(report, file_problems=workbook.problems)
    names = {code: str(was.get("name", "")) for code, was in known_sets.items()}
    catalog = Catalog.of(instruments)
    numbers = Numbers.of_lines(catalog, retired)
    found, notes, questions = sets_in(workbook, choices, names, numbers)
    report = replace(report, questions=questions)
    if not found:
        return replace(report, file_problems=(no_table(SET_COLUMNS),), column_notes=tuple(notes))
    check = _Check(
        {folded_number(code): (code, was) for code, was in known_sets.items()},
        catalog,
        numbers,
        workbook.right,
    )
    sets = tuple(check.one_set(each) for each in found)
    tables = list({id(each.whole): each.whole for each in found}.values())
    return replace(
        report,
        rows=tuple(line for one in sets for line in one.lines),
        sets=sets,
        column_notes=(*numbers.notes(tables), *notes, *check.notes),
        mapping=letters_of(tables),
        why=reasons_of(tables),
        skipped=tuple(row for table in tables for row in table.skipped),
    )


@dataclass(slots=True)
class _Check:
    """The state of one check: what is known, and the set codes met so far."""

    known: dict[str, tuple[str, KnownSet]]
    catalog: Catalog
    numbers: Numbers
    right: Collection[tuple[str, int, str]]
    met: dict[str, tuple[str, int]] = field(default_factory=dict)
    notes: list[Note] = field(default_factory=list)

    def one_set(self, each: SetTable) -> SetReport:
        table, head = each.table, each.head
        spelled, was = self._known_set(each)
        problems = [*head.problems, *self._code_problems(each, spelled)]
        refused = verdict_on(problems, False, ()) is Verdict.REFUSED
        values = {**head.values, "set_code": spelled}
        lines = tuple(self._lines(table, values, was, refused))
        problems += as_answered(self._total_problems(each, lines), self.right)
        if verdict_on(problems, False, ()) is Verdict.DOUBTFUL:
            lines = tuple(_held(line) for line in lines)
        changes = (*changes_between(was or {}, _head_values(values)), *_new_order(was, lines))
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

    def _known_set(self, each: SetTable) -> tuple[str, KnownSet | None]:
        """The set's code as the catalog spells it, and what it knows of the set.

        In a list the set column may hold the exact name of one known set instead.
        """
        code = each.head.values["set_code"]
        if not code or folded_number(code) in self.known or not each.in_a_list:
            return self.known.get(folded_number(code), (code, None))
        said = fold_heading(code)
        named = [
            (known, was)
            for known, was in self.known.values()
            if said and fold_heading(str(was.get("name", ""))) == said
        ]
        return named[0] if len(named) == 1 else (code, None)

    def _code_problems(self, each: SetTable, code: str) -> Iterator[Problem]:
        head, table = each.head, each.table
        place = Place(table.sheet.title, "Set no.")
        if not code and "set_code" in table.mapping:
            for item in table.items:
                yield table.problem(item.row, "set_code", "missing_set_code", NO_SET_SAID)
            return
        if not code:
            at = (head.code_cell.row, head.code_cell.column_letter)
            if at not in {(found.row, found.column) for found in head.problems}:
                message = 'The set has no number. Write "Set no." and the number beside it.'
                labeled = head.code_cell.row < table.header.number
                missing = "missing_set_code" if labeled else "unnumbered_set"
                yield problem(head.code_cell, place, missing, message)
            return
        here = (table.sheet.title, head.code_cell.row)
        earlier = self.met.setdefault(folded_number(code), here)
        if earlier != here:
            where = f'row {earlier[1]} of the sheet "{earlier[0]}"'
            message = f"{code} is already the number of the set in {where}. Give it its own."
            yield problem(head.code_cell, place, "repeated_set", message)

    def _lines(
        self,
        table: Table,
        head: Mapping[str, str],
        was: KnownSet | None,
        refused: bool,
    ) -> Iterator[RowReport]:
        known_lines, sections = _by_item(was, "lines"), _by_item(was, "sections")
        more: dict[str, Any] = _by_item(was, "more")
        met: dict[str, int] = {}
        for order, item in enumerate(table.items, start=1):
            problems = list(divided_by_a_comma(item.row, table))
            number = match(item, table, self.catalog, problems)
            values = {**head, "order": order}
            if not number and table.said.numbers_from and not problems:
                number = self._new(item, table, values, problems)
            if item.without_set:
                key = "set_code" if "set_code" in table.mapping else "set_name"
                problems.append(table.problem(item.row, key, "missing_set_code", NO_SET_SAID))
            _check_repeat(number, item, table, met, problems)
            values["item_number"] = number
            values["name"] = self._name(number, item, table)
            values["quantity"] = _quantity(item, table, problems)
            if (section := _section(item, table, problems)) is not None:
                values["section"] = section
            values |= self._more(item, table, problems)
            key = folded_number(number)
            known = key in known_lines
            old = {"quantity": known_lines.get(key)} if known else {}
            if key in sections:
                old["section"] = sections[key]
            old |= more.get(key, {})
            changes = changes_between(old, values)
            problems = as_answered(problems, self.right)
            problems.sort(key=lambda p: (len(p.column), p.column))
            verdict = verdict_on(problems, known, changes)
            yield RowReport(
                table.sheet.title,
                item.row.number,
                number,
                Verdict.REFUSED if refused else verdict,
                values,
                tuple(problems),
                changes,
                cells=item.row.typed if problems else {},
            )

    def _more(self, item: ItemRow, table: Table, problems: list[Problem]) -> dict[str, object]:
        """What else a line says; a substitute that nobody has makes it wait."""
        found: dict[str, object] = {}
        for column in MORE_OF_A_LINE:
            if column.key not in table.mapping:
                continue
            reading = column.reader(table.cell(item.row, column.key), table.place(column.key))
            problems += reading.problems
            if reading.value not in (None, "", ()):
                found[column.key] = reading.value
        named = found.get("substitutes")
        if isinstance(named, tuple):
            known = [self.catalog.by_number.get(folded_number(each)) for each in named]
            found["substitutes"] = tuple(each[0] for each in known if each)
            for number, each in zip(named, known, strict=True):
                if each is None:
                    message = f"{number} is not in the catalog. Correct it, or leave it out."
                    problems.append(
                        table.problem(item.row, "substitutes", "unknown_substitute", message)
                    )
        return found

    def _new(
        self, item: ItemRow, table: Table, values: dict[str, object], problems: list[Problem]
    ) -> str:
        """The number of an instrument that the department does not have yet: it goes in with its
        name, and with what its name says of its length."""
        name = table.text(item.row, "name", problems)
        number = self.numbers.of(name, table.said.numbers_from)
        message = f"“{name}” is not in the catalog. It goes in as a new instrument, {number}."
        problems.append(table.problem(item.row, "name", "new_instrument", message))
        values["new"] = {"name": name}
        if length := size_in_name(name):
            values["new"] = {"name": name, "notes": length_said(length)}
            problems.append(
                table.problem(item.row, "name", "length_in_name", LENGTH_IN_NAME.format(
                    show_length(length)))
            )  # fmt: skip
        return number

    def _name(self, number: str, item: ItemRow, table: Table) -> str:
        """The instrument's name as the catalog has it, else as the line says."""
        known = self.catalog.by_number.get(folded_number(number))
        if known is not None:
            return known[1]
        return table.text(item.row, "name", []) if "name" in table.mapping else ""

    def _total_problems(self, each: SetTable, lines: Sequence[RowReport]) -> list[Problem]:
        table, found = each.table, list[Problem]()
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
            elif said not in (_sum(counts), _sum(since), _list_sum(each, row)):
                message = (
                    f"The total says {said}, the lines above it make {_sum(counts)}. Count again."
                )
                found.append(problem(cell, place, "total_mismatch", message))
            else:
                message = f"The total of {said} agrees with the lines above it."
                at = (table.sheet.title, row.number, cell.column_letter, place.heading)
                self.notes.append(Note(*at, "total_checked", message))
        return found


def _check_repeat(
    number: str, item: ItemRow, table: Table, met: dict[str, int], problems: list[Problem]
) -> None:
    if not number:
        return
    earlier = met.setdefault(folded_number(number), item.row.number)
    if earlier != item.row.number:
        key = "item_number" if "item_number" in table.mapping else "name"
        message = f"{number} stands already in row {earlier} of this set. Is that meant?"
        problems.append(table.problem(item.row, key, "repeated_line", message))


def _section(item: ItemRow, table: Table, problems: list[Problem]) -> str | None:
    """The section of a line: from its column, else the heading row above; None: not said."""
    if "section" not in table.mapping:
        return item.group
    return table.text(item.row, "section", problems) or item.group or ""


def _list_sum(each: SetTable, row: Row) -> int | None:
    """The sum of all lines above a total of a long list; None when the set has its own sheet."""
    if not each.in_a_list:
        return None
    above = [item for item in each.whole.items if item.row.number < row.number]
    counts = [_quantity(item, each.whole, []) for item in above]
    return None if None in counts else _sum(counts)


def _held(line: RowReport) -> RowReport:
    refused = line.verdict is Verdict.REFUSED
    return line if refused else replace(line, verdict=Verdict.DOUBTFUL, held=True)


def _sum(counts: Sequence[object]) -> int:
    return sum(count for count in counts if isinstance(count, int))


def _quantity(item: ItemRow, table: Table, problems: list[Problem]) -> int | None:
    if "quantity" not in table.mapping:
        if "name" in table.mapping and says_a_count(table.text(item.row, "name", [])):
            message = f"The name may say how many there are; it was read as {table.said.quantity}."
            problems.append(table.problem(item.row, "name", "count_in_name", message))
        return table.said.quantity
    cell = table.cell(item.row, "quantity")
    reading = read_quantity(cell, table.place("quantity"))
    problems += reading.problems
    if cell.is_empty or any(each.code == "unknown_value" for each in reading.problems):
        message = "The line has no count. Write how many belong in the set."
        problems.append(table.problem(item.row, "quantity", "missing_quantity", message))
    return reading.value if isinstance(reading.value, int) else None


def _total_said(row: Row, table: Table) -> tuple[int | None, Cell]:
    """The number in a total row: in the quantity column, or the only number there is.

    A formula counts with what the spreadsheet program last calculated.
    """
    quantity = [table.cell(row, "quantity")] if "quantity" in table.mapping else []
    others = [cell for cell in row.cells if cell not in quantity]
    for cell in [*quantity, *others]:
        value = cell.value
        if isinstance(value, int | float) and not isinstance(value, bool) and value == value // 1:
            return int(value), cell
    return None, total_cell(row) or row.cells[0]


def _head_values(values: Mapping[str, str]) -> dict[str, object]:
    fields = {**HEAD_FIELDS, "revision": "revision"}
    return {name: values[key] for key, name in fields.items() if values[key]}


def _by_item(was: KnownSet | None, what: str) -> dict[str, object]:
    """What the catalog knows of each line of a set, by folded item number."""
    known = (was or {}).get(what) or {}
    return {folded_number(number): value for number, value in known.items()}


def _new_order(was: KnownSet | None, lines: Sequence[RowReport]) -> tuple[Change, ...]:
    """The order of the lines that both have, where it is another one."""
    known = (was or {}).get("sequence") or ()
    here = [line.key for line in lines if line.key]
    old = [number for number in known if number in here]
    new = [number for number in here if number in known]
    return (Change("order", tuple(old), tuple(new)),) if old != new else ()


def _removed(was: KnownSet | None, lines: Sequence[RowReport]) -> tuple[str, ...]:
    here = {folded_number(line.key) for line in lines}
    numbers = (was or {}).get("lines") or {}
    return tuple(number for number in numbers if folded_number(number) not in here)


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
