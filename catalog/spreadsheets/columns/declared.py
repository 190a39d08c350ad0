"""Declared columns: from a table of a data file to the column and the reader of its cells."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from catalog.data_files import DataError, read_tables
from catalog.spreadsheets.cells import counts, days, listed, typed
from catalog.spreadsheets.cells.typed import Reader
from catalog.spreadsheets.columns.column import Column, fold_heading

READERS: Mapping[str, Reader] = {
    "text": typed.read_text,
    "names": typed.read_names,
    "notes": typed.read_notes,
    "revision": typed.read_revision,
    "count": counts.read_count,
    "quantity": counts.read_quantity,
    "day": days.read_day,
    "yes_no": listed.read_yes_no,
    "tip": listed.word_reader("tip", "kind of tip"),
    "item_class": listed.word_reader("item_class", "kind of item", empty=None),
    "form": listed.word_reader("form", "form"),
    "lumen_material": listed.word_reader("lumen_material", "wall of a lumen"),
    "kinds": listed.read_kinds,
    "parts": listed.read_parts,
    "protector": listed.read_protector,
    "methods": listed.read_methods_cell,
    "cycle": listed.read_cycle_cell,
}
_KINDS = {
    "title": str, "help": str, "reader": str, "most": int, "said": str, "field": str,
    "unit": str, "required": bool, "headings": list, "headings_with_unit": list,
}  # fmt: skip
_NEEDED = ("title", "help", "reader", "headings")


def read_columns(path: Path) -> tuple[Column, ...]:
    """The columns of a file in their order; DataError names what is wrong in it."""
    tables = read_tables(path, _KINDS, _NEEDED)
    return tuple(_column(path.name, key, table) for key, table in tables.items())


def _column(file: str, key: str, table: dict[str, Any]) -> Column:
    """A column goes by its title and by its headings."""
    reader = _reader(file, key, table.pop("reader"), table.pop("most", 0), table.pop("said", ""))
    spellings = map(fold_heading, (table["title"], *table.pop("headings")))
    return Column(key=key, reader=reader, headings=tuple(dict.fromkeys(spellings)), **table)


def _reader(file: str, key: str, name: str, most: int, said: str) -> Reader:
    if name == "size":
        return typed.size_reader(said)
    if name == "text" and most:
        return typed.text_reader(most)
    if name not in READERS:
        known = ", ".join(("size", *READERS))
        raise DataError(file, f"{key}.reader", f"{name!r} is no reader; one of {known}")
    return READERS[name]
