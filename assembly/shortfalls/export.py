"""Shortfalls as CSV that a spreadsheet opens without running anything in it.

RFC 4180 quoting; a text that a spreadsheet would read as a formula gets an apostrophe
before it. Source: OWASP, "CSV Injection"; CWE-1236.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable
from datetime import datetime

from django.utils import timezone

from assembly.shortfalls.causes import Shortfall

FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\0")
HEAD = ("When", "Kind", "Item number", "Instrument", "Pieces", "Came back", "Waits for",
        "Set code", "Set", "Department or service", "By", "Package", "Back since", "Back by",
        "Because")  # fmt: skip


def harmless(text: str) -> str:
    """A text that no spreadsheet runs.

    >>> harmless("=1+1"), harmless("Metz")
    ("'=1+1", 'Metz')
    """
    return f"'{text}" if text.startswith(FORMULA_STARTS) else text


def as_csv(found: Iterable[Shortfall]) -> str:
    """One row for each shortfall under a head, in UTF-8 with the mark that Excel looks for."""
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(HEAD)
    for one in found:
        row = (_when(one.at), one.kind, one.item_number, one.name, str(one.pieces),
               str(one.returned), str(one.waits_for), one.set_code, one.set_name,
               one.department, one.by, one.package, _when(one.closed_at),
               one.closed_by, one.closed_because)  # fmt: skip
        writer.writerow([harmless(text) for text in row])
    return "\ufeff" + out.getvalue()


def _when(moment: datetime | None) -> str:
    return f"{timezone.localtime(moment):%Y-%m-%d %H:%M}" if moment else ""
