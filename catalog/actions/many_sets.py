"""The verbs of sets and count sheets for hundreds at once: made ready first, written in one step.

The step is that of ``staging``, and its reasons hold here too: nobody waits longer than a second
for the one lock of SQLite. What sets, revisions, lines and records will be is made ready in memory;
in the step keys are put in, and each table is written at once.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from django.db import connection

from catalog.actions.count_sheets import put_in_force, sheet_key
from catalog.actions.recording import Actor, as_change, take
from catalog.actions.staging import ROWS_AT_A_TIME, chunks, insert, ready_to_insert
from catalog.models import Change, CountSheet, Instrument, InstrumentSet, names_changed

Verb = Change.Verb
Values = Mapping[str, Any]


class ManySets:
    """What the actor's batch is about to do to sets and their count sheets.

    Nothing is written before :meth:`write`, which belongs into one transaction with :meth:`lock`.
    """

    def __init__(self, actor: Actor) -> None:
        self._actor = actor
        self._new: list[InstrumentSet] = []
        self._changed: list[tuple[InstrumentSet, list[str]]] = []
        self._sheets: list[CountSheet] = []
        self._lines: list[tuple[CountSheet, Values]] = []
        self._gone_sets: list[int] = []
        self._gone_sheets: list[int] = []
        self._records: list[Change] = []
        self._ready: tuple[str, list[list[Any]]] = ("", [])
        self._rows: list[list[Any]] = []

    def add(self, values: Values) -> InstrumentSet:
        """A new set, without a count sheet yet."""
        one = InstrumentSet(**values)
        self._new.append(one)
        self._record(Verb.ADDED, one, one.code, None, values)
        return one

    def change(self, one: InstrumentSet, values: Values) -> None:
        """New values for some fields of a set."""
        before, after = take(one, values)
        if after:
            self._changed.append((one, list(after)))
            self._record(Verb.CHANGED, one, one.code, before, after)

    def add_count_sheet(
        self, one: InstrumentSet, revision: int, lines: Sequence[Values], left_out: Sequence[str]
    ) -> CountSheet:
        """A draft with its lines, as ``count_sheets.add_count_sheet`` takes them; an instrument
        that is not saved comes into the catalog by the same step."""
        sheet = CountSheet(instrument_set=one, revision=revision, left_out=list(left_out))
        self._sheets.append(sheet)
        self._lines += [(sheet, line) for line in lines]
        words = [f"{line['quantity']} × {line['instrument']}" for line in lines]
        after = {"lines": words, "left_out": sheet.left_out}
        self._record(Verb.ADDED, sheet, sheet_key(sheet), None, after)
        return sheet

    def approve(self, sheet: CountSheet) -> None:
        """The first revision of a new set comes into force."""
        before, after = put_in_force(self._actor, sheet)
        self._record(Verb.APPROVED, sheet, sheet_key(sheet), before, after)

    def remove(self, sets: Iterable[InstrumentSet], sheets: Iterable[CountSheet]) -> None:
        """Sets and count sheets out of the catalog, which only what the batch itself has added may
        be. Those of a set that goes need no record of their own."""
        for one in sets:
            self._gone_sets.append(one.pk)
            before = {"name": one.name, "service": one.service}
            self._record(Verb.REMOVED, one, one.code, before, None)
        for sheet in sheets:
            self._gone_sheets.append(sheet.pk)
            if sheet.instrument_set_id not in self._gone_sets:
                lines = {"lines": [str(line) for line in sheet.lines.all()]}
                self._record(Verb.REMOVED, sheet, sheet_key(sheet), lines, None)

    def _record(
        self, verb: Verb, thing: InstrumentSet | CountSheet, key: str, before: Values | None,
        after: Values | None,
    ) -> None:  # fmt: skip
        self._records.append(as_change(self._actor, verb, thing, key, before, after))

    def ready(self) -> None:
        """The last before the step: all values but the keys that only the step gives."""
        self._ready = ready_to_insert(Change, self._records)
        self._rows = [
            [
                sheet, line["order"], line["section"], line["instrument"],
                line["quantity"], line.get("may_go_without", False), line.get("note", ""),
            ]
            for sheet, line in self._lines
        ]  # fmt: skip

    def lock(self) -> None:
        """Nobody changes the sets, starts a draft of them, or approves what is to go, until the
        step is done."""
        if connection.features.has_select_for_update:
            mine = {one.pk for one, _ in self._changed}
            mine |= {sheet.instrument_set_id for sheet in self._sheets} | set(self._gone_sets)
            rows = InstrumentSet.objects.select_for_update().filter(pk__in=mine - {None})
            list(rows.order_by("pk").values_list("pk"))
            sheets = CountSheet.objects.select_for_update().filter(pk__in=self._gone_sheets)
            list(sheets.order_by("pk").values_list("pk"))

    def write(self) -> None:
        """All of it, in the transaction of the caller: a second at the most."""
        for statement in REMOVE_SHEETS:
            _of_these(statement, self._gone_sheets)
        _of_these(REMOVE_SETS, self._gone_sets)
        InstrumentSet.objects.bulk_create(self._new)
        names_changed("instrumentset", [*self._gone_sets, *(one.pk for one in self._new)])
        for one, fields in self._changed:
            one.save(update_fields=fields)
        CountSheet.objects.bulk_create(self._sheets)
        self._write_lines()
        insert(*self._ready)

    def _write_lines(self) -> None:
        unsaved = {row[3].item_number for row in self._rows if row[3].pk is None}
        rows = Instrument.objects.filter(item_number__in=unsaved)
        new = dict(rows.values_list("item_number", "pk"))
        for row in self._rows:
            row[0], row[3] = row[0].pk, row[3].pk or new[row[3].item_number]
        insert(ADD_LINE, self._rows)
        stand_ins = [
            [one.pk, sheet.pk, line["order"]]
            for sheet, line in self._lines
            for one in line.get("substitutes", ())
        ]
        insert(ADD_SUBSTITUTE, stand_ins)


def _of_these(statement: str, keys: Sequence[int]) -> None:
    with connection.cursor() as cursor:
        for piece in chunks(keys, ROWS_AT_A_TIME):
            cursor.execute(statement.replace("THESE", ", ".join(["%s"] * len(piece))), piece)


ADD_LINE = """
    INSERT INTO catalog_line
    (count_sheet_id, "order", section, instrument_id, quantity, may_go_without, note)
    VALUES (%s, %s, %s, %s, %s, %s, %s)"""
ADD_SUBSTITUTE = """
    INSERT INTO catalog_line_substitutes (line_id, instrument_id)
    SELECT id, %s FROM catalog_line WHERE count_sheet_id = %s AND "order" = %s"""
REMOVE_SHEETS = (
    "DELETE FROM catalog_line_substitutes WHERE line_id IN"
    " (SELECT id FROM catalog_line WHERE count_sheet_id IN (THESE))",
    "DELETE FROM catalog_line WHERE count_sheet_id IN (THESE)",
    "DELETE FROM catalog_countsheet WHERE id IN (THESE)",
)
REMOVE_SETS = "DELETE FROM catalog_instrumentset WHERE id IN (THESE)"
