"""What becomes of the count sheets of a spreadsheet: new sets come into force where every line goes
in, the rest are drafts."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from catalog.actions.count_sheets import copies_of
from catalog.actions.many_sets import ManySets
from catalog.actions.staging import ROWS_AT_A_TIME, Staging, chunks
from catalog.models import Basket, Container, CountSheet, Instrument, InstrumentSet, Wrap
from catalog.spreadsheets.cells.report import RowReport, SetReport, Verdict
from catalog.spreadsheets.columns.column import fold_heading


@dataclass(slots=True)
class Applied:
    """What applying a report did."""

    done: Counter[str] = field(default_factory=Counter)
    left: Counter[str] = field(default_factory=Counter)

    def __str__(self) -> str:
        words = [f"{count} {what}" for what, count in (self.done + self.left).items()]
        return f"Read in: {', '.join(words) or 'nothing'}."


class SetPlan:
    """What becomes of the count sheets of a report, made ready without writing any of it."""

    def __init__(self, sets: ManySets, staging: Staging, applied: Applied) -> None:
        self._sets = sets
        self._staging = staging
        self._applied = applied
        self._packaging = Packaging()
        self._made: dict[str, Instrument] = {}
        self._said: list[tuple[dict[str, Any], tuple[()]]] = []

    def take(self, one: SetReport) -> None:
        """One count sheet: a new set, a draft, or nothing where it is as it was."""
        done, left = self._applied.done, self._applied.left
        if one.waits or one.verdict is Verdict.REFUSED:
            left["sets waiting" if one.waits else "sets refused"] += 1
            return
        lines = [line for line in one.lines if line.goes_in]
        left_out = [_left_out(line) for line in one.lines if not line.goes_in]
        left["lines left out"] += len(left_out)
        was = InstrumentSet.objects.filter(code=one.code).first()
        if was is not None:
            headed = self._change_heading(one, was)
            if not _differs(one, was, len(lines)):
                done["sets changed" if headed else "sets unchanged"] += 1
                return
        new_numbers = self._add_new(lines)
        revision, rows = _revision(one, was), _lines(lines, was, self._made)
        if was is not None and _is_drafted(was, rows, left_out):
            done["sets unchanged"] += 1
            return
        sheet = self._sets.add_count_sheet(was or self._add(one), revision, rows, left_out)
        if was is None and lines and not left_out and not new_numbers:
            self._sets.approve(sheet)
        done["sets added" if was is None else "draft revisions"] += 1
        done["new sets are drafts"] += bool(was is None and (left_out or new_numbers))
        done["lines"] += len(lines)

    def end(self) -> None:
        """The instruments that lines name and nobody has yet, staged like those of a list; all
        else is ready to be written."""
        for chunk in chunks(self._said, ROWS_AT_A_TIME):
            self._staging.add(chunk)
        self._sets.ready()

    def _add(self, one: SetReport) -> InstrumentSet:
        heading = {"name": one.name, "service": one.service, "packed_in": one.packed_in}
        return self._sets.add({"code": one.code, **heading, **self._packaging.of(one.packed_in)})

    def _add_new(self, lines: Sequence[RowReport]) -> bool:
        """Note the instruments that lines name and the catalog does not have; whether there are
        any."""
        wanted = {line.key: line.values["new"] for line in lines if "new" in line.values}
        there = Instrument.objects.filter(item_number__in=wanted)
        missing = wanted.keys() - set(there.values_list("item_number", flat=True))
        for number, said in wanted.items():
            if number in missing and number not in self._made and isinstance(said, Mapping):
                values = {"item_number": number, **said}
                self._made[number] = Instrument(**values)
                self._said.append((values, ()))
                self._applied.done["instruments added"] += 1
        return bool(missing)

    def _change_heading(self, one: SetReport, was: InstrumentSet) -> bool:
        """Name, service and packaging as the spreadsheet says them; whether any was another."""
        names = ("name", "service", "packed_in")
        values = {change.field: change.new for change in one.changes if change.field in names}
        if "packed_in" in values:
            found = self._packaging.of(str(values["packed_in"]))
            values |= dict.fromkeys(("container", "basket", "wrap")) | found
        self._sets.change(was, values)
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
    wanted = [
        (row["instrument"].pk, *(row.get(name) or default for name, default in SAID_OF_A_LINE),
         {each.pk for each in row.get("substitutes", ())})
        for row in rows
    ]  # fmt: skip
    drafts = instrument_set.count_sheets.filter(state=CountSheet.State.DRAFT)
    return instrument_set.current is None and any(
        sheet.left_out == left_out and _as_said(sheet) == wanted
        for sheet in drafts.prefetch_related("lines__substitutes")
    )


SAID_OF_A_LINE = (("quantity", None), ("section", ""), ("may_go_without", False), ("note", ""))
"""What a line says besides its instrument and substitutes, and what it says when it is silent."""


def _as_said(sheet: CountSheet) -> list[tuple[object, ...]]:
    return [
        (line.instrument_id, *(getattr(line, name) or default for name, default in SAID_OF_A_LINE),
         {each.pk for each in line.substitutes.all()})
        for line in sheet.lines.all()
    ]  # fmt: skip


def _left_out(line: RowReport) -> str:
    why = " ".join(problem.message for problem in line.problems)
    why = why or "Left out by the person who read the spreadsheet in."
    quantity = line.values.get("quantity") or "?"
    return f"row {line.row}: {quantity} × {line.key or 'no item number'}. {why}"


def _revision(one: SetReport, was: InstrumentSet | None) -> int:
    """The sheet's own revision where it is a new number, else the next one."""
    taken = list(was.count_sheets.values_list("revision", flat=True)) if was else []
    stated = int(one.revision) if one.revision.isascii() and one.revision.isdigit() else 0
    return stated if stated > max(taken, default=0) else max(taken, default=0) + 1


def _lines(
    lines: list[RowReport], was: InstrumentSet | None, made: Mapping[str, Instrument]
) -> list[dict[str, Any]]:
    """The lines as rows. What a spreadsheet does not say is kept from the revision in force."""
    numbers = [line.key for line in lines]
    there = Instrument.objects.filter(item_number__in=numbers)
    instruments = {**made, **{row.item_number: row for row in there}}
    current = was.current if was else None
    copies = copies_of(current) if current else []
    kept = {line["instrument"].item_number: line for line in copies}
    said = ("section", "quantity", "may_go_without", "note")
    named = {each for line in lines for each in _substitutes(line)}
    stand_ins = {row.item_number: row for row in Instrument.objects.filter(item_number__in=named)}
    return [
        {
            "section": "",
            **kept.get(line.key, {}),
            **{name: line.values[name] for name in said if name in line.values},
            **(
                {"substitutes": [stand_ins[each] for each in _substitutes(line)]}
                if "substitutes" in line.values
                else {}
            ),
            "order": order,
            "instrument": instruments[line.key],
        }
        for order, line in enumerate(lines, start=1)
    ]


def _substitutes(line: RowReport) -> tuple[str, ...]:
    named = line.values.get("substitutes", ())
    return tuple(map(str, named)) if isinstance(named, tuple | list) else ()


class Packaging:
    """The containers, baskets and wraps of the department, by the words for them."""

    def __init__(self) -> None:
        self._rows = [
            (name, row, [fold_heading(each) for each in row.names])
            for name, model in (("container", Container), ("basket", Basket), ("wrap", Wrap))
            for row in model.objects.all()
        ]

    def of(self, words: str) -> dict[str, Any]:
        """The one that goes by exactly these words; nothing when unsure."""
        wanted = fold_heading(words)
        found = [(name, row) for name, row, names in self._rows if wanted and wanted in names]
        return dict(found) if len(found) == 1 else {}

    def on_record(self, field: str, value: Any) -> Any:
        """The value of a set's field of which a record holds the words: the one container, basket
        or wrap that goes by code and name, None where none does; any other is as it is written."""
        if field not in ("container", "basket", "wrap"):
            return value
        found = [row for name, row, _ in self._rows if (name, str(row)) == (field, value)]
        return found[0] if len(found) == 1 else None
