"""The split of a set on paper: each tray with its lines, to look at before anything is drafted."""

from __future__ import annotations

from collections.abc import Iterator

from django.utils import timezone

from assembly.bench.splits import Split
from catalog.models import CountSheet
from reports.documents.lists import ListColumn, ListDocument, ListKind, Row

COLUMNS = (ListColumn("Tray", 0.5), ListColumn("Count", 0.7, "right"),
           ListColumn("Item number", 1.0), ListColumn("Instrument", 2.6),
           ListColumn("Section", 1.2), ListColumn("Weight", 0.9, "right"))  # fmt: skip


def split_sheet(split: Split, sheet: CountSheet, made_by: str) -> ListDocument:
    """The trays one after the other; above them how many, whether proved, and the limit."""
    said = (f"{split.headline}.", *split.sentences, split.limit_words,
            "Not in force: the count sheet of the set is.")  # fmt: skip
    whole = sheet.instrument_set
    kind = ListKind(f"split-{whole.code}", f"Split of {whole}, revision {sheet.revision}", COLUMNS,
                    list, " ".join(filter(None, said)).replace("..", "."))  # fmt: skip
    return ListDocument(kind, tuple(_rows(split)), timezone.localtime(), made_by)


def _rows(split: Split) -> Iterator[Row]:
    for tray in split.trays:
        part = tray.part
        words = f"{part.pieces_words}, {part.cycle_words}. {tray.own.headline}. "
        words += tray.own.first_doubt
        yield part.letter, "", "", words, "", f"{tray.gross} gross"
        for line, count in tray.lines:
            of = "" if count == line.quantity else f" of {line.quantity}"
            one, weight = line.instrument, line.instrument.weight_g
            each = "not known" if weight is None else split.show(float(weight) * count, "g")
            yield part.letter, f"{count}{of}", one.item_number, one.name, line.section, each
