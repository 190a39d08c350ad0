""".xls by xlwt, and .ods part by part, for the tests of what reads them."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Mapping, Sequence
from datetime import date
from xml.sax.saxutils import escape

import xlwt

Rows = Sequence[Sequence[object]]

_SECOND_RECORD = 0x200 + 20
"""Where the workbook's stream, after the container's header and its own first record, goes on."""
_LOCKED = b"\x2f\x00"
"""The record that says that the rest is encrypted ([MS-XLS] 2.4.117, FilePass)."""


def xls(
    sheets: Mapping[str, Rows],
    merged: tuple[int, int, int, int] | None = None,
    hidden: str = "",
    locked: bool = False,
) -> bytes:
    """An .xls file with these rows, from A1 down. ``merged``: first and last row, first and last
    column, from 0, of the first sheet."""
    book = xlwt.Workbook()
    day = xlwt.easyxf(num_format_str="DD.MM.YYYY")
    for title, rows in sheets.items():
        sheet = book.add_sheet(title)
        sheet.visibility = int(title == hidden)
        for row, values in enumerate(rows):
            for column, value in enumerate(values):
                if isinstance(value, date):
                    sheet.write(row, column, value, day)
                elif value is not None and (merged is None or (row, column) != merged[1::2]):
                    sheet.write(row, column, value)
    if merged:
        first = book.get_sheet(0)
        first.merge(*merged)
    out = io.BytesIO()
    book.save(out)
    data = bytearray(out.getvalue())
    if locked:
        data[_SECOND_RECORD : _SECOND_RECORD + 2] = _LOCKED
    return bytes(data)


def ods(sheets: Mapping[str, Rows]) -> bytes:
    """An .ods file with these rows, from A1 down (OpenDocument 1.3 part 3, section 9)."""
    names = ("office", "table", "text")
    spaces = " ".join(
        f'xmlns:{name}="urn:oasis:names:tc:opendocument:xmlns:{name}:1.0"' for name in names
    )
    tables = "".join(
        f'<table:table table:name="{escape(title)}">{"".join(map(_row, rows))}</table:table>'
        for title, rows in sheets.items()
    )
    content = (
        f'<?xml version="1.0" encoding="UTF-8"?><office:document-content {spaces}><office:body>'
        f"<office:spreadsheet>{tables}</office:spreadsheet></office:body>"
        "</office:document-content>"
    )
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as package:
        package.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
        package.writestr("content.xml", content)
        package.writestr("META-INF/manifest.xml", "<manifest:manifest/>")
    return out.getvalue()


def _row(values: Sequence[object]) -> str:
    return f"<table:table-row>{''.join(map(_cell, values)) or _EMPTY}</table:table-row>"


_EMPTY = "<table:table-cell/>"


def _cell(value: object) -> str:
    if value is None:
        return _EMPTY
    kind, name = "string", ""
    if isinstance(value, date):
        kind, name = "date", "date-value"
    elif isinstance(value, int | float):
        kind, name = "float", "value"
    stored = f' office:{name}="{value}"' if name else ""
    text = f"<text:p>{escape(str(value))}</text:p>"
    return f'<table:table-cell office:value-type="{kind}"{stored}>{text}</table:table-cell>'
