"""A print run of many count sheets: which sets, how they are drawn, what is said at its end."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any, BinaryIO

from catalog.models import InstrumentSet
from reports.drawing.files import Progress
from reports.drawing.sheets.count_sheets import write_count_sheets
from reports.gathering.count_sheets import count_sheet_documents, remarks
from reports.gathering.photos import Photos

MOST_NAMED = 8


def chosen_sets(codes: str, service: str) -> tuple[list[InstrumentSet], list[str]]:
    """Sets by their codes, in the order given, and the codes that no such set bears.

    Codes are parted by spaces, commas or lines. Without any: every set of the service, or
    all of them, by their codes.
    """
    rows = InstrumentSet.objects.filter(retired=False).select_related("container", "basket", "wrap")
    if service:
        rows = rows.filter(service=service)
    wanted = list(dict.fromkeys(code.upper() for code in re.split(r"[\s,;]+", codes) if code))
    if not wanted:
        return list(rows.order_by("code")), []
    known = {one.code.upper(): one for one in rows}
    found = [known[code] for code in wanted if code in known]
    return found, [code for code in wanted if code not in known]


def draw(asked: Mapping[str, Any], progress: Progress, out: BinaryIO) -> str:
    """Draw what was asked for: ``codes``, ``service``, ``paper``, ``photos`` and who, ``by``."""
    sets, unknown = chosen_sets(asked["codes"], asked["service"])
    among = f"of {asked['service']} " if asked["service"] else ""
    left_out = [f"{code}: no set {among}bears this code" for code in unknown]
    photos = Photos() if asked["photos"] else None
    documents = count_sheet_documents(sets, asked["by"], left_out, photos)
    missing = remarks(left_out, photos)
    refused = write_count_sheets(
        out, documents, asked["paper"], left_out=missing, progress=progress
    )
    failed = [*left_out, *refused]
    return _said(len(sets) + len(unknown) - len(failed), failed)


def _said(printed: int, failed: Sequence[str]) -> str:
    """How a run ended: what was printed, and by name what was not."""
    said = f"Printed: {printed} count sheet{'' if printed == 1 else 's'}."
    first = "The first page lists them, and what could not be printed."
    if not failed:
        return f"{said} {first}"
    named = "; ".join(words.rstrip(".") for words in failed[:MOST_NAMED])
    more = f"; and {len(failed) - MOST_NAMED} more" if len(failed) > MOST_NAMED else ""
    return f"{said} Not printed: {named}{more}. {first}"
