"""What a check of a spreadsheet says: a report, never an exception.

Every code a problem can have stands in :data:`EFFECTS` with what it does to its row. A row
with any refusing problem is left out; one that waits is kept out until somebody answers; a
question alone lets the row in with the value stored as unknown; a note changes nothing.
"""

from __future__ import annotations

import re
import unicodedata
from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass, field, replace
from decimal import Decimal
from enum import StrEnum
from pathlib import Path
from typing import Any

from catalog.data_files import read_words
from catalog.spreadsheets.workbook.safety import FileProblem

NOT_IN_A_CELL = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f]")
"""Marks that no workbook can hold (XML 1.0, 2.2)."""


class Verdict(StrEnum):
    """What becomes of one row."""

    NEW = "new"
    CHANGED = "changed"
    UNCHANGED = "unchanged"
    DOUBTFUL = "doubtful"
    REFUSED = "refused"


class Effect(StrEnum):
    """What one problem does to its row."""

    NOTE = "note"
    QUESTION = "question"
    WAITS = "waits"
    REFUSES = "refuses"


_DECLARED = read_words(Path(__file__).with_name("effects.toml"))
EFFECTS: Mapping[str, Effect] = {
    code: Effect(effect) for code, effect in _DECLARED["effects"].items()
}
"""Every code of a problem, and what it does to its row."""
RIGHT: Mapping[str, str] = _DECLARED["right"]
"""The codes to which a person may answer that the cell is right as it is, with the words for it."""
ONCE_A_COLUMN: Mapping[str, str] = _DECLARED["once_a_column"]
"""The notes that a report has once for a column, with the words for many of them."""


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong with one cell: where the spreadsheet shows it, and what was typed."""

    sheet: str
    row: int
    column: str
    heading: str
    value: str
    code: str
    message: str

    @property
    def effect(self) -> Effect:
        """What this does to the row."""
        return EFFECTS[self.code]


def problem_as_json(problem: Problem) -> dict[str, object]:
    """The problem as it is kept with its row: with what it does to it."""
    return {**asdict(problem), "effect": str(problem.effect)}


@dataclass(frozen=True, slots=True)
class Note:
    """Something the reader decided for a whole column or sheet, with the evidence.

    Codes: ``unit_judged``, ``no_unit``, ``no_header``, ``missing_column``, ``not_read``,
    ``hidden_sheet``, ``hidden_rows``, ``hidden_columns``, ``left_out``,
    ``total_checked``, ``another_table``, ``table_beside``, ``filled_down``,
    ``how_read``.
    """

    sheet: str
    row: int
    column: str
    heading: str
    code: str
    message: str


@dataclass(frozen=True, slots=True)
class Choice:
    """One answer that a question may have, and what would be read with it: up to three values."""

    answer: str
    shows: tuple[str, ...] = ()


ANSWER = "ANSWER"
"""Stands in the option of a question where the answer goes."""


@dataclass(frozen=True, slots=True)
class Question:
    """What the file alone does not say. ``option`` answers it at the command line, with
    :data:`ANSWER` in the place of the answer; the likeliest choice comes first."""

    sheet: str
    about: str
    choices: tuple[Choice, ...]
    option: str


@dataclass(frozen=True, slots=True)
class Change:
    """One field of a known item that the row would change; ``left_out``: told and not done."""

    field: str
    old: object
    new: object
    left_out: bool = False


@dataclass(frozen=True, slots=True)
class SkippedRow:
    """A row that is no item: ``reason`` is title, heading, group, total or set heading."""

    sheet: str
    row: int
    reason: str
    text: str


@dataclass(frozen=True, slots=True)
class RowReport:
    """One row: its key (the item number), verdict, values as read, and all its problems."""

    sheet: str
    row: int
    key: str
    verdict: Verdict
    values: Mapping[str, object] = field(default_factory=dict)
    problems: tuple[Problem, ...] = ()
    changes: tuple[Change, ...] = ()
    held: bool = False
    """True when the set it belongs to waits."""
    cells: Mapping[str, str] = field(default_factory=dict)
    """Column letter to what was typed, of a row with problems: it may be corrected."""

    @property
    def done(self) -> tuple[Change, ...]:
        """Its changes but those that are left out."""
        return tuple(each for each in self.changes if not each.left_out)

    @property
    def waits(self) -> bool:
        """True when the row must not be applied before somebody has answered."""
        return self.held or any(problem.effect is Effect.WAITS for problem in self.problems)

    @property
    def goes_in(self) -> bool:
        """True when applying the report writes this row."""
        return self.verdict is not Verdict.REFUSED and not self.waits


@dataclass(frozen=True, slots=True)
class SetReport:
    """One set: what its heading says, its lines, and what is wrong with it as a whole."""

    code: str
    name: str
    service: str
    revision: str
    packed_in: str
    sheet: str
    lines: tuple[RowReport, ...]
    verdict: Verdict
    problems: tuple[Problem, ...] = ()
    changes: tuple[Change, ...] = ()
    removed: tuple[str, ...] = ()
    """Item numbers on the known count sheet that are not on this one."""

    @property
    def waits(self) -> bool:
        """True when the set as a whole must not be applied yet, whatever its lines say."""
        return any(problem.effect is Effect.WAITS for problem in self.problems)

    @property
    def left_out(self) -> int:
        """How many lines of the sheet would not go in."""
        return sum(not line.goes_in for line in self.lines)

    def as_json(self) -> dict[str, object]:
        """The set without its lines' values."""
        heading = ("code", "name", "service", "revision", "packed_in", "sheet")
        return {
            **{name: getattr(self, name) for name in heading},
            "verdict": str(self.verdict),
            "waits": self.waits,
            "lines": len(self.lines),
            "left_out": self.left_out,
            "made": len({line.key for line in self.lines if "new" in line.values}),
            "removed": list(self.removed),
        }


@dataclass(frozen=True, slots=True)
class Report:
    """The outcome of one check. With ``file_problems`` there are no rows.

    ``mapping``: for each sheet, column key to column letter; ``why``: column letter to the
    evidence in few words.
    ``other_problems``: those that belong to no row, such as a total row.
    """

    kind: str
    file_name: str
    sha256: str
    file_problems: tuple[FileProblem, ...] = ()
    rows: tuple[RowReport, ...] = ()
    sets: tuple[SetReport, ...] = ()
    other_problems: tuple[Problem, ...] = ()
    column_notes: tuple[Note, ...] = ()
    mapping: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    skipped: tuple[SkippedRow, ...] = ()
    questions: tuple[Question, ...] = ()
    why: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    updated: Mapping[str, Any] = field(default_factory=dict)
    """How much of the catalog a list of instruments holds, and what is gone from it."""

    @property
    def counts(self) -> dict[str, int]:
        """How many rows have each verdict; every verdict is there."""
        found = Counter(row.verdict for row in self.rows)
        return {str(verdict): found[verdict] for verdict in Verdict}

    @property
    def problems_of_no_row(self) -> tuple[Problem, ...]:
        """Those of whole sets, and those that belong to no row."""
        return (*(problem for one in self.sets for problem in one.problems), *self.other_problems)

    @property
    def problems(self) -> tuple[Problem, ...]:
        """All problems, sheet by sheet as in the file, from top to bottom, left to right."""
        every = [problem for row in self.rows for problem in row.problems]
        every += self.problems_of_no_row
        order = {sheet: place for place, sheet in enumerate(self.mapping)}
        return tuple(
            sorted(every, key=lambda p: (order.get(p.sheet, -1), p.row, len(p.column), p.column))
        )

    def as_json(self) -> dict[str, object]:
        """The report as plain lists, dicts, texts and numbers."""
        return {
            "kind": self.kind,
            "file_name": self.file_name,
            "sha256": self.sha256,
            "counts": self.counts,
            "problems": list(map(asdict, self.problems)),
            "file_problems": list(map(asdict, self.file_problems)),
            "notes": list(map(asdict, self.column_notes)),
            "skipped": list(map(asdict, self.skipped)),
            "updated": dict(self.updated),
            "mapping": {sheet: dict(columns) for sheet, columns in self.mapping.items()},
            "why": {sheet: dict(columns) for sheet, columns in self.why.items()},
            "sets": [one.as_json() for one in self.sets],
            "questions": list(map(asdict, self.questions)),
        }


def as_answered(
    problems: Iterable[Problem], right: Collection[tuple[str, int, str]]
) -> list[Problem]:
    """The problems, where those that a person answered with "it is right" are notes."""
    return [
        replace(each, code="said_right", message=f"{each.message} Answered: {RIGHT[each.code]}.")
        if each.code in RIGHT and (each.sheet, each.row, each.column) in right
        else each
        for each in problems
    ]


class ColumnNotes:
    """Notes on single cells, counted as rows go by and said once for each column."""

    def __init__(self) -> None:
        self._first: dict[tuple[str, str, str], Problem] = {}
        self._counts: Counter[tuple[str, str, str]] = Counter()

    def add(self, row: RowReport) -> None:
        """The notes of one more row."""
        for each in row.problems:
            if each.code in ONCE_A_COLUMN:
                at = (each.sheet, each.column, each.code)
                self._first.setdefault(at, each)
                self._counts[at] += 1

    def said(self) -> Iterator[Note]:
        """One note for each column and kind, at the first cell that has it."""
        for at, first in self._first.items():
            one, _, many = ONCE_A_COLUMN[first.code].partition(" | ")
            words = one if self._counts[at] == 1 else many.format(count=f"{self._counts[at]:,}")
            where = (first.sheet, first.row, first.column, first.heading)
            yield Note(*where, first.code, f"{first.heading}: {words}")


def notes_once_a_column(rows: Iterable[RowReport]) -> Iterator[Note]:
    """The notes on single cells of all rows, once for each column."""
    notes = ColumnNotes()
    for row in rows:
        notes.add(row)
    return notes.said()


def verdict_on(problems: Iterable[Problem], known: bool, changes: Sequence[Change]) -> Verdict:
    """The one verdict of a row from all its problems and what is known of it.

    >>> verdict_on([], known=True, changes=[])
    <Verdict.UNCHANGED: 'unchanged'>
    """
    effects = {problem.effect for problem in problems}
    if Effect.REFUSES in effects:
        return Verdict.REFUSED
    if effects & {Effect.WAITS, Effect.QUESTION}:
        return Verdict.DOUBTFUL
    if not known:
        return Verdict.NEW
    return Verdict.CHANGED if changes else Verdict.UNCHANGED


def changes_between(
    known: Mapping[str, object], values: Mapping[str, object]
) -> tuple[Change, ...]:
    """Field by field what ``values`` would change; fields that only one side has are left.

    >>> changes_between({"width_mm": None, "name": "Probe"}, {"width_mm": 3, "name": "Probe"})
    (Change(field='width_mm', old=None, new=3, left_out=False),)
    """
    return tuple(
        Change(name, known[name], new)
        for name, new in values.items()
        if name in known and not _same(known[name], new)
    )


def _same(old: object, new: object) -> bool:
    if old in (None, "") and new in (None, ""):
        return True
    if isinstance(old, list | tuple) and isinstance(new, list | tuple):
        return list(old) == list(new)
    if isinstance(old, str) and isinstance(new, str):
        return old == new or _shown(old) == _shown(new)
    if isinstance(old, int) and isinstance(new, str):
        return str(old) == new
    if isinstance(old, float) and isinstance(new, Decimal):
        return Decimal(str(old)) == new
    return old == new


def _shown(text: str) -> str:
    """A text as a cell can hold it: gaps and unprintable marks make no difference, lines do."""
    printed = "".join(mark for mark in text if unicodedata.category(mark) != "Cf")
    lines = re.split("\r\n|\r|\n", NOT_IN_A_CELL.sub("", printed))
    return "\n".join(" ".join(line.split()) for line in lines).strip()
