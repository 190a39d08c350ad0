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
MAX_ROWS = 100_000
MAX_COLUMNS = 256
MAX_CELLS = 2_000_000
"""Filled cells in the whole file."""
MAX_CELL_CHARS = 32_767
"""Characters in one cell; spreadsheet programs themselves hold no more."""
CHUNK_BYTES = 1 << 16
XML_ENDINGS = (".xml", ".rels", ".vml")
NOT_READ = ("META-INF/manifest.xml",)
"""Of .ods: old programs declare a document type in it, and no reader of ours follows it."""
OVERLAP_BYTES = 512
"""Kept from one chunk to the next, so that no tag is missed at a border."""

NOT_UTF8_STARTS = (b"\xff\xfe", b"\xfe\xff", b"\x00", b"<\x00")

_DECLARATION = re.compile(rb"<!(?:DOCTYPE|ENTITY)", re.IGNORECASE)


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


def check_workbook_bytes(data: bytes, needs: str = "[Content_Types].xml") -> None:
    """Raises UnsafeFileError on a package that must not be opened, or lacks the part it needs."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as package:
            parts = package.infolist()
            _check_directory(parts, needs)
            for part in parts:
                if part.filename.lower().endswith(XML_ENDINGS) and part.filename not in NOT_READ:
                    _check_part(package, part)
    except (UnsafeFileError, MemoryError):
        raise
    except Exception as error:  # zipfile, zlib and friends: whatever they say, it is broken.
        raise damaged() from error


def damaged() -> UnsafeFileError:
    """The error for a file that is broken inside."""
    return UnsafeFileError(
        "damaged",
        "The file is damaged and cannot be opened. Open it in your spreadsheet program and "
        "save it again as .xlsx.",
    )


def _check_directory(parts: list[zipfile.ZipInfo], needs: str) -> None:
    names = {part.filename for part in parts}
    if needs not in names:
        raise UnsafeFileError(
            "not_a_spreadsheet", "This is a zip file, but no .xlsx workbook. Save it as .xlsx."
        )
    if len(names) != len(parts):
        raise damaged()
    if any(part.flag_bits & 1 for part in parts):
        raise UnsafeFileError(
            "password",
            "The file has a password. Open it with the password and save it as .xlsx without one.",
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


def _check_part(package: zipfile.ZipFile, part: zipfile.ZipInfo) -> None:
    for number, piece in enumerate(_pieces(package, part)):
        if number == 0 and piece.startswith(NOT_UTF8_STARTS):
            raise UnsafeFileError(
                "encoding",
                f"The part {part.filename} is not written as UTF-8. Save the file again as .xlsx.",
            )
        if b"<!" in piece and _DECLARATION.search(piece):
            raise UnsafeFileError(
                "declares_entities",
                f"The part {part.filename} declares a document type or entities, which no "
                "spreadsheet program writes. The file was not opened. Copy the list into a new "
                "workbook.",
            )


def _pieces(package: zipfile.ZipFile, part: zipfile.ZipInfo) -> Iterator[bytes]:
    """The part unpacked piece by piece, each with the end of the piece before it.

    A part never unpacks to more than it declares: the library stops there and finds that its
    check sum is wrong.
    """
    kept = b""
    with package.open(part) as stream:
        while chunk := stream.read(CHUNK_BYTES):
            yield kept + chunk
            kept = chunk[-OVERLAP_BYTES:]


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


def check_cell_length(characters: int, where: str) -> None:
    """Raises UnsafeFileError when one cell holds more text than any spreadsheet program writes."""
    if characters > MAX_CELL_CHARS:
        raise UnsafeFileError(
            "cell_too_long",
            f"A cell ({where}) has {characters:,} characters; no spreadsheet program writes more "
            f"than {MAX_CELL_CHARS:,}. Shorten it.",
        )
