"""Verbs for count sheets: a draft is edited line by line, approved, and never changed again.

Every verb that alters lines looks first whether the revision is still a draft, on the row
as it is in the database. What is in force, retired or discarded is read only.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Literal

from django.db import transaction
from django.db.models import Max
from django.utils import timezone

from catalog.actions.recording import Actor, put, record
from catalog.models import Change, CountSheet, Instrument, InstrumentSet, Line

RENUMBERED_FROM = 1_000_000
"""Places are moved out of the way to here while lines are put in a new order."""


class NotADraftError(Exception):
    """The revision is no draft, or no draft that can be approved. Says why, for people."""


def sheet_key(sheet: CountSheet) -> str:
    """How the history names a count sheet."""
    return f"{sheet.instrument_set.code} r{sheet.revision}"


def _draft(sheet: CountSheet) -> CountSheet:
    """The sheet, locked; NotADraftError when it is one no more."""
    now = CountSheet.objects.select_for_update().select_related("instrument_set").get(pk=sheet.pk)
    if now.state != CountSheet.State.DRAFT:
        state = now.get_state_display().lower()
        raise NotADraftError(
            f"Revision {now.revision} is {state} and is not changed any more. "
            "Start a new draft from it."
        )
    return now


@transaction.atomic
def add_count_sheet(
    actor: Actor,
    instrument_set: InstrumentSet,
    revision: int,
    lines: Iterable[Mapping[str, Any]],
    left_out: Iterable[str] = (),
) -> CountSheet:
    """A draft revision with its lines; ``left_out`` says what could not be taken over.

    A line's ``substitutes`` are instruments that may stand in for it.
    """
    sheet = CountSheet.objects.create(
        instrument_set=instrument_set, revision=revision, left_out=list(left_out)
    )
    given = [dict(line) for line in lines]
    stand_ins = [line.pop("substitutes", ()) for line in given]
    made = Line.objects.bulk_create(Line(count_sheet=sheet, **line) for line in given)
    for line, instruments in zip(made, stand_ins, strict=True):
        if instruments:
            line.substitutes.set(instruments)
    after = {"lines": [str(line) for line in made], "left_out": sheet.left_out}
    record(actor, Change.Verb.ADDED, sheet, sheet_key(sheet), None, after)
    return sheet


@transaction.atomic
def start_draft(
    actor: Actor, instrument_set: InstrumentSet, source: CountSheet | None = None
) -> CountSheet:
    """A new draft with the next number: a copy of ``source``, or empty without one."""
    taken = InstrumentSet.objects.select_for_update().get(pk=instrument_set.pk)
    last = taken.count_sheets.aggregate(last=Max("revision"))["last"] or 0
    return add_count_sheet(actor, taken, last + 1, copies_of(source) if source else ())


def copies_of(source: CountSheet) -> list[dict[str, Any]]:
    """The lines of a revision in their order, as :func:`add_count_sheet` takes them."""
    lines = source.lines.select_related("instrument").prefetch_related("substitutes")
    return [
        {
            "order": order,
            "section": line.section,
            "instrument": line.instrument,
            "quantity": line.quantity,
            "may_go_without": line.may_go_without,
            "note": line.note,
            "substitutes": list(line.substitutes.all()),
        }
        for order, line in enumerate(lines, start=1)
    ]


@transaction.atomic
def approve_count_sheet(actor: Actor, sheet: CountSheet) -> CountSheet:
    """The draft becomes current; the revision in force until now is retired."""
    now = _draft(sheet)
    if not now.lines.exists():
        raise NotADraftError("A count sheet without lines cannot be approved. Add a line first.")
    current = now.instrument_set.current
    if current is not None and current.revision > now.revision:
        raise NotADraftError(
            f"Revision {current.revision} is in force and is newer than this draft. "
            "Start a new draft from it."
        )
    if current is not None:
        CountSheet.objects.filter(pk=current.pk).update(state=CountSheet.State.RETIRED)
    before, after = put_in_force(actor, sheet)
    sheet.save(update_fields=["state", "approved_by", "approved_on"])
    if current is not None:
        before["in force"] = f"revision {current.revision}"
    record(actor, Change.Verb.APPROVED, sheet, sheet_key(sheet), before, after)
    return sheet


def put_in_force(actor: Actor, sheet: CountSheet) -> tuple[dict[str, Any], dict[str, Any]]:
    """The sheet as one in force, not saved yet: what goes on record as before and after."""
    sheet.state = CountSheet.State.CURRENT
    sheet.approved_by = actor.name
    sheet.approved_on = timezone.localdate()
    before = {"state": CountSheet.State.DRAFT.value}
    return before, {"state": sheet.state, "in force": f"revision {sheet.revision}"}


@transaction.atomic
def discard_count_sheet(actor: Actor, sheet: CountSheet) -> CountSheet:
    """A draft that will not be used: it stays readable, with the reason on record."""
    now = _draft(sheet)
    now.state = CountSheet.State.DISCARDED
    now.save(update_fields=["state"])
    record(actor, Change.Verb.DISCARDED, now, sheet_key(now),
           {"state": CountSheet.State.DRAFT.value}, {"state": now.state})  # fmt: skip
    return now


@transaction.atomic
def add_line(actor: Actor, sheet: CountSheet, instrument: Instrument, quantity: int = 1) -> Line:
    """One more line at the end, in the section of the line above it."""
    now = _draft(sheet)
    last = now.lines.last()
    line = Line.objects.create(
        count_sheet=now,
        order=last.order + 1 if last else 1,
        section=last.section if last else "",
        instrument=instrument,
        quantity=quantity,
    )
    _changed(actor, now, {}, {"line": str(line), "section": line.section})
    return line


@transaction.atomic
def change_line(actor: Actor, line: Line, values: Mapping[str, Any]) -> Line:
    """New values for quantity, section, ``may_go_without`` or note.

    A line that gets the section of others goes to the end of them.
    """
    sheet = _draft(line.count_sheet)
    was = str(line)
    before, after = put(line, values)
    if not after:
        return line
    if "section" in after:
        _join_section(sheet, line)
    _changed(actor, sheet, {"line": was, **before}, {"line": str(line), **after})
    return line


def _join_section(sheet: CountSheet, line: Line) -> None:
    rows = [row for row in sheet.lines.all() if row.pk != line.pk]
    places = [place for place, row in enumerate(rows) if row.section == line.section]
    if places:
        rows.insert(places[-1] + 1, line)
        _renumber(rows)


@transaction.atomic
def move_line(actor: Actor, line: Line, way: Literal["up", "down"]) -> Line:
    """One place up or down. At the border of a section it joins the neighbouring section."""
    sheet = _draft(line.count_sheet)
    rows = list(sheet.lines.all())
    place = next(place for place, row in enumerate(rows) if row.pk == line.pk)
    other = place - 1 if way == "up" else place + 1
    if not 0 <= other < len(rows):
        return line
    moved, neighbour = rows[place], rows[other]
    before = {"line": str(moved), "place": place + 1, "section": moved.section}
    if moved.section != neighbour.section:
        moved.section = neighbour.section
        moved.save(update_fields=["section"])
        other = place
    else:
        rows[place], rows[other] = neighbour, moved
        _renumber(rows)
    after = {"line": str(moved), "place": other + 1, "section": moved.section}
    _changed(actor, sheet, before, after)
    return moved


def _renumber(rows: Sequence[Line]) -> None:
    """Places 1, 2, 3 in this order; no two lines ever stand at one place meanwhile."""
    for start in (RENUMBERED_FROM, 1):
        for order, row in enumerate(rows, start=start):
            row.order = order
        for row in rows:
            Line.objects.filter(pk=row.pk).update(order=row.order)


@transaction.atomic
def remove_line(actor: Actor, line: Line) -> None:
    """The line goes from the draft; the record keeps it."""
    sheet = _draft(line.count_sheet)
    before = {"line": str(line), "section": line.section}
    line.delete()
    _changed(actor, sheet, before, {"line": "removed"})


@transaction.atomic
def set_substitutes(actor: Actor, line: Line, instruments: Iterable[Instrument]) -> Line:
    """The instruments that may stand in for the one on the line, all of them at once."""
    sheet = _draft(line.count_sheet)
    were, are = list(line.substitutes.all()), list(instruments)
    if {row.pk for row in were} != {row.pk for row in are}:
        line.substitutes.set(are)
        _changed(actor, sheet, {"line": str(line), "substitutes": were},
                 {"line": str(line), "substitutes": are})  # fmt: skip
    return line


def _changed(
    actor: Actor, sheet: CountSheet, before: Mapping[str, Any], after: Mapping[str, Any]
) -> None:
    record(actor, Change.Verb.CHANGED, sheet, sheet_key(sheet), before or None, after)
