"""Lists that say more of an instrument than its sizes: tips, lumens, what its IFU forbids."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import Decimal

import pytest

from catalog.spreadsheets.cells.report import Report
from tests.catalog.spreadsheets.workbooks import book, check_instruments, columns_under

Known = Mapping[str, Mapping[str, object]]
START = ["Item #", "Name"]
TUBE = ["HF-1", "Suction tube"]


def check(rows: Sequence[Sequence[object]], known: Known | None = None) -> Report:
    return check_instruments(book(("List", rows)), known or {})


def one(headings: Sequence[str], cells: Sequence[object], known: Known | None = None) -> Report:
    return check([[*START, *headings], [*TUBE, *cells]], known)


def codes(report: Report) -> list[tuple[int, str, str]]:
    return [(each.row, each.column, each.code) for each in report.problems]


HEADINGS = {
    "item_class": ["Kind of item", "Artikelart", "Classe d'article", "Clase de artículo"],
    "tip_across": ["Tip across (mm)", "Spitzendurchmesser", "Diamètre de la pointe (mm)",
                   "Diámetro de la punta"],
    "tip_cover": ["Tip length", "Spitzenlänge (mm)", "Longueur de la pointe",
                  "Longitud de la punta"],
    "implant": ["Implant?", "Implantat", "Est un implant", "Implante"],
    "ratchet": ["Ratchet?", "Mit Sperre", "Crémaillère", "Cremallera"],
    "hollow": ["Hollow", "Hohlkörper", "Corps creux", "Hueco"],
    "parts_apart": ["Comes apart", "Zerlegbar", "Démontable", "Desmontable"],
    "round_section": ["Round section", "Runder Querschnitt", "Section ronde", "Sección redonda"],
    "lumen": ["Lumen (mm)", "Innendurchmesser (mm)", "Diamètre intérieur", "Diámetro interior"],
    "lumen_length": ["Lumen length (cm)", "Lumenlänge", "Longueur du lumen",
                     "Longitud del lumen"],
    "forbids": ["IFU forbids", "Verbotene Verpackungen", "Emballages interdits",
                "Embalajes prohibidos"],
    "ifu_reference": ["IFU no.", "Gebrauchsanweisung Nr.", "N° de notice", "Nº de instrucciones"],
    "ifu_review_on": ["IFU review", "IFU prüfen am", "Notice à relire le", "Revisar IFU el"],
    "notes": ["Remarks", "Bemerkungen", "Remarques", "Observaciones"],
}  # fmt: skip


@pytest.mark.parametrize(
    ("key", "heading"), [(key, each) for key, four in HEADINGS.items() for each in four]
)
def test_headings_in_four_languages(key: str, heading: str) -> None:
    assert list(columns_under(heading)) == [key]


@pytest.mark.parametrize(
    "heading",
    ["Lumen", "Class", "Klasse", "Parts", "Sperre", "Round", "Tip size", "Type", "Packaging",
     "Section", "Shelf", "Working length"],
)  # fmt: skip
def test_a_heading_that_may_mean_something_else_is_not_taken(heading: str) -> None:
    for value in (120, "yes", "A-12", "curved", "12 mm"):
        assert columns_under("Item #", "Name", heading, values=["T-1", "Probe", value]) == {
            "item_number": "A", "name": "B",
        }  # fmt: skip


def test_the_unit_of_the_heading_counts() -> None:
    row = one(["Lumen (in)", "Lumen length (cm)"], [0.1, 18]).rows[0]
    assert (row.values["lumen_mm"], row.values["lumen_length_mm"]) == (Decimal("2.54"), 180)


def test_bare_numbers_without_a_unit_are_judged_by_the_cells_with_one() -> None:
    sized = [[f"HF-{n}", "Tube", f"{n} mm"] for n in (2, 3, 4)]
    report = check([[*START, "Lumen bore"], *sized, ["HF-9", "Tube", 3]])
    assert report.rows[-1].values["lumen_mm"] == 3


def test_bare_numbers_without_evidence_wait() -> None:
    assert codes(one(["Lumen bore"], [3])) == [(2, "C", "no_unit")]


class TestPlausible:
    def test_a_lumen_wider_than_its_tube_is_a_question(self) -> None:
        report = one(["Width (mm)", "Lumen (mm)"], [4, 4.5])
        assert (codes(report), report.rows[0].waits) == ([(2, "D", "implausible")], True)

    def test_a_lumen_as_wide_as_its_tube_passes(self) -> None:
        assert codes(one(["Width (mm)", "Lumen (mm)"], [4, 4])) == []

    def test_the_width_of_the_catalog_counts_where_the_sheet_has_none(self) -> None:
        known = {"HF-1": {"name": TUBE[1], "width_mm": Decimal(4), "lumen_mm": None}}
        assert codes(one(["Lumen (mm)"], [4.5], known)) == [(2, "C", "implausible")]

    def test_a_tube_of_unknown_width_may_have_any_lumen(self) -> None:
        assert codes(one(["Lumen (mm)"], [4.5])) == []

    @pytest.mark.parametrize("heading", ["Tip across (mm)", "Tip length (mm)"])
    def test_a_tip_longer_than_the_instrument_is_a_question(self, heading: str) -> None:
        assert codes(one(["Length (mm)", heading], [100, 101])) == [(2, "D", "implausible")]

    @pytest.mark.parametrize(
        ("heading", "cell"),
        [("Lumen (mm)", 101), ("Lumen (mm)", 0.09), ("Lumen length (mm)", 4001),
         ("Tip across (mm)", 201), ("Tip length (mm)", 401)],
    )  # fmt: skip
    def test_a_size_of_no_instrument_is_a_question(self, heading: str, cell: float) -> None:
        assert codes(one([heading], [cell])) == [(2, "C", "implausible")]

    def test_a_lumen_far_from_its_group_is_a_question(self) -> None:
        rows = [[f"HF-{n}", "Tube", "Suction", 180 + n] for n in range(5)]
        report = check([[*START, "Group", "Lumen length (mm)"], *rows, ["HF-9", "T", "Suction", 8]])
        assert codes(report) == [(7, "D", "implausible")]


def test_an_unknown_yes_or_no_stays_unknown() -> None:
    row = one(["Hollow", "Ratchet"], ["?", None]).rows[0]
    assert (row.values["hollow"], row.values["ratchet"]) == (None, None)


def test_no_is_a_change_where_the_catalog_does_not_know() -> None:
    known = {"HF-1": {"name": TUBE[1], "hollow": None}}
    (change,) = one(["Hollow"], ["N"], known).rows[0].changes
    assert (change.old, change.new) == (None, False)


def test_the_forbidden_kinds_of_the_catalog_in_another_order_are_the_same() -> None:
    known = {"HF-1": {"name": TUBE[1], "forbids": ("pouch", "roll")}}
    assert one(["IFU forbids"], ["roll, pouch"], known).rows[0].changes == ()


@pytest.mark.parametrize("typed", ["Ask  Bea ", "Ask Bea", "Ask\u00a0Bea"])
def test_gaps_in_a_text_are_no_change(typed: str) -> None:
    known = {"HF-1": {"name": TUBE[1], "notes": "Ask Bea"}}
    assert one(["Notes"], [typed], known).rows[0].changes == ()


def test_other_lines_are_a_change() -> None:
    known = {"HF-1": {"name": TUBE[1], "notes": "Ask Bea"}}
    assert len(one(["Notes"], ["Ask\nBea"], known).rows[0].changes) == 1


def test_a_column_of_notes_refuses_no_row_for_what_is_in_it() -> None:
    report = one(["Remarks", "Maker"], ["lent out 3/4, see mail?", "Kirkfell"])
    assert (report.counts["new"], codes(report)) == (1, [])
