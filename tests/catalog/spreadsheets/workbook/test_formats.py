"""Workbooks that are no .xlsx, text tables as old programs wrote them, and files that are called
a spreadsheet and are something else."""

from __future__ import annotations

import io
import zipfile
from datetime import date, datetime

import pytest

from catalog.spreadsheets.workbook import safety
from catalog.spreadsheets.workbook.naming import OLE_START, Format
from catalog.spreadsheets.workbook.reading import Row, Workbook, read_workbook
from tests.catalog.spreadsheets.older_workbooks import ods, xls
from tests.catalog.spreadsheets.workbooks import xlsx

LIST = [
    ["Item #", "Name", "Length (mm)", "Bought"],
    [1042, "Łyżka, große", 16.5, date(2026, 4, 3)],
    [],
    ["HF-2", "Probe", 160, None],
]


def rows_of(workbook: Workbook) -> list[Row]:
    assert not workbook.problems, workbook.problems
    return list(workbook.sheets[0].rows)


@pytest.mark.parametrize(("make", "kind"), [(xls, Format.XLS), (ods, Format.ODS)])
class TestOldWorkbooks:
    def test_the_values_are_those_of_the_same_xlsx(self, make, kind) -> None:  # type: ignore[no-untyped-def]
        read = read_workbook(make({"List": LIST}), "list.bin")
        as_xlsx = rows_of(read_workbook(xlsx({"List": LIST}), "list.xlsx"))
        shown = [[(c.row, c.column_letter, c.typed) for c in row.cells] for row in rows_of(read)]
        assert shown == [[(c.row, c.column_letter, c.typed) for c in row.cells] for row in as_xlsx]
        assert read.format is kind

    def test_a_whole_number_is_one(self, make, kind) -> None:  # type: ignore[no-untyped-def]
        value = rows_of(read_workbook(make({"List": LIST}), "list"))[1].at("A").value
        assert (value, type(value)) == (1042, int)

    def test_a_date_is_a_date(self, make, kind) -> None:  # type: ignore[no-untyped-def]
        value = rows_of(read_workbook(make({"List": LIST}), "list"))[1].at("D").value
        assert value in (date(2026, 4, 3), datetime(2026, 4, 3))

    def test_what_cannot_be_seen_is_said(self, make, kind) -> None:  # type: ignore[no-untyped-def]
        remark = read_workbook(make({"List": LIST}), "list").remarks[0]
        assert all(word in remark for word in ("ormulas", "number formats", "idden rows"))

    def test_rows_and_columns_before_the_first_cell_are_counted(self, make, kind) -> None:  # type: ignore[no-untyped-def]
        rows = rows_of(read_workbook(make({"List": [[], [None, "Item #"], [None, "T"]]}), "list"))
        assert [(cell.row, cell.column_letter) for row in rows for cell in row.cells] == [
            (2, "B"), (3, "B"),
        ]  # fmt: skip

    def test_too_many_rows_are_refused(self, make, kind, monkeypatch) -> None:  # type: ignore[no-untyped-def]
        monkeypatch.setattr(safety, "MAX_ROWS", 3)
        workbook = read_workbook(make({"List": LIST}), "list")
        assert [problem.code for problem in workbook.problems] == ["too_many_rows"]

    def test_too_many_cells_are_refused(self, make, kind, monkeypatch) -> None:  # type: ignore[no-untyped-def]
        monkeypatch.setattr(safety, "MAX_CELLS", 3)
        workbook = read_workbook(make({"List": LIST}), "list")
        assert [problem.code for problem in workbook.problems] == ["too_many_cells"]

    def test_a_broken_one_is_named(self, make, kind) -> None:  # type: ignore[no-untyped-def]
        workbook = read_workbook(make({"List": LIST})[:-100], "list")
        assert [problem.code for problem in workbook.problems] == ["damaged"]


def test_merged_cells_of_an_old_workbook_are_filled_down() -> None:
    rows = [["Item #", "Name"], ["T-1", "Both"], ["T-2", None]]
    read = rows_of(read_workbook(xls({"List": rows}, merged=(1, 2, 1, 1)), "list.xls"))
    assert (read[2].at("B").value, read[2].at("B").merged) == ("Both", "B2")


def test_a_hidden_sheet_of_an_old_workbook_is_marked() -> None:
    workbook = read_workbook(xls({"List": LIST, "Old": LIST}, hidden="Old"), "list.xls")
    assert [(sheet.title, sheet.hidden) for sheet in workbook.sheets] == [
        ("List", False), ("Old", True),
    ]  # fmt: skip


def problem_of(data: bytes, name: str = "list.xls") -> tuple[str, str]:
    (problem,) = read_workbook(data, name).problems
    return problem.code, problem.message


def container(*streams: str) -> bytes:
    """Enough of the old container for its streams to be named."""
    names = b"".join(f"{name}\0".encode("utf-16-le").ljust(128, b"\0") for name in streams)
    return OLE_START + bytes(504) + names


def zipped(**parts: bytes) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as package:
        for name, content in parts.items():
            package.writestr(name.replace("__", "/").replace("_dot_", "."), content)
    return out.getvalue()


def locked_ods() -> bytes:
    manifest = b'<manifest:encryption-data manifest:checksum="x"/>'
    return zipped(
        mimetype=b"application/vnd.oasis.opendocument.spreadsheet",
        content_dot_xml=b"\x9f\x01\xff",
        **{"META-INF__manifest_dot_xml": manifest},
    )


PAGE = b"<html><body><table><tr><td>Item #</td></tr></table></body></html>"
XML_2003 = (
    b'<?xml version="1.0"?><?mso-application progid="Excel.Sheet"?>'
    b'<Workbook xmlns="urn:schemas-microsoft-com:office:spreadsheet"/>'
)


@pytest.mark.parametrize(
    ("data", "code", "words"),
    [
        (container("EncryptedPackage", "EncryptionInfo"), "password", "without one"),
        (locked_ods(), "password", "without one"),
        (container("WordDocument"), "not_a_spreadsheet", "no workbook"),
        (zipped(mimetype=b"application/vnd.oasis.opendocument.text", content_dot_xml=b"<x/>"),
         "not_a_spreadsheet", "no spreadsheet"),
        (zipped(xl__workbook_dot_bin=b"x"), "binary_workbook", "save it as .xlsx"),
        (PAGE, "web_page", "save it as .xlsx"),
        (b"\xef\xbb\xbf\r\n<!DOCTYPE HTML>" + PAGE, "web_page", "HTML"),
        (PAGE.decode().encode("utf-16"), "web_page", "HTML"),
        (b"<table border=1><tr><td>1</table>", "web_page", "HTML"),
        (b"MIME-Version: 1.0\nContent-Type: multipart/related", "web_page", ".mht"),
        (XML_2003, "xml_workbook", "XML workbook of 2003"),
        (XML_2003.decode().encode("utf-16"), "xml_workbook", "save it as .xlsx"),
        (b"<?xml version='1.0'?><list/>", "xml_file", "XML"),
        (b"%PDF-1.7\n", "not_a_spreadsheet", "PDF"),
        (b"{\\rtf1 hello}", "not_a_spreadsheet", "text document"),
        (b"\x89PNG\r\n\x1a\n", "not_a_spreadsheet", "picture"),
    ],
)  # fmt: skip
@pytest.mark.parametrize("name", ["list.xls", "list.xlsx", "list.csv"])
def test_a_file_is_named_as_what_it_is(data: bytes, code: str, words: str, name: str) -> None:
    found, message = problem_of(data, name)
    assert (found, words in message) == (code, True), message


def test_an_old_workbook_with_a_password_is_named() -> None:
    code, message = problem_of(xls({"List": LIST}, locked=True))
    assert (code, "password" in message) == ("password", True)


def test_angle_brackets_alone_make_no_web_page() -> None:
    assert not read_workbook(b"Item #;Name\nT-1;<html> probe\n", "list.csv").problems


@pytest.mark.parametrize("end", ["\r", "\r\n", "\n"])
@pytest.mark.parametrize("separator", ["|", ";", "\t", ","])
def test_text_tables_of_any_machine_are_split(end: str, separator: str) -> None:
    lines = [["Item #", "Name", "Length"], ["T-1", '"a\nb"', "12"], ["T-2", 'Hook 5"', "13"]]
    text = end.join(separator.join(line) for line in lines)
    rows = rows_of(read_workbook(text.encode(), "list.csv"))
    assert [[cell.value for cell in row.cells] for row in rows] == [
        ["Item #", "Name", "Length"], ["T-1", "a\nb", "12"], ["T-2", 'Hook 5"', "13"],
    ]  # fmt: skip


def test_a_carriage_return_in_a_bare_cell_is_said_in_words() -> None:
    code, message = problem_of(b"Item #,Name\nT-1,Hook\rbent\nT-2,Probe\n", "list.csv")
    assert (code, "line break" in message) == ("damaged", True)


def test_a_cell_longer_than_a_reader_takes_is_said_in_words() -> None:
    code, message = problem_of(b'Item #,Name\nT-1,"' + b"x" * 200_000, "list.csv")
    assert (code, "field limit" in message) == ("cell_too_long", False)
