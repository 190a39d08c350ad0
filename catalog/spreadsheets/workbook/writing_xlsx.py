"""Sheets as a workbook (.xlsx), written row by row: the parts of ECMA-376 that a plain list needs.

Every text stands in its own cell (``inlineStr``), so that no table of all texts has to be known
before the first row is out.
"""

from __future__ import annotations

import re
import zipfile
from collections.abc import Iterable, Iterator, Sequence
from datetime import date, datetime, timedelta
from decimal import Decimal
from itertools import chain, islice
from xml.sax.saxutils import escape, quoteattr

from openpyxl.utils import get_column_letter

from catalog.spreadsheets.workbook.text import GUARDED_STARTS
from catalog.spreadsheets.workbook.writing import (
    LOOKED_AT,
    SheetOut,
    Value,
    in_parts,
    printable,
    sheet_title,
)

MOST_ROWS = 1_048_576
"""Rows of one sheet (ECMA-376 part 1, 18.3.1.73, as spreadsheet programs read it)."""
LONGEST_CELL = 32_767
"""Characters that a cell of a workbook can hold (ECMA-376 part 1, 18.18.22)."""
WIDEST, NARROWEST = 48, 10
"""Widths of columns, in characters (our choice); a longer text is wrapped."""
WIDTH_FROM_ROWS = 200
"""So many rows are looked at for the width of a column."""
PACKED = 1
"""How hard the file is packed: the fastest that packs at all."""
PLAIN, WRAPPED, QUOTED, QUOTED_WRAPPED, BOLD, MOMENT, DAY = range(7)
"""The places of the styles in :data:`STYLES`: quoted and wrapped is the sum of both."""
TEXT = '<is><t xml:space="preserve">'
PLAIN_TEXT = ' t="inlineStr"><is><t>%s</t></is></c>'
"""A text with no space at its ends: nothing has to be said of those inside (XML 1.0, 2.10)."""
MOST_KEPT = 5_000
"""Texts of one sheet of which the cell is kept: many come again and again."""
TO_ESCAPE = re.compile("[&<>\r]")
EPOCH = datetime(1899, 12, 30)
"""Day 0 of the dates of a workbook (ECMA-376 part 1, 18.17.4.1, the 1900 date system)."""

MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
OFFICE = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
PACKAGE = "http://schemas.openxmlformats.org/package/2006"
KIND = "application/vnd.openxmlformats-officedocument.spreadsheetml"
HEAD = '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'
RELATIONS = f'{HEAD}<Relationships xmlns="{PACKAGE}/relationships">%s</Relationships>'
_BASE = '<xf numFmtId="0" fontId="0" fillId="0" borderId="0"/>'
_FORMAT = '<xf numFmtId="%s" fontId="%s" fillId="0" borderId="0" xfId="0"%s'
_WRAP = '><alignment vertical="top" wrapText="1"/></xf>'
STYLES = (
    f'{HEAD}<styleSheet xmlns="{MAIN}"><numFmts count="2">'
    '<numFmt numFmtId="164" formatCode="yyyy\\-mm\\-dd\\ hh:mm"/>'
    '<numFmt numFmtId="165" formatCode="yyyy\\-mm\\-dd"/></numFmts>'
    '<fonts count="2"><font><sz val="11"/><name val="Calibri"/></font>'
    '<font><b/><sz val="11"/><name val="Calibri"/></font></fonts>'
    '<fills count="2"><fill><patternFill patternType="none"/></fill>'
    '<fill><patternFill patternType="gray125"/></fill></fills>'
    '<borders count="1"><border><left/><right/><top/><bottom/></border></borders>'
    f'<cellStyleXfs count="1">{_BASE}</cellStyleXfs>'
    '<cellXfs count="7">'
    + _FORMAT % (0, 0, "/>")
    + _FORMAT % (0, 0, f' applyAlignment="1"{_WRAP}')
    + _FORMAT % (0, 0, ' quotePrefix="1"/>')
    + _FORMAT % (0, 0, f' quotePrefix="1" applyAlignment="1"{_WRAP}')
    + _FORMAT % (0, 1, ' applyFont="1"/>')
    + _FORMAT % (164, 0, ' applyNumberFormat="1"/>')
    + _FORMAT % (165, 0, ' applyNumberFormat="1"/>')
    + '</cellXfs><cellStyles count="1"><cellStyle name="Normal" xfId="0" builtinId="0"/>'
    "</cellStyles></styleSheet>"
)


class _Out:
    """What the zip file is written to: parts that are taken away while it grows."""

    def __init__(self) -> None:
        self.parts: list[bytes] = []

    def write(self, data: bytes) -> int:
        self.parts.append(bytes(data))
        return len(data)

    def flush(self) -> None:
        """Nothing is held back."""

    def taken(self) -> bytes:
        """All that was written since it was asked last."""
        parts, self.parts = self.parts, []
        return b"".join(parts)


def as_xlsx(sheets: Iterable[SheetOut]) -> Iterator[bytes]:
    """A workbook with a bold, frozen, filterable heading row on each sheet, in parts. Rows beyond
    what a sheet can hold stand on the next."""
    out, made = _Out(), list[tuple[str, str]]()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED, compresslevel=PACKED) as book:  # type: ignore[call-overload]
        book.writestr("_rels/.rels", RELATIONS % _relation("rId1", "officeDocument",
                                                           "xl/workbook.xml"))  # fmt: skip
        for sheet in chain.from_iterable(map(_parted, sheets)):
            with book.open(f"xl/worksheets/sheet{len(made) + 1}.xml", "w", force_zip64=True) as to:
                count = 0
                for text, rows in _sheet_xml(sheet, first=not made):
                    to.write(text.encode())
                    count += rows
                    yield out.taken()
            last = get_column_letter(max(1, len(sheet.headings)))
            made.append((_unlike(sheet_title(sheet.title), made), f"$A$1:${last}${count}"))
        book.writestr("xl/styles.xml", STYLES)
        book.writestr("xl/workbook.xml", _workbook_xml(made))
        book.writestr("xl/_rels/workbook.xml.rels", _relations_of(len(made)))
        book.writestr("[Content_Types].xml", _types_xml(len(made)))
    yield out.taken()


def _parted(sheet: SheetOut) -> Iterator[SheetOut]:
    """The sheet, or as many as its rows need; the rows of one are asked for before the next."""
    rows = iter(sheet.rows)
    yield SheetOut(sheet.title, sheet.headings, islice(rows, MOST_ROWS - 1))
    for one in rows:
        yield SheetOut(sheet.title, sheet.headings, chain([one], islice(rows, MOST_ROWS - 2)))


def _unlike(title: str, made: Sequence[tuple[str, str]]) -> str:
    """The title, with a number where a sheet before bears it: no two may bear the same."""
    taken, number, found = {name.casefold() for name, _ in made}, 1, title
    while found.casefold() in taken:
        number += 1
        end = f" {number}"
        found = f"{title[: 31 - len(end)]}{end}"
    return found


def _sheet_xml(sheet: SheetOut, *, first: bool) -> Iterator[tuple[str, int]]:
    """The sheet in parts, each with the number of rows in it."""
    rows = iter(sheet.rows)
    looked_at = list(islice(rows, WIDTH_FROM_ROWS))
    letters = [get_column_letter(place) for place in range(1, len(sheet.headings) + 1)]
    cols = "".join(
        f'<col min="{place}" max="{place}" width="{width}" customWidth="1"/>'
        for place, width in enumerate(_widths(sheet.headings, looked_at), start=1)
    )
    chosen = ' tabSelected="1"' if first else ""
    heading = "".join(map(_heading, letters, sheet.headings))
    yield (
        f'{HEAD}<worksheet xmlns="{MAIN}"><sheetViews><sheetView{chosen} workbookViewId="0"><pane '
        'ySplit="1" topLeftCell="A2" activePane="bottomLeft" state="frozen"/></sheetView>'
        f"</sheetViews>{f'<cols>{cols}</cols>' if cols else ''}<sheetData>"
        f'<row r="1">{heading}</row>',
        1,
    )
    number, made = 1, dict[str, str]()
    for some in in_parts(chain(looked_at, rows)):
        lines = [_row(letters, number + at, row, made) for at, row in enumerate(some, start=1)]
        number += len(lines)
        yield "".join(lines), len(lines)
    last = letters[-1] if letters else "A"
    yield f'</sheetData><autoFilter ref="A1:{last}{number}"/></worksheet>', 0


def _heading(letter: str, words: str) -> str:
    text = _text(printable(words)[:LONGEST_CELL])
    return f'<c r="{letter}1" s="{BOLD}" t="inlineStr">{text}</c>'


def _row(letters: Sequence[str], number: int, row: Sequence[Value], made: dict[str, str]) -> str:
    """What most cells are, texts and numbers, is written here: a call for each of them took as
    long as all else. ``made`` has the cells of texts that came before, without their places."""
    out = f'<row r="{number}">'
    for letter, value in zip(letters, row, strict=True):
        if type(value) is str:
            if value:
                cell = made.get(value) or _text_cell(value, made)
                out += f'<c r="{letter}{number}"{cell}'
        elif type(value) is Decimal:
            text = str(value)
            out += f'<c r="{letter}{number}"><v>{f"{value:f}" if "E" in text else text}</v></c>'
        elif type(value) is int:
            out += f'<c r="{letter}{number}"><v>{value}</v></c>'
        elif value is not None:
            out += f'<c r="{letter}{number}"{_cell(value)}'
    return f"{out}</row>"


def _cell(value: Value) -> str:
    """A cell behind its place."""
    if isinstance(value, str):
        return _looked_at(value)
    if isinstance(value, bool):
        return _looked_at("yes" if value else "no")
    if isinstance(value, datetime):
        days = (value.replace(tzinfo=None) - EPOCH) / timedelta(days=1)
        return f' s="{MOMENT}"><v>{days!r}</v></c>'
    if isinstance(value, date):
        return f' s="{DAY}"><v>{(value - EPOCH.date()).days}</v></c>'
    return f"><v>{value!r}</v></c>"


def _text_cell(value: str, made: dict[str, str]) -> str:
    odd = value[0] in LOOKED_AT or value[0] == " " or value[-1] == " "
    if odd or len(value) > WIDEST or not value.isprintable():
        cell = _looked_at(value)
    else:
        cell = PLAIN_TEXT % (escape(value) if TO_ESCAPE.search(value) else value)
    if len(made) < MOST_KEPT:
        made[value] = cell
    return cell


def _looked_at(value: str) -> str:
    """A text that is long, or has odd signs in it, or could look like a formula: it is never one
    ("f"), and never an error ("e"). Of nothing that can be shown an empty cell is left."""
    text = printable(value)[:LONGEST_CELL]
    style = QUOTED if text.startswith(GUARDED_STARTS) else PLAIN
    style += WRAPPED if len(text) > WIDEST else 0
    return f' s="{style}" t="inlineStr">{_text(text)}</c>' if text else "/>"


def _text(text: str) -> str:
    if TO_ESCAPE.search(text):
        text = escape(text).replace("\r", "&#13;")
    return f"{TEXT}{text}</t></is>"


def _widths(headings: Sequence[str], rows: Iterable[Sequence[Value]]) -> list[int]:
    shown = [headings, *rows]
    return [
        min(WIDEST, max(NARROWEST, 2 + max(len(str(row[place] or "")) for row in shown)))
        for place in range(len(headings))
    ]


def _relation(key: str, kind: str, target: str) -> str:
    return f'<Relationship Id="{key}" Type="{OFFICE}/{kind}" Target="{target}"/>'


def _relations_of(count: int) -> str:
    sheets = (
        _relation(f"rId{number}", "worksheet", f"worksheets/sheet{number}.xml")
        for number in range(1, count + 1)
    )
    return RELATIONS % "".join((*sheets, _relation("rIdStyles", "styles", "styles.xml")))


def _workbook_xml(made: Sequence[tuple[str, str]]) -> str:
    """``made`` are the titles of the sheets, each with what its filter covers."""
    sheets, names = "", ""
    for number, (title, area) in enumerate(made):
        place = number + 1
        sheets += f'<sheet name={quoteattr(title)} sheetId="{place}" r:id="rId{place}"/>'
        quoted = "'{}'".format(escape(title).replace("'", "''"))
        names += (
            f'<definedName name="_xlnm._FilterDatabase" localSheetId="{number}" hidden="1">'
            f"{quoted}!{area}</definedName>"
            f'<definedName name="_xlnm.Print_Titles" localSheetId="{number}">'
            f"{quoted}!$1:$1</definedName>"
        )
    return (
        f'{HEAD}<workbook xmlns="{MAIN}" xmlns:r="{OFFICE}"><sheets>{sheets}</sheets>'
        f"<definedNames>{names}</definedNames></workbook>"
    )


def _types_xml(count: int) -> str:
    sheets = "".join(
        f'<Override PartName="/xl/worksheets/sheet{number}.xml" '
        f'ContentType="{KIND}.worksheet+xml"/>'
        for number in range(1, count + 1)
    )
    return (
        f'{HEAD}<Types xmlns="{PACKAGE}/content-types"><Default Extension="rels" '
        'ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
        '<Default Extension="xml" ContentType="application/xml"/>'
        f'<Override PartName="/xl/workbook.xml" ContentType="{KIND}.sheet.main+xml"/>'
        f'<Override PartName="/xl/styles.xml" ContentType="{KIND}.styles+xml"/>{sheets}</Types>'
    )
