"""What the catalog has on record, laid beside a file before anything in it is looked for."""

from __future__ import annotations

from dataclasses import replace

from catalog.models import Instrument, InstrumentSet
from catalog.spreadsheets.evidence.known import FOLDS, on_record
from catalog.spreadsheets.workbook.reading import OnRecord, Workbook

OF_AN_INSTRUMENT = ("item_number", "name", "maker", "maker_catalog_number")


def with_known(workbook: Workbook) -> Workbook:
    """The workbook with the numbers and names of the catalog, by which its columns are told."""
    if not workbook.sheets:
        return workbook
    known = _known_to_us()
    sheets = tuple(replace(sheet, on_record=known) for sheet in workbook.sheets)
    return replace(workbook, sheets=sheets)


def _known_to_us() -> OnRecord:
    found: dict[str, list[str]] = {key: [] for key in FOLDS}
    found["set_code"] += InstrumentSet.objects.values_list("code", flat=True)
    for each in Instrument.objects.only("also_known_as", *OF_AN_INSTRUMENT).iterator():
        found["name"] += each.nicknames
        for key in OF_AN_INSTRUMENT:
            found[key].append(getattr(each, key))
    return on_record(found)
