"""Count sheets into the catalog: new sets come into force where every line goes in, the rest
are drafts."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from catalog import actions
from catalog.actions.count_sheets import copies_of
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


def apply_set(one: SetReport, actor: actions.Actor, applied: Applied) -> None:
    """One count sheet: a new set, a draft, or nothing where it is as it was."""
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
    made = _add_new(lines, actor)
    if made:
        applied.done["instruments added"] += made
    revision, rows = _revision(one, instrument_set), _lines(lines, instrument_set)
    if _is_drafted(instrument_set, rows, left_out):
        applied.done["sets unchanged"] += 1
        return
    sheet = actions.add_count_sheet(actor, instrument_set, revision, rows, left_out)
    if new and lines and not left_out and not made:
        actions.approve_count_sheet(actor, sheet)
    applied.done["sets added" if new else "draft revisions"] += 1
    applied.done["new sets are drafts"] += bool(new and (left_out or made))
    applied.done["lines"] += len(lines)


def _add_new(lines: Sequence[RowReport], actor: actions.Actor) -> int:
    """Add the instruments that lines name and nobody has yet; how many there were."""
    wanted = {line.key: line.values["new"] for line in lines if "new" in line.values}
    there = set(
        Instrument.objects.filter(item_number__in=wanted).values_list("item_number", flat=True)
    )
    for number, said in wanted.items():
        if number not in there and isinstance(said, Mapping):
            actions.add_instrument(actor, {"item_number": number, **said})
    return len(wanted.keys() - there)


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


def packaging(words: str) -> dict[str, Any]:
    """The container, basket or wrap that goes by exactly these words; nothing when unsure."""
    wanted = fold_heading(words)
    found: dict[str, Any] = {}
    for name, model in (("container", Container), ("basket", Basket), ("wrap", Wrap)):
        rows = [row for row in model.objects.all() if wanted in map(fold_heading, row.names)]
        if wanted and len(rows) == 1:
            found[name] = rows[0]
    return found if len(found) == 1 else {}
