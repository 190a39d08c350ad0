"""The columns of a list of instruments, declared once, in ``instruments.toml``.

The page that maps headings, the template workbook, the help and the whole catalog as a
workbook all follow from these.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from catalog.spreadsheets.columns.column import Column
from catalog.spreadsheets.columns.declared import read_columns

INSTRUMENT_COLUMNS: tuple[Column, ...] = read_columns(Path(__file__).with_name("instruments.toml"))
"""The master list of instruments."""

SIZES_TOGETHER = replace(
    next(column for column in INSTRUMENT_COLUMNS if column.key == "length"),
    key="sizes",
    title="Length × width × height",
    help="Three sizes in one cell, as in 170 x 80 x 10 mm.",
    headings=(),
    field="",
)
"""What a person may say of a column that holds three sizes in each cell."""
