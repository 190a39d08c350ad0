"""Make ``fixtures/workbooks``: ``python -m tests.catalog.spreadsheets.make_workbooks``.

Each function makes one file; its name is the file's. What each file is there for stands in
``test_spreadsheet_files.py``.
"""

from __future__ import annotations

import io
import zipfile
from collections.abc import Callable, Sequence
from datetime import datetime
from pathlib import Path

import openpyxl

from tests.catalog.spreadsheets.workbooks import with_part, xlsx

FOLDER = Path(__file__).parents[3] / "fixtures" / "workbooks"
SHEET = "xl/worksheets/sheet1.xml"
FILES: dict[str, Callable[[], bytes]] = {}
HEAD = ["Item #", "Name"]
PROBE, HOOK = ["HF-1", "Probe"], ["HF-2", "Bone hook"]
Rows = Sequence[Sequence[object]]


def file(name: str, make: Callable[[], bytes]) -> None:
    FILES[name] = make


def book(*rows: Sequence[object]) -> bytes:
    return xlsx({"List": rows})


def csv(*lines: str, encoding: str = "utf-8", end: str = "\n") -> Callable[[], bytes]:
    return lambda: (end.join(lines) + end).encode(encoding)


def column(heading: str, *values: str) -> Callable[[], bytes]:
    """A .csv with one more column than number and name; the values stand in it."""
    rows = zip(("HF-1,Probe", "HF-2,Bone hook"), values, strict=False)
    return csv(f"Item #,Name,{heading}", *(f'{start},"{value}"' for start, value in rows))


def changed(change: Callable[[openpyxl.Workbook], None], *rows: Sequence[object]) -> bytes:
    """A workbook that was worked on after its rows were written."""
    workbook = openpyxl.load_workbook(io.BytesIO(book(*rows)))
    change(workbook)
    out = io.BytesIO()
    workbook.save(out)
    return out.getvalue()


def _declared(declaration: bytes) -> bytes:
    return with_part(book(HEAD, PROBE), SHEET, b"<worksheet", declaration + b"<worksheet")


def _calculated(value: bytes) -> bytes:
    data = book(HEAD, ["HF-1", '=CONCATENATE("Pro","be")'], HOOK)
    for empty in (b"<v></v>", b"<v />", b"<v/>"):
        with zipfile.ZipFile(io.BytesIO(data)) as package:
            found = empty in package.read(SHEET)
        if found:
            data = with_part(data, SHEET, empty, b"<v>" + value + b"</v>")
            return with_part(data, SHEET, b'<c r="B2"', b'<c r="B2" t="str"')
    raise AssertionError("The writer writes formulas in another way.")


def _zip(name: str) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as package:
        package.writestr(name, "hello")
    return out.getvalue()


def _hide_sheet(workbook: openpyxl.Workbook) -> None:
    workbook.create_sheet("Old").append(HEAD)
    workbook["Old"].append(["HF-9", "Old probe"])
    workbook["Old"].sheet_state = "hidden"


def _hide_row(workbook: openpyxl.Workbook) -> None:
    workbook["List"].row_dimensions[3].hidden = True


def _hide_column(workbook: openpyxl.Workbook) -> None:
    workbook["List"].column_dimensions["B"].hidden = True


def _merge(workbook: openpyxl.Workbook) -> None:
    workbook["List"].merge_cells("C2:C3")


def _notes(workbook: openpyxl.Workbook) -> None:
    workbook.create_sheet("Read me")["A1"] = "Ask Bea before you change anything."


# Files that cannot be read
file("bad_called_xlsx.xlsx", lambda: b"this is no workbook at all")
file("bad_cell_far_away.xlsx",
     lambda: with_part(book(HEAD, PROBE), SHEET, b'<row r="2"', b'<row r="1048576"'))  # fmt: skip
file("bad_cell_too_long.xlsx",
     lambda: with_part(book(HEAD, PROBE), SHEET, b"Probe", b"Probe" * 7000))  # fmt: skip
file("bad_column_far_away.xlsx",
     lambda: with_part(book(HEAD, PROBE), SHEET, b'r="B2"', b'r="XFD2"'))  # fmt: skip
file("bad_cut_short.xlsx", lambda: book(HEAD, PROBE)[:-300])
file("bad_empty.csv", lambda: b" \n\n")
file("bad_entities.xlsx", lambda: _declared(
    b'<!DOCTYPE x [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;">]>'))  # fmt: skip
file("bad_external_entity.xlsx",
     lambda: _declared(b'<!DOCTYPE x [<!ENTITY a SYSTEM "file:///etc/hostname">]>'))  # fmt: skip
file("bad_no_headings.xlsx", lambda: book(["some words"], ["and more"]))
file("bad_no_number_column.xlsx", lambda: book(["Name", "Length (mm)"], ["Probe", 125]))
file("bad_old_format.xls", lambda: b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(504))
file("bad_other_zip.xlsx", lambda: _zip("notes.txt"))
file("bad_picture.csv", lambda: b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR")
file("bad_rows_out_of_order.xlsx",
     lambda: with_part(with_part(book(HEAD, PROBE, HOOK), SHEET, b'<row r="3"', b'<row r="1"'),
                       SHEET, b'r="A3"', b'r="A1"'))  # fmt: skip
file("bad_zip_bomb.xlsx", lambda: with_part(
    book(HEAD, PROBE), SHEET, b"</worksheet>", b"<!--" + b" " * 4_000_000 + b"--></worksheet>"
))  # fmt: skip

# One wrong cell
file("bad_ambiguous_day.csv", column("IFU review on", "03/04/2026"))
file("bad_conflicting_cycle.csv", csv("Item #,Name,Sterilize by,Cycle",
                                      "HF-1,Probe,steam 121,134C 3 min"))  # fmt: skip
file("bad_date_was_fraction.xlsx", lambda: book([*HEAD, "Length (in)"],
                                                [*PROBE, datetime(2002, 5, 1)]))  # fmt: skip
file("bad_date_was_number.xlsx", lambda: book([*HEAD, "Cat no"],
                                              [*PROBE, datetime(2026, 3, 4)]))  # fmt: skip
file("bad_day.csv", column("IFU review on", "next spring"))
file("bad_divided_by_comma.csv", csv("Item #,Name,Length (cm)", "HF-1,Probe,14,5", "HF-2,Hook,9"))
file("bad_empty_name.csv", csv("Item #,Name,Maker", "HF-1,Probe,Kirkfell", "HF-2,,Kirkfell"))
file("bad_error_value.xlsx", lambda: book(HEAD, ["HF-1", "#N/A"]))
file("bad_forbidden_package.csv", column("Forbidden packages", "pouch, biscuit tin"))
file("bad_formula_never_calculated.xlsx", lambda: book(HEAD, ["HF-1", "=A2"]))
file("bad_implausible_length.csv", column("Length", "16 m"))
file("bad_implausible_weight.csv", column("Weight", "0.2 g"))
file("bad_long_number.xlsx", lambda: book(HEAD, [12345678901234567890, "Probe"]))
file("bad_lumen_wider_than_tube.csv", csv("Item #,Name,Width (mm),Lumen (mm)",
                                          "HF-1,Suction tube,4,5"))  # fmt: skip
file("bad_negative.csv", column("Length (mm)", "-145"))
file("bad_no_item_number.csv", csv("Item #,Name,Maker", "HF-1,Probe,Kirkfell",
                                   ",Bone hook,Kirkfell"))  # fmt: skip
file("bad_no_unit.csv", column("Length", "14"))
file("bad_range.csv", column("Length", "14-16 cm"))
file(
    "bad_repeated_number.csv", csv("Item #,Name", "HF-1,Probe", "hf 1,Bone hook".replace(" ", "-"))
)
file("bad_tip.csv", column("Tip", "pointy-ish"))
file(
    "bad_unit_said_above.csv",
    csv("Item #,Name,Length (mm)", "HF-1,Probe,140", "All below in cm,,", "HF-2,Hook,15"),
)
file("bad_two_units.csv", column("Length", "14 cm 6 in"))
file("bad_unlike_others.csv", csv(
    "Item #,Name,Length (mm),Weight (g)", "HF-1,Bone scissors,185,2500",
    *(f"HF-{n},Bone scissors,{150 + 5 * n},{50 + 3 * n}" for n in range(2, 9))))  # fmt: skip
file("bad_unknown_method.csv", column("Sterilize by", "cold soak"))
file("bad_unknown_unit.csv", column("Length", "14 Fr"))
file("bad_unreadable_cycle.csv", csv("Item #,Name,Sterilize by,Cycle",
                                     "HF-1,Probe,steam,hot and long"))  # fmt: skip
file("bad_yes_no.csv", column("Hinged", "perhaps"))
file("bad_zero.csv", column("Length (mm)", "0"))

# Good ones, with two rows that go in unless the tests say otherwise
LENGTHS = ("HF-1{0}Probe{0}12{1}5", "HF-2{0}Bone hook{0}14")
file(
    "good_comma_length.csv", csv("Item #,Name,Length (cm)", *(r.format(",", ".") for r in LENGTHS))
)
file("good_semicolon_length.csv", csv("Artikelnummer;Bezeichnung;Länge (cm)",
                                      *(r.format(";", ",") for r in LENGTHS)))  # fmt: skip
file("good_tab_length.csv", csv("Item #\tName\tLength (cm)",
                                *(r.format("\t", ",") for r in LENGTHS)))  # fmt: skip
file("good_utf8_mark_length.csv", csv("No article;Désignation;Longueur (cm)",
                                      *(r.format(";", ",") for r in LENGTHS),
                                      encoding="utf-8-sig", end="\r\n"))  # fmt: skip
file("good_latin1_length.csv", csv("Artikelnummer;Bezeichnung;Länge (cm)",
                                   *(r.format(";", ",") for r in LENGTHS),
                                   encoding="latin-1"))  # fmt: skip
file("good_spanish_length.xlsx", lambda: book(["No artículo", "Descripción", "Longitud (mm)"],
                                              [*PROBE, 125], [*HOOK, 140]))  # fmt: skip
file("good_every_fact.xlsx", lambda: book(
    [*HEAD, "Ratchet", "Hollow", "Comes apart", "Lumen (mm)", "Kind of item", "IFU review on"],
    [*PROBE, "N", "?", "none", None, "Instrument", "2027-03-04"],
    [*HOOK, "Y", "N", "handle", "2.5 mm", "utensils", datetime(2027, 3, 4)]))  # fmt: skip
file("good_late_header_length.xlsx", lambda: book(
    ["Hollin Fell Hospital"], ["printed for the yearly review"], *[[]] * 20,
    [*HEAD, "Length (mm)"], [*PROBE, 125], [*HOOK, "140 mm"]))  # fmt: skip
file("good_repeated_header_length.xlsx", lambda: book(
    [*HEAD, "Length (mm)"], [*PROBE, 125], [*HEAD, "Length (mm)"], [*HOOK, 140]))  # fmt: skip
file("good_formula_calculated.xlsx", lambda: _calculated(b"Probe"))
file("good_groups.xlsx", lambda: book(HEAD, ["CUTTING"], PROBE, ["HOLDING"], HOOK))
file("good_hidden_column.xlsx", lambda: changed(_hide_column, HEAD, PROBE, HOOK))
file("good_hidden_row.xlsx", lambda: changed(_hide_row, HEAD, PROBE, HOOK))
file("good_hidden_sheet.xlsx", lambda: changed(_hide_sheet, HEAD, PROBE, HOOK))
file("good_judged_unit.csv", csv(
    "Item #,Name,Length", "HF-1,Probe 125 mm,12.5", "HF-2,Hook 140 mm,14",
    "HF-3,Retractor 200 mm,20", "HF-4,Mallet 240 mm,24"))  # fmt: skip
file("good_merged.xlsx", lambda: changed(_merge, [*HEAD, "Vendor"], [*PROBE, "Kirkfell"], HOOK))
file("good_notes_sheet.xlsx", lambda: changed(_notes, HEAD, PROBE, HOOK))
file("good_number_as_text.xlsx", lambda: book([*HEAD, "Width (mm)"], [*PROBE, "12"], [*HOOK, 14]))
file("good_total.xlsx", lambda: book(HEAD, PROBE, HOOK, ["", "TOTAL", 2]))
file("good_unheaded_column.csv", csv("Item #,Name", "HF-1,Probe,shelf 3", "HF-2,Bone hook,shelf 4"))
file("good_unknown_heading.csv", column("Shelf", "3", "4"))
file("good_unknown_width.csv", column("Width", "?", "4 mm"))


def main() -> None:
    FOLDER.mkdir(parents=True, exist_ok=True)
    for name, make in FILES.items():
        (FOLDER / name).write_bytes(make())


if __name__ == "__main__":
    main()
