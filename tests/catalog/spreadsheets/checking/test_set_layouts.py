"""Count sheets as departments lay them out: what heads a set is told by words, shape and place."""

from __future__ import annotations

from collections.abc import Sequence

import pytest

from catalog.spreadsheets.checking.instruments import guess_kind
from catalog.spreadsheets.checking.sets.lines import check_sets
from catalog.spreadsheets.workbook.reading import Workbook
from tests.catalog.spreadsheets.workbooks import book

HEAD = ["Qty", "Item #", "Description"]
LINES: list[list[object]] = [[2, "HF-1", "Probe"], [1, "HF-2", "Hook"]]
Rows = Sequence[Sequence[object]]


def sets(workbook: Workbook) -> list[tuple[str, str, int]]:
    """Number, name and number of lines of each set, from a file that looks like sets."""
    assert guess_kind(workbook) == "sets"
    return [(one.code, one.name, len(one.lines)) for one in check_sets(workbook, {}, {}).sets]


def sheet(*rows: Sequence[object], title: str = "Sheet1") -> Workbook:
    return book((title, rows))


@pytest.mark.parametrize(
    ("number", "name"),
    [
        ("Siebnummer", "Siebbezeichnung"), ("Netnummer", "Naam van het net"),
        ("Numéro du plateau", "Nom du plateau"), ("N° de boîte", "Désignation boîte"),
        ("Código de la caja", "Nombre de la caja"), ("Codice set", "Nome del set"),
        ("Número da caixa", "Nome da caixa"), ("Galler nr", "Galler namn"),
        ("Numer zestawu", "Nazwa zestawu"), ("TRAY ID:", "TRAY DESCRIPTION:"),
        ("Set-Nr.", "Set"), ("Tray code", "Tray"),
    ],
)  # fmt: skip
def test_labels_are_told_by_their_words_in_nine_languages(number: str, name: str) -> None:
    rows = [[name, "Knee basic"], [number, "K-12"], [], HEAD, *LINES]
    assert sets(sheet(*rows)) == [("K-12", "Knee basic", 2)]


@pytest.mark.parametrize(
    "label",
    ["Set weight", "Packed by", "Date packed", "Set checked by", "Phone no.", "Total pieces"],
)
def test_other_labels_head_nothing(label: str) -> None:
    rows = [["Set no.", "K-12"], [label, "Kim 4"], [], HEAD, *LINES]
    assert sets(sheet(*rows, title="Knee")) == [("K-12", "Knee", 2)]


def test_a_bare_label_is_the_number_or_the_name_as_its_value_is() -> None:
    assert sets(sheet(["Tray", "K-12"], HEAD, *LINES, title="Knee"))[0][:2] == ("K-12", "Knee")
    assert sets(sheet(["Tray", "Knee basic"], HEAD, *LINES))[0][:2] == ("", "Knee basic")


def test_label_and_value_may_share_a_cell() -> None:
    assert sets(sheet(["Tray: Knee basic (K-12)"], HEAD, *LINES)) == [("K-12", "Knee basic", 2)]


def test_values_may_stand_below_their_labels() -> None:
    rows = [["Set no.", "Set name"], ["K-12", "Knee basic"], HEAD, *LINES]
    assert sets(sheet(*rows)) == [("K-12", "Knee basic", 2)]


def test_a_title_that_speaks_of_a_set_goes_before_the_hospitals() -> None:
    rows = [["Hollin Fell Hospital"], ["COUNT SHEET"], ["Knee basic set"], HEAD, *LINES]
    assert sets(sheet(*rows)) == [("", "Knee basic set", 2)]


def test_titles_alone_part_the_sets_of_a_sheet() -> None:
    rows = [["Knee"], HEAD, *LINES, [], ["Hip"], HEAD, *LINES[:1]]
    assert sets(sheet(*rows)) == [("", "Knee", 2), ("", "Hip", 1)]


def test_a_section_above_a_further_heading_row_parts_no_set_that_has_a_label() -> None:
    rows = [["Set no.", "K-12"], HEAD, *LINES, ["LOWER LAYER"], HEAD, [1, "HF-3", "Clip"]]
    assert sets(sheet(*rows, title="Knee")) == [("K-12", "Knee", 3)]


def test_headings_in_another_order_are_no_line_and_what_they_head_is_not_misread() -> None:
    again = [["Item #", "Description", "Qty"], ["HF-2", "Hook", 1]]
    rows = [["Set no.", "K-12"], HEAD, LINES[0], *again]
    known = {"HF-1": ("Probe", []), "HF-2": ("Hook", [])}
    report = check_sets(sheet(*rows), {}, known)
    assert [(row.row, row.goes_in) for row in report.rows] == [(3, True), (5, False)]


def test_a_tray_among_the_lines_begins_no_set() -> None:
    rows = [["Set no.", "K-12"], ["Name", "Count"], ["Probe", 2], ["Tray", 1], ["Hook", 1]]
    assert sets(sheet(*rows, title="Knee")) == [("K-12", "Knee", 3)]


def test_a_list_tells_its_sets_apart_by_their_names() -> None:
    rows = [["Tray name", *HEAD], ["Knee", *LINES[0]], ["Hip", *LINES[1]], ["Knee", *LINES[1]]]
    assert sets(sheet(*rows)) == [("", "Knee", 2), ("", "Hip", 1)]


def test_a_bare_set_column_holds_numbers_or_names() -> None:
    named = [["Set", *HEAD], *[[name, *line] for name in ("Knee", "Hip") for line in LINES]]
    assert sets(sheet(*named)) == [("", "Knee", 2), ("", "Hip", 2)]
    numbered = [["Set", *HEAD], ["K-1", *LINES[0]], ["K-1", *LINES[1]], ["K-2", *LINES[1]]]
    assert [code for code, _, _ in sets(sheet(*numbered))] == ["K-1", "K-2"]


class TestSetsAcross:
    ROWS: Rows = [
        ["Item #", "Description", "T-01", "T-02", "T-03"],
        ["HF-1", "Probe", 2, None, 1],
        ["HF-2", "Hook", 1, 4, None],
        ["HF-3", "Clip", None, 2, "-"],
    ]

    def test_each_column_of_counts_is_a_set(self) -> None:
        assert sets(sheet(*self.ROWS)) == [
            ("T-01", "T-01", 2),
            ("T-02", "T-02", 2),
            ("T-03", "T-03", 1),
        ]

    def test_names_may_stand_above_them(self) -> None:
        rows = [["Item #", "Description", "Knee", "Hip"], *(row[:4] for row in self.ROWS[1:])]
        assert sets(sheet(*rows)) == [("", "Knee", 2), ("", "Hip", 2)]

    def test_numbers_and_names_may_stand_in_two_rows(self) -> None:
        rows = [self.ROWS[0], [None, None, "Knee", "Hip", "Hand"], *self.ROWS[1:]]
        assert sets(sheet(*rows))[:2] == [("T-01", "Knee", 2), ("T-02", "Hip", 2)]

    def test_the_counts_are_those_of_their_column(self) -> None:
        report = check_sets(sheet(*self.ROWS), {}, {})
        assert [row.values["quantity"] for row in report.rows] == [2, 1, 4, 2, 1]

    def test_a_list_with_sizes_and_a_strange_column_of_numbers_stays_a_list(self) -> None:
        rows = [["Item #", "Name", "Length (mm)", "Grade", "Level"]]
        rows += [[f"HF-{n}", f"Probe {n}", 100 + n, 1 + n % 3, n % 2 + 1] for n in range(6)]
        assert guess_kind(sheet(*rows)) == "instruments"


@pytest.mark.parametrize("heads", [["W", "H"], ["Grade (mm)", "Tier (mm)"], ["Number", "Qty"]])
def test_what_heads_no_set_is_no_set_across(heads: list[object]) -> None:
    rows = [["Item", "Name", *heads], *[[f"HF-{n}", f"Probe {n}", n + 1, 9 - n] for n in range(5)]]
    found = check_sets(sheet(*rows), {}, {}).sets
    assert not {one.name for one in found} & set(map(str, heads))


def test_large_numbers_are_no_counts_of_sets_across() -> None:
    rows = [
        ["Item", "Name", "Alpha", "Beta"],
        *[[f"H-{n}", f"Hook {n}", 60 + n, 80] for n in range(4)],
    ]
    assert guess_kind(sheet(*rows)) == "instruments"


def test_spares_on_hand_are_no_count_of_a_set() -> None:
    rows = [["Item #", "Name", "Voorraad"], *[[f"HF-{n}", f"Probe {n}", n % 4] for n in range(5)]]
    assert guess_kind(sheet(*rows)) == "instruments"


@pytest.mark.parametrize(
    ("said", "count"), [("2 ea", 2), ("1 pr", 1), ("4 Stück", 4), ("3 szt.", 3), ("x 2", 2)]
)
def test_counts_are_read_with_their_words(said: str, count: int) -> None:
    report = check_sets(
        sheet(["Set no.", "K-1"], HEAD, [said, "HF-1", "Probe"]), {}, {"HF-1": ("Probe", [])}
    )
    assert [(row.values["quantity"], row.goes_in) for row in report.rows] == [(count, True)]


@pytest.mark.parametrize("said", ["6-8", "2 sets", "1 dozen", "2 or 3", "3+1"])
def test_a_count_that_may_be_several_waits(said: str) -> None:
    report = check_sets(
        sheet(["Set no.", "K-1"], HEAD, [said, "HF-1", "Probe"]), {}, {"HF-1": ("Probe", [])}
    )
    assert [(row.values["quantity"], row.waits) for row in report.rows] == [(None, True)]


class TestACodeBesideTheName:
    """Without a label it is the number where the department's own say so; else it is asked."""

    OWN = {f"HF-S0{n}": {"name": name} for n, name in enumerate(("Major set", "Minor set"), 1)}

    def read(self, *rows: Sequence[object]) -> tuple[str, str, int]:
        report = check_sets(sheet(*rows, [], HEAD, *LINES), self.OWN, {})
        (one,) = report.sets
        return one.code, one.name, len(report.questions)

    def test_it_is_that_of_the_set_of_this_name(self) -> None:
        assert self.read(["Set name", "major set", "hf-s01"]) == ("HF-S01", "major set", 0)

    def test_it_continues_those_there_are(self) -> None:
        assert self.read(["Set name", "Knee basic", "HF-S07"]) == ("HF-S07", "Knee basic", 0)

    @pytest.mark.parametrize("row", [["Knee set", "HF-S07"], ["HF-S07", "Knee set"]])
    def test_a_name_that_speaks_of_a_set_needs_no_label(self, row: list[object]) -> None:
        assert self.read(row) == ("HF-S07", "Knee set", 0)

    @pytest.mark.parametrize(
        "row",
        [
            ["Set name", "Knee basic", "HF-S01"],  # That of another set.
            ["Set name", "Minor set", "HF-S07"],  # Another number for a known name.
            ["Set name", "Knee basic", "K-12"],  # Not the department's own.
            ["Set name", "Knee basic", "HF-S7"],
            ["Set name", "Knee basic", "Shelf", "HF-S07"],  # Not beside it.
            ["Prepared by Kim", "HF-S07"],
            ["Set name", "Knee basic", "HF-S00"],  # Before those there are.
        ],
    )
    def test_else_it_is_asked(self, row: list[object]) -> None:
        assert self.read(row)[::2] == ("", 1)

    def test_two_of_them_are_asked_about(self) -> None:
        assert self.read(["HF-S08", "Knee set"], ["Knee set", "HF-S07"])[::2] == ("", 1)
