"""What sets were called and packed in before a spreadsheet: read from what is on record."""

from __future__ import annotations

from typing import Any

from catalog.models import Change, InstrumentSet, SpreadsheetBatch
from catalog.spreadsheets.batches.sets import Packaging


def headings_before(
    batch: SpreadsheetBatch,
) -> tuple[list[tuple[InstrumentSet, dict[str, Any]]], list[str]]:
    """The sets whose name, service or packaging the batch changed, each with the values of before;
    and sentences on those of which these cannot be found again."""
    mine = Change.objects.filter(batch=batch.label, kind="set", verb=Change.Verb.CHANGED)
    was: dict[str, dict[str, Any]] = {}
    for change in mine.order_by("-pk"):
        was.setdefault(change.object_key, {}).update(change.before or {})
    there = InstrumentSet.objects.in_bulk(list(was), field_name="code")
    packaging, found, lost = Packaging(), list[tuple[InstrumentSet, dict[str, Any]]](), list[str]()
    for code, before in was.items():
        values = {name: packaging.on_record(name, value) for name, value in before.items()}
        gone = [before[name] for name, value in values.items() if value is None and before[name]]
        lost += [f"{code} was in “{each}”, and nothing is called that any more." for each in gone]
        if code not in there:
            lost.append(f"{code} is no set any more.")
        elif not gone:
            found.append((there[code], values))
    return found, lost
