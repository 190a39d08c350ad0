"""Shortfalls as a sheet, for the one writer of files."""

from __future__ import annotations

from datetime import datetime

from django.db.models import QuerySet
from django.utils import timezone

from assembly.models import Shortfall
from catalog.spreadsheets.workbook.writing import SheetOut

HEAD = ("When", "Kind", "Item number", "Instrument", "Pieces", "Came back", "Waits for",
        "Set code", "Set", "Department or service", "By", "Package", "Back since", "Back by",
        "Because")  # fmt: skip


def sheet(found: QuerySet[Shortfall]) -> SheetOut:
    """One row for each shortfall under a head."""
    rows = (
        (_when(one.opened_at), one.get_kind_display(), one.item_number, one.name, one.quantity,
         one.returned, one.waits_for, one.instrument_set.code, one.instrument_set.name,
         one.department, one.opened_by, one.package.code if one.package else "",
         _when(one.closed_at),
         one.closed_by, one.closed_because)
        for one in found.iterator()
    )  # fmt: skip
    return SheetOut("Shortfalls", HEAD, rows, found.count())


def _when(moment: datetime | None) -> str:
    return f"{timezone.localtime(moment):%Y-%m-%d %H:%M}" if moment else ""
