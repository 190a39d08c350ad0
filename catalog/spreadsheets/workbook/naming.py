"""What a file is, whatever it is called: a workbook of one kind or the other, a text table, or
something else, which is named with what to do about it.

The first bytes tell (file signatures as they are registered or published for each format);
inside the old container (OLE) and the zip, the names of the parts do.
"""

from __future__ import annotations

import io
import re
import zipfile
from enum import Enum

from catalog.spreadsheets.workbook.safety import UnsafeFileError, damaged

OLE_START = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
ZIP_START = b"PK\x03\x04"
ODS_TYPE = b"application/vnd.oasis.opendocument.spreadsheet"
LOOKED_AT = 4096
"""Bytes at the start in which a page or a document says what it is."""

_WORKBOOK_BEGINS = re.compile(rb"\x09\x08\x10\x00\x00\x06\x05\x00|\x09\x08\x08\x00\x00\x05\x05\x00")
"""The first record of a workbook of 1997 and of 1995 ([MS-XLS] 2.4.21, BOF)."""
FILE_PASS = b"\x2f\x00"
"""The record of an encrypted one ([MS-XLS] 2.4.117, FilePass)."""
FIRST_RECORDS = 4

SAVE_AS = "Open it in your spreadsheet program and save it as .xlsx."
PASSWORD = "The file has a password. Open it with the password and save it as .xlsx without one."


class Format(Enum):
    """The kinds of files that are read."""

    XLSX = "xlsx"
    XLS = "xls"
    ODS = "ods"
    TEXT = "text"


_STARTS = (
    (b"%PDF-", "a PDF: a picture of a list, not the list. Ask for the list it was made from"),
    (b"{\\rtf", "a text document (.rtf). Copy its table into a workbook and save that as .xlsx"),
    (b"\x89PNG", "a picture. Ask for the list itself"),
    (b"\xff\xd8\xff", "a picture. Ask for the list itself"),
    (b"GIF8", "a picture. Ask for the list itself"),
    (b"\x1f\x8b", "a packed file (.gz). Unpack it and send what is inside"),
    (b"Rar!", "a packed file (.rar). Unpack it and send what is inside"),
    (b"7z\xbc\xaf", "a packed file (.7z). Unpack it and send what is inside"),
)
_PAGE_STARTS = (b"<!doctype html", b"<html", b"<table", b"<head", b"<meta", b"<body")
_XML_2003 = (b"urn:schemas-microsoft-com:office:spreadsheet", b'progid="excel.sheet"')


def format_of(data: bytes, file_name: str) -> Format:
    """The kind of file in ``data``. UnsafeFileError, named, for every kind that is not read."""
    if data.startswith(ZIP_START):
        return _in_zip(data)
    if data.startswith(OLE_START[:4]):
        return _in_ole(data)
    _refuse_other(data)
    if file_name.casefold().endswith((".xlsx", ".xlsm", ".ods")):
        raise UnsafeFileError(
            "not_a_spreadsheet",
            "The file is called a workbook and is none: it may be damaged. Save it again as .xlsx.",
        )
    return Format.TEXT


def _in_zip(data: bytes) -> Format:
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as package:
            names = set(package.namelist())
            if "xl/workbook.bin" in names:
                raise _is("binary_workbook", f"a binary workbook (.xlsb). {SAVE_AS}")
            if not any(name in names for name in ("mimetype", "content.xml")):
                return Format.XLSX
            if b"encryption-data" in _start_of(package, "META-INF/manifest.xml"):
                raise UnsafeFileError("password", PASSWORD)
            kind = _start_of(package, "mimetype").strip()
    except UnsafeFileError:
        raise
    except Exception as error:  # zipfile, zlib and friends: whatever they say, it is broken.
        raise damaged() from error
    if kind and not kind.startswith(ODS_TYPE):
        raise _is("not_a_spreadsheet", "a document and no spreadsheet. Send the workbook itself.")
    return Format.ODS


def _start_of(package: zipfile.ZipFile, name: str) -> bytes:
    """The first bytes of a part, however long it says it is; b"" where it is missing."""
    if name not in package.namelist():
        return b""
    with package.open(name) as part:
        return part.read(LOOKED_AT)


def _in_ole(data: bytes) -> Format:
    """Streams of the old container are named in its directory, in UTF-16."""
    if _has_stream(data, "EncryptedPackage") or _is_encrypted(data):
        raise UnsafeFileError("password", PASSWORD)
    if _has_stream(data, "Workbook") or _has_stream(data, "Book"):
        return Format.XLS
    raise _is(
        "not_a_spreadsheet",
        f"an old office file and no workbook, or is damaged. If it is a workbook: {SAVE_AS}",
    )


def _has_stream(data: bytes, name: str) -> bool:
    return f"{name}\0".encode("utf-16-le") in data


def _is_encrypted(data: bytes) -> bool:
    """Whether the record that says so is among the first of the workbook's stream."""
    found = _WORKBOOK_BEGINS.search(data)
    place = found.start() if found else len(data)
    for _ in range(FIRST_RECORDS):
        if data[place : place + 2] == FILE_PASS:
            return True
        place += 4 + int.from_bytes(data[place + 2 : place + 4], "little")
    return False


def _refuse_other(data: bytes) -> None:
    for start, what in _STARTS:
        if data.startswith(start):
            raise _is("not_a_spreadsheet", f"{what}.")
    start = data[:LOOKED_AT].removeprefix(b"\xef\xbb\xbf").replace(b"\x00", b"")
    start = start.lstrip(b"\xff\xfe \t\r\n").lower()
    if any(mark in start for mark in _XML_2003):
        raise _is("xml_workbook", f"an XML workbook of 2003, whatever its name says. {SAVE_AS}")
    if start.startswith(_PAGE_STARTS) or (start.startswith(b"<?xml") and b"<html" in start):
        raise _is("web_page", f"a web page (HTML), whatever its name says. {SAVE_AS}")
    if start.startswith(b"mime-version:"):
        raise _is("web_page", f"a web page in one file (.mht), whatever its name says. {SAVE_AS}")
    if start.startswith((b"<?xml", b"<office:document")):
        raise _is("xml_file", f"an XML file. If a spreadsheet program reads it: {SAVE_AS}")


def _is(code: str, what: str) -> UnsafeFileError:
    return UnsafeFileError(code, f"This is {what}")
