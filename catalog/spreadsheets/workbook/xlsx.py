"""The rows of an .xlsx workbook in one pass, with what a reader of values leaves out.

openpyxl's read-only mode gives either formulas or their last results, and says nothing of
merged cells and hidden rows; asking for all three means reading the file three times, or
holding it whole. The sheets are therefore read here with expat, a part at a time: value,
formula, number format, merges and what is hidden, in one go and in flat memory. openpyxl
still judges number formats, turns serial numbers into dates and translates shared formulas.

Source of the names: ECMA-376 part 1, SpreadsheetML (sheet data, styles, shared strings).
"""

from __future__ import annotations

import io
import posixpath
import zipfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any
from xml.parsers import expat

from defusedxml import ElementTree
from openpyxl.formula.translate import Translator
from openpyxl.styles.numbers import BUILTIN_FORMATS, is_date_format, is_timedelta_format
from openpyxl.utils.cell import get_column_letter, range_boundaries
from openpyxl.utils.datetime import CALENDAR_MAC_1904, CALENDAR_WINDOWS_1900, from_excel

from catalog.spreadsheets.workbook.safety import (
    CHUNK_BYTES,
    MAX_CELL_CHARS,
    MAX_COLUMNS,
    check_cell_length,
    check_column_number,
    check_row_number,
    damaged,
)
from catalog.spreadsheets.workbook.spool import Merges, RawCell, RawRow

MAX_MERGES = 20_000
"""Merged cells of one sheet that are followed (our limit)."""
_RELATIONS = "{http://schemas.openxmlformats.org/package/2006/relationships}"


@dataclass(slots=True)
class SheetFacts:
    """What a sheet says beside its values; complete once its rows have been gone through."""

    title: str
    path: str
    hidden: bool
    hidden_rows: list[int] = field(default_factory=list)
    hidden_columns: list[str] = field(default_factory=list)
    merges: Merges = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class _Style:
    number_format: str
    as_date: bool
    as_duration: bool


class Package:
    """An opened workbook. Raises whatever the broken file makes the libraries raise."""

    def __init__(self, data: bytes) -> None:
        self._zip = zipfile.ZipFile(io.BytesIO(data))
        self._names = set(self._zip.namelist())
        main = self._main_part()
        self._book = ElementTree.fromstring(self._zip.read(main), forbid_dtd=True)
        self._targets = self._relations(main)
        self._epoch = self._read_epoch()
        self._styles = self._read_styles()
        self._strings = self._read_strings()

    def close(self) -> None:
        self._zip.close()

    def sheets(self) -> Iterator[SheetFacts]:
        """The worksheets in their order; sheets that are charts are left out."""
        for element in _children(self._book, "sheet"):
            identifier = next(v for k, v in element.attrib.items() if _local(k) == "id")
            kind, path = self._targets[identifier]
            if kind == "worksheet":
                hidden = element.get("state", "visible") != "visible"
                yield SheetFacts(element.get("name", ""), path, hidden)

    def rows(self, facts: SheetFacts) -> Iterator[RawRow]:
        """The filled rows of one sheet; ``facts`` are completed on the way."""
        reader = _SheetReader(facts, self._strings, self._styles, self._epoch)
        with self._zip.open(facts.path) as stream:
            for chunk in iter(lambda: stream.read(CHUNK_BYTES), b""):
                reader.parser.Parse(chunk, False)
                yield from reader.taken()
        reader.parser.Parse(b"", True)
        yield from reader.taken()

    def _main_part(self) -> str:
        root = ElementTree.fromstring(self._zip.read("_rels/.rels"), forbid_dtd=True)
        for relation in root.iter(f"{_RELATIONS}Relationship"):
            if relation.get("Type", "").endswith("/officeDocument"):
                return str(relation.get("Target", "")).lstrip("/")
        return "xl/workbook.xml"

    def _relations(self, part: str) -> dict[str, tuple[str, str]]:
        folder, name = posixpath.split(part)
        path = posixpath.join(folder, "_rels", f"{name}.rels")
        root = ElementTree.fromstring(self._zip.read(path), forbid_dtd=True)
        found = {}
        for relation in root.iter(f"{_RELATIONS}Relationship"):
            target = str(relation.get("Target", ""))
            target = target.lstrip("/") if target.startswith("/") else f"{folder}/{target}"
            kind = str(relation.get("Type", "")).rsplit("/", 1)[-1]
            found[str(relation.get("Id"))] = (kind, posixpath.normpath(target))
        return found

    def _target(self, kind: str) -> str | None:
        paths = [path for each, path in self._targets.values() if each == kind]
        return paths[0] if paths and paths[0] in self._names else None

    def _read_epoch(self) -> datetime:
        properties = _children(self._book, "workbookPr")
        of_1904 = any(each.get("date1904") in ("1", "true") for each in properties)
        return CALENDAR_MAC_1904 if of_1904 else CALENDAR_WINDOWS_1900

    def _read_styles(self) -> list[_Style]:
        path = self._target("styles")
        if path is None:
            return []
        root = ElementTree.fromstring(self._zip.read(path), forbid_dtd=True)
        formats = {
            int(each.get("numFmtId", "0")): str(each.get("formatCode", ""))
            for group in _children(root, "numFmts")
            for each in _children(group, "numFmt")
        }
        return [
            _style(number, formats)
            for group in root
            if _local(group.tag) == "cellXfs"
            for each in _children(group, "xf")
            for number in [int(each.get("numFmtId", "0"))]
        ]

    def _read_strings(self) -> list[str]:
        path = self._target("sharedStrings")
        if path is None:
            return []
        reader = _StringsReader()
        with self._zip.open(path) as stream:
            reader.parser.ParseFile(stream)
        return reader.strings


def _style(number: int, formats: dict[int, str]) -> _Style:
    code = formats.get(number) or BUILTIN_FORMATS.get(number, "General")
    return _Style(code, bool(is_date_format(code)), bool(is_timedelta_format(code)))


def _local(name: str) -> str:
    return name.rpartition("}")[2]


def _children(element: Any, name: str) -> list[Any]:
    return [each for each in element.iter() if _local(each.tag) == name]


def _parser() -> Any:
    """An expat parser that follows no declaration of entities."""
    parser = expat.ParserCreate()
    parser.buffer_text = True

    def refuse(*_: object) -> Any:
        raise damaged()

    parser.StartDoctypeDeclHandler = parser.EntityDeclHandler = refuse
    parser.ExternalEntityRefHandler = refuse
    return parser


class _StringsReader:
    """The texts that cells share. Reading aids above a text (rPh) are left out."""

    def __init__(self) -> None:
        self.strings: list[str] = []
        self._parts: list[str] = []
        self._aid = False
        self.parser = _parser()
        self.parser.StartElementHandler = self._start
        self.parser.EndElementHandler = self._end

    def _start(self, name: str, _attributes: dict[str, str]) -> None:
        name = name.rpartition(":")[2]
        if name == "t" and not self._aid:
            self.parser.CharacterDataHandler = self._parts.append
        elif name == "rPh":
            self._aid = True

    def _end(self, name: str) -> None:
        name = name.rpartition(":")[2]
        if name == "t":
            self.parser.CharacterDataHandler = None
        elif name == "rPh":
            self._aid = False
        elif name == "si":
            text = "".join(self._parts)
            check_cell_length(len(text), "a shared text")
            self.strings.append(text)
            self._parts.clear()


class _SheetReader:
    """Handlers for the elements of one sheet. Each finished row is laid into ``_rows``."""

    def __init__(
        self, facts: SheetFacts, strings: list[str], styles: list[_Style], epoch: datetime
    ) -> None:
        self._facts, self._strings, self._styles, self._epoch = facts, strings, styles, epoch
        self._rows: list[RawRow] = []
        self._row, self._row_said = 0, "0"
        self._cells: list[RawCell] = []
        self._column = 0
        self._letters: dict[str, int] = {}
        self._attributes: dict[str, str] = {}
        self._value: list[str] | None = None
        self._formula: list[str] | None = None
        self._shared: dict[str, tuple[str, str]] = {}
        self._formula_attributes: dict[str, str] = {}
        self._merged = 0
        self.parser = parser = _parser()
        self._handlers: dict[str, Callable[[dict[str, str]], None]] = {
            "c": self._start_cell,
            "v": self._start_value,
            "t": self._start_value,
            "f": self._start_formula,
            "row": self._start_row,
            "col": self._column_width,
            "mergeCell": self._merge,
            "rPh": self._start_aid,
        }
        parser.StartElementHandler = self._start
        parser.EndElementHandler = self._end

    def taken(self) -> list[RawRow]:
        """The rows finished since the last call."""
        rows, self._rows = self._rows, []
        return rows

    def _start(self, name: str, attributes: dict[str, str]) -> None:
        handler = self._handlers.get(name)
        if handler is None and ":" in name:
            handler = self._handlers.get(name.rpartition(":")[2])
        if handler is not None:
            handler(attributes)

    def _end(self, name: str) -> None:
        if ":" in name:
            name = name.rpartition(":")[2]
        if name in ("v", "t", "f"):
            self.parser.CharacterDataHandler = None
        elif name == "c":
            self._end_cell()
        elif name == "row" and self._cells:
            self._rows.append((self._row, self._cells))
            self._cells = []

    def _start_row(self, attributes: dict[str, str]) -> None:
        number = int(attributes.get("r", self._row + 1))
        if number <= self._row:
            raise damaged()  # Rows out of order: no coordinate could be trusted.
        check_row_number(number, self._facts.title)
        self._row, self._column, self._cells = number, 0, []
        self._row_said = str(number)
        if attributes.get("hidden") in ("1", "true"):
            self._facts.hidden_rows.append(number)

    def _column_width(self, attributes: dict[str, str]) -> None:
        if attributes.get("hidden") in ("1", "true"):
            last = min(int(attributes["max"]), MAX_COLUMNS)
            columns = range(int(attributes["min"]), last + 1)
            self._facts.hidden_columns.extend(map(get_column_letter, columns))

    def _merge(self, attributes: dict[str, str]) -> None:
        left, top, _, bottom = range_boundaries(attributes["ref"])
        self._merged += 1
        if bottom > top and self._merged <= MAX_MERGES:
            self._facts.merges.setdefault(get_column_letter(left), []).append((top, bottom))

    def _start_cell(self, attributes: dict[str, str]) -> None:
        self._attributes = attributes
        self._value = self._formula = None

    def _start_value(self, _attributes: dict[str, str]) -> None:
        if self._value is None:
            self._value = []
        self.parser.CharacterDataHandler = self._value.append

    def _start_aid(self, _attributes: dict[str, str]) -> None:
        """A reading aid inside a text: what follows in this cell is not its value."""
        kept = list(self._value or ())
        self._value = _Deaf(kept)

    def _start_formula(self, attributes: dict[str, str]) -> None:
        self._formula, self._formula_attributes = [], attributes
        self.parser.CharacterDataHandler = self._formula.append

    def _letter(self) -> str:
        reference = self._attributes.get("r")
        if reference is None:
            letter = get_column_letter(self._column + 1)
        else:
            letter = reference.rstrip("0123456789")
        number = self._letters.get(letter)
        if number is None:
            number = range_boundaries(f"{letter}1")[0]
            check_column_number(number, self._facts.title)
            self._letters[letter] = number
        if number <= self._column or (reference and reference != letter + self._row_said):
            check_row_number(range_boundaries(reference or "A1")[1], self._facts.title)
            raise damaged()  # A cell that says that it is elsewhere.
        self._column = number
        return letter

    def _end_cell(self) -> None:
        letter = self._letter()
        if self._value is None and self._formula is None:
            return
        text = None if self._value is None else "".join(self._value)
        if text is not None and len(text) > MAX_CELL_CHARS:
            check_cell_length(len(text), f"{self._facts.title}!{letter}{self._row}")
        style = self._style()
        value = self._typed_value(text, style)
        if self._formula is not None:
            formula = self._formula_text(f"{letter}{self._row}")
            self._cells.append((letter, value, formula, style.number_format))
        elif value is not None and not (isinstance(value, str) and not value.strip()):
            self._cells.append((letter, value, None, style.number_format))

    def _style(self) -> _Style:
        number = self._attributes.get("s")
        if number is None or not self._styles:
            return _GENERAL
        return self._styles[int(number)]

    def _typed_value(self, text: str | None, style: _Style) -> Any:
        kind = self._attributes.get("t", "n")
        if text is None:
            return None
        if kind == "s":
            return self._strings[int(text)] if text else None
        if kind in ("inlineStr", "str", "e"):
            return text
        if not text.strip():
            return None
        if kind == "b":
            return text.strip() in ("1", "true")
        if kind == "d":
            return datetime.fromisoformat(text)
        return _number(text, style, self._epoch)

    def _formula_text(self, coordinate: str) -> str:
        text = "=" + "".join(self._formula or ())
        shared = self._formula_attributes.get("si")
        if self._formula_attributes.get("t") != "shared" or shared is None:
            return text
        if text != "=":
            self._shared[shared] = (text, coordinate)
            return text
        master, origin = self._shared.get(shared, ("=", coordinate))
        return str(Translator(master, origin).translate_formula(coordinate))


class _Deaf(list[str]):
    """A list that takes nothing more."""

    def append(self, _text: str) -> None:
        return


_GENERAL = _Style("General", False, False)


def _number(text: str, style: _Style, epoch: datetime) -> Any:
    number: int | float
    try:
        number = int(text)
    except ValueError:
        number = float(text)
    if not style.as_date:
        return number
    try:
        return from_excel(number, epoch, timedelta=style.as_duration)
    except (OverflowError, ValueError):
        return number  # No date has this number; it stays what was stored.
