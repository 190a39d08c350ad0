"""Opening spreadsheets: hostile files, lying files, and the ordinary ones.

The hostile files are made here; the attacks are public knowledge (CWE-409 zip bomb, CWE-776
entity expansion, CWE-611 external entity).
"""

from __future__ import annotations

import io
import zipfile

import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalog.spreadsheets.workbook import safety
from catalog.spreadsheets.workbook.reading import read_workbook
from tests.catalog.spreadsheets.workbooks import DEMO, demo, with_part, xlsx

SHEET = "xl/worksheets/sheet1.xml"
ENTITY = b'<!DOCTYPE x [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;">]>'


def small() -> bytes:
    return xlsx({"List": [["Item #", "Name"], ["HF-1", "Probe"]]})


def problem_code(data: bytes, name: str = "list.xlsx") -> str:
    problems = read_workbook(data, name).problems
    return problems[0].code if problems else ""


def first_values(data: bytes, name: str) -> list[object]:
    return [cell.value for cell in read_workbook(data, name).sheets[0].rows[0].cells]


def test_a_zip_bomb_is_refused() -> None:
    padding = b"<!--" + b" " * 5_000_000 + b"--></worksheet>"
    bomb = with_part(small(), SHEET, b"</worksheet>", padding)
    assert problem_code(bomb) == "unpacks_too_large"


def test_many_large_parts_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(safety, "MAX_UNPACKED_BYTES", 1000)
    assert problem_code(small()) == "unpacks_too_large"


def test_a_part_that_lies_about_its_size_is_refused() -> None:
    data = bytearray(small())
    with zipfile.ZipFile(io.BytesIO(bytes(data))) as package:
        true_size = package.getinfo(SHEET).file_size.to_bytes(4, "little")
    start = data.rindex(SHEET.encode()) - 46
    assert data[start + 24 : start + 28] == true_size
    data[start + 24 : start + 28] = (10).to_bytes(4, "little")
    assert problem_code(bytes(data)) == "damaged"


def test_too_many_parts_are_refused() -> None:
    out = io.BytesIO(small())
    with zipfile.ZipFile(out, "a") as package:
        for number in range(safety.MAX_PARTS):
            package.writestr(f"xl/media/{number}.bin", b"")
    assert problem_code(out.getvalue()) == "too_many_parts"


@pytest.mark.parametrize(
    ("old", "new", "code"),
    [
        (b'r="A2"', b'r="A1048576"', "too_many_rows"),
        (b'<row r="2"', b'<row r="1048576"', "too_many_rows"),
        (b'r="B2"', b'r="XFD2"', "too_many_columns"),
    ],
)
def test_a_cell_far_away_is_refused(old: bytes, new: bytes, code: str) -> None:
    assert problem_code(with_part(small(), SHEET, old, new)) == code


def test_a_far_row_hidden_from_the_look_ahead_is_still_refused() -> None:
    # A character reference hides the row number from a search through the bytes.
    hidden = with_part(small(), SHEET, b'<row r="2"', b'<row r="&#49;048576"')
    assert problem_code(with_part(hidden, SHEET, b'r="A2"', b'r="A&#49;048576"')) == "too_many_rows"


@pytest.mark.parametrize("part", [SHEET, "xl/workbook.xml", "xl/styles.xml", "[Content_Types].xml"])
def test_a_declared_entity_is_refused_in_every_part(part: str) -> None:
    with zipfile.ZipFile(io.BytesIO(small())) as package:
        root = package.read(part).lstrip()
    start = root[root.index(b"?>") + 2 :][:20] if root.startswith(b"<?xml") else root[:20]
    assert problem_code(with_part(small(), part, start, ENTITY + start)) == "declares_entities"


def test_a_declaration_across_two_pieces_is_seen() -> None:
    before = _part(small()).index(b"<worksheet")
    filler = b"<!--" + b"x" * (safety.CHUNK_BYTES - before - 12) + b"-->"
    data = with_part(small(), SHEET, b"<worksheet", filler + b"<!DOCTYPE x><worksheet")
    assert _part(data).index(b"<!DOCTYPE") == safety.CHUNK_BYTES - 5
    assert problem_code(data) == "declares_entities"


def test_a_part_in_another_encoding_is_refused() -> None:
    with zipfile.ZipFile(io.BytesIO(small())) as package:
        text = package.read(SHEET)
    wide = text.decode().encode("utf-16")
    assert problem_code(with_part(small(), SHEET, text, wide)) == "encoding"


def test_a_false_dimension_hides_no_rows() -> None:
    rows = [["Item #", "Name"], *([f"HF-{n}", "Probe"] for n in range(100))]
    data = with_part(xlsx({"List": rows}), SHEET, b'ref="A1:B101"', b'ref="A1"')
    assert len(read_workbook(data, "list.xlsx").sheets[0].rows) == 101


def test_openpyxl_uses_the_guarded_xml_reader() -> None:
    assert openpyxl.DEFUSEDXML


@pytest.mark.parametrize(
    ("data", "code"),
    [
        (b"", "empty_file"),
        (b" \n ", "empty_file"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\x00" * 100, "not_a_spreadsheet"),
        (b"PK\x03\x04" + b"\x00" * 100, "damaged"),
        (b"%PDF-1.7\x00\x01", "not_a_spreadsheet"),
        (small()[:-200], "damaged"),
    ],
)
def test_a_file_that_is_no_spreadsheet_is_named(data: bytes, code: str) -> None:
    assert problem_code(data) == code


def test_another_zip_file_is_named() -> None:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as package:
        package.writestr("notes.txt", "hello")
    assert problem_code(out.getvalue()) == "not_a_spreadsheet"


def test_a_file_over_the_size_limit_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("catalog.spreadsheets.workbook.reading.MAX_FILE_BYTES", 100)
    assert problem_code(small()) == "too_large"


def test_a_workbook_with_nothing_in_it_is_named() -> None:
    assert problem_code(xlsx({"List": []})) == "empty_file"


@given(data=st.binary(max_size=300), start=st.sampled_from([b"", b"PK\x03\x04", b"\xff\xfe"]))
def test_any_bytes_give_a_workbook_and_never_an_exception(data: bytes, start: bytes) -> None:
    workbook = read_workbook(start + data, "list.xlsx")
    assert bool(workbook.problems) != bool(workbook.sheets)


@given(place=st.integers(0, 5000), byte=st.integers(0, 255))
def test_a_workbook_with_a_damaged_byte_gives_no_exception(place: int, byte: int) -> None:
    data = bytearray(SMALL)
    data[place % len(data)] = byte
    workbook = read_workbook(bytes(data), "list.xlsx")
    assert bool(workbook.problems) != bool(workbook.sheets)


SMALL = small()


def test_the_row_number_is_the_one_the_spreadsheet_shows() -> None:
    rows = demo("instrument_master_list.xlsx").sheets[0].rows
    assert [row.number for row in rows[:4]] == [1, 2, 4, 5]


def test_a_formula_keeps_its_text_and_has_no_value_before_it_is_calculated() -> None:
    row = demo("instrument_master_list.xlsx").sheets[0].rows[-1]
    assert (row.at("P").formula, row.at("P").value) == ("=COUNTA(A5:A200)", None)


def test_a_calculated_formula_keeps_its_text_and_its_value() -> None:
    data = xlsx({"List": [["Qty"], ["=1+1"]]})
    data = with_part(
        data, SHEET, b"<v></v>" if b"<v></v>" in _part(data) else b"<v />", b"<v>2</v>"
    )
    cell = read_workbook(data, "list.xlsx").sheets[0].rows[1].at("A")
    assert (cell.formula, cell.value) == ("=1+1", 2)


def _part(data: bytes) -> bytes:
    with zipfile.ZipFile(io.BytesIO(data)) as package:
        return package.read(SHEET)


def test_a_cell_of_spaces_is_empty() -> None:
    workbook = read_workbook(xlsx({"List": [["Item #", " \u00a0 "]]}), "list.xlsx")
    assert [cell.column_letter for cell in workbook.sheets[0].rows[0].cells] == ["A"]


def test_a_hidden_sheet_is_marked() -> None:
    out = io.BytesIO()
    workbook = openpyxl.Workbook()
    workbook.active["A1"] = "shown"
    hidden = workbook.create_sheet("Old")
    hidden["A1"] = "hidden"
    hidden.sheet_state = "hidden"
    workbook.save(out)
    assert [sheet.hidden for sheet in read_workbook(out.getvalue(), "x.xlsx").sheets] == [
        False,
        True,
    ]


@pytest.mark.parametrize(
    "data",
    [
        "Länge,Name\n".encode(),
        "Länge;Name\n".encode("utf-8-sig"),
        "Länge\tName\n".encode("cp1252"),
        "Länge\tName\n".encode("utf-16"),
        'Länge;"Name"\r\n12,5;"a;b"\r\n'.encode(),
    ],
)
def test_csv_is_read_in_its_encoding_and_with_its_separator(data: bytes) -> None:
    assert first_values(data, "list.csv") == ["Länge", "Name"]


def test_a_formula_in_csv_is_a_formula() -> None:
    cell = read_workbook(b"=1+1,x\n", "list.csv").sheets[0].rows[0].at("A")
    assert (cell.formula, cell.value) == ("=1+1", None)


def test_the_apostrophe_of_a_guarded_export_is_taken_off_again() -> None:
    assert first_values(b"'+A123,x\n", "list.csv") == ["+A123", "x"]


def test_the_file_is_known_again_by_its_digest() -> None:
    data = (DEMO / "count_sheets.xlsx").read_bytes()
    assert read_workbook(data, "a.xlsx").sha256 == read_workbook(data, "b.xlsx").sha256


@pytest.mark.parametrize(("data", "name"), [(SMALL, "list.xlsx"), (b"a,b\nc,d\n", "list.csv")])
def test_too_many_filled_cells_are_refused(
    data: bytes, name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(safety, "MAX_CELLS", 3)
    assert problem_code(data, name) == "too_many_cells"
