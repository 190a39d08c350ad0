"""Is this file safe to open? Looked at with the standard library before any reader sees it.

A workbook is a zip of XML parts. A few kilobytes can unpack to gigabytes, name a cell a
million rows away, or ask the XML reader to expand entities. Each is refused here with a
sentence, at a bounded cost. Sources: ECMA-376 part 2 (the zip package) and part 1 (sheet
parts); OWASP ASVS 5.2 (limits on size and on unpacked size). The limits are ours.
"""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass

MAX_FILE_BYTES = 20_000_000
MAX_PARTS = 1_000
MAX_UNPACKED_BYTES = 200_000_000
MAX_RATIO = 200
"""Unpacked to packed size of one part. Real sheets stay under about 50."""
RATIO_FROM_BYTES = 1_000_000
"""Parts that unpack to less than this may have any ratio."""
MAX_ROWS = 20_000
MAX_COLUMNS = 256
MAX_CELLS = 500_000
"""Filled cells in the whole file."""
CHUNK_BYTES = 1 << 16
OVERLAP_BYTES = 512
"""Kept from one chunk to the next, so that no tag is missed at a border."""

OLE_START = b"\xd0\xcf\x11\xe0"
ZIP_START = b"PK\x03\x04"
NOT_UTF8_STARTS = (b"\xff\xfe", b"\xfe\xff", b"\x00", b"<\x00")

_DECLARATION = re.compile(rb"<!(?:DOCTYPE|ENTITY)", re.IGNORECASE)
_ROW = re.compile(rb"<(?:\w+:)?row\b[^<>]*?\sr\s*=\s*[\"'](\d+)[\"']")
_CELL = re.compile(rb"<(?:\w+:)?c\b[^<>]*?\sr\s*=\s*[\"']([A-Za-z]+)(\d+)[\"']")
_FORMULA = re.compile(rb"<(?:\w+:)?f[\s/>]")


@dataclass(frozen=True, slots=True)
class FileProblem:
    """Why a whole file cannot be read. ``code`` is for programs, ``message`` for people."""

    code: str
    message: str


class UnsafeFileError(Exception):
    """Raised inside the reader, and handed out as its :class:`FileProblem`."""

    def __init__(self, code: str, message: str) -> None:
        super().__init__(message)
        self.problem = FileProblem(code, message)


@dataclass(slots=True)
class _Found:
    """What the look through the parts has seen so far."""

    unpacked: int = 0
    formulas: bool = False


def check_workbook_bytes(data: bytes) -> bool:
    """True when the workbook holds formulas. Raises UnsafeFileError on anything unsafe."""
    found = _Found()
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as package:
            parts = package.infolist()
            _check_directory(parts)
            for part in parts:
                if not part.is_dir():
                    _check_part(package, part, found)
    except UnsafeFileError:
        raise
    except (zipfile.BadZipFile, OSError, EOFError, ValueError, NotImplementedError) as error:
        raise damaged() from error
    except Exception as error:  # zlib and friends: whatever they say, the file is broken.
        raise damaged() from error
    return found.formulas


def damaged() -> UnsafeFileError:
    """The error for a file that is broken inside."""
    return UnsafeFileError(
        "damaged",
        "The file is damaged and cannot be opened. Open it in your spreadsheet program and "
        "save it again as .xlsx.",
    )


def _check_directory(parts: list[zipfile.ZipInfo]) -> None:
    names = {part.filename for part in parts}
    if "[Content_Types].xml" not in names:
        raise UnsafeFileError(
            "not_a_spreadsheet", "This is a zip file, but no .xlsx workbook. Save it as .xlsx."
        )
    if len(names) != len(parts):
        raise damaged()
    if any(part.flag_bits & 1 for part in parts):
        raise UnsafeFileError(
            "password", "The file has a password. Save a copy without one and send that."
        )
    if len(parts) > MAX_PARTS:
        raise UnsafeFileError(
            "too_many_parts",
            f"The workbook has {len(parts)} parts inside, more than {MAX_PARTS}. Copy the list "
            "into a new workbook.",
        )
    if sum(part.file_size for part in parts) > MAX_UNPACKED_BYTES:
        raise _too_large_inside()
    for part in parts:
        if part.file_size > RATIO_FROM_BYTES and part.file_size > MAX_RATIO * part.compress_size:
            raise _too_large_inside()


def _too_large_inside() -> UnsafeFileError:
    return UnsafeFileError(
        "unpacks_too_large",
        f"The file unpacks to far more than its size (the limit is {MAX_UNPACKED_BYTES:,} bytes, "
        f"and {MAX_RATIO} times its packed size). Copy the list into a new workbook.",
    )


def _check_part(package: zipfile.ZipFile, part: zipfile.ZipInfo, found: _Found) -> None:
    is_xml = part.filename.lower().endswith((".xml", ".rels", ".vml"))
    is_sheet = "worksheets/" in part.filename.lower() and is_xml
    for number, piece in enumerate(_pieces(package, part, found)):
        if not is_xml:
            continue
        if number == 0 and piece.startswith(NOT_UTF8_STARTS):
            raise UnsafeFileError(
                "encoding",
                f"The part {part.filename} is not written as UTF-8. Save the file again as .xlsx.",
            )
        if _DECLARATION.search(piece):
            raise UnsafeFileError(
                "declares_entities",
                f"The part {part.filename} declares a document type or entities, which no "
                "spreadsheet program writes. The file was not opened. Copy the list into a new "
                "workbook.",
            )
        if is_sheet:
            _check_extent(piece, part.filename)
            found.formulas = found.formulas or bool(_FORMULA.search(piece))


def _pieces(package: zipfile.ZipFile, part: zipfile.ZipInfo, found: _Found) -> Iterator[bytes]:
    """The part unpacked piece by piece, each with the end of the piece before it."""
    kept = b""
    with package.open(part) as stream:
        while chunk := stream.read(CHUNK_BYTES):
            found.unpacked += len(chunk)
            if found.unpacked > MAX_UNPACKED_BYTES:
                raise _too_large_inside()
            yield kept + chunk
            kept = chunk[-OVERLAP_BYTES:]


def _check_extent(piece: bytes, name: str) -> None:
    for row in _ROW.findall(piece):
        check_row_number(int(row), name)
    for letters, row in _CELL.findall(piece):
        check_row_number(int(row), name)
        check_column_number(_column_number(letters), name)


def check_row_number(row: int, sheet: str) -> None:
    """Raises UnsafeFileError when ``row`` is past the last row that is read."""
    if row > MAX_ROWS:
        raise UnsafeFileError(
            "too_many_rows",
            f"{sheet} uses row {row:,}; the limit is {MAX_ROWS:,}. If the list is shorter, select "
            "the rows below it, delete them, and save.",
        )


def check_column_number(column: int, sheet: str) -> None:
    """Raises UnsafeFileError when ``column`` is past the last column that is read."""
    if column > MAX_COLUMNS:
        raise UnsafeFileError(
            "too_many_columns",
            f"{sheet} uses column {column:,}; the limit is {MAX_COLUMNS}. If the list is narrower, "
            "select the columns right of it, delete them, and save.",
        )


def check_cell_count(cells: int) -> None:
    """Raises UnsafeFileError when the file has more filled cells than are read."""
    if cells > MAX_CELLS:
        raise UnsafeFileError(
            "too_many_cells",
            f"The file has more than {MAX_CELLS:,} filled cells. Split the list.",
        )


def _column_number(letters: bytes) -> int:
    number = 0
    for letter in letters.upper()[:8]:
        number = number * 26 + letter - ord("A") + 1
    return number
