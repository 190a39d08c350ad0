"""Columns are told by evidence: words in any order, cut short or misspelt, and their values."""

from __future__ import annotations

import random

import pytest

from catalog.spreadsheets.columns.instruments import INSTRUMENT_COLUMNS
from catalog.spreadsheets.columns.sets import SET_COLUMNS
from catalog.spreadsheets.evidence.finding import find_columns
from tests.catalog.spreadsheets.workbooks import book, columns_under

WORDS: dict[str, tuple[str, ...]] = {
    "item_number": ("our stock number", "interne Inventar Nummer", "numéro inventaire",
                    "codice interno articolo", "intern artikel kod"),
    "name": ("instrument trade name", "Bezeichnung Produkt", "désignation produit",
             "denominazione prodotto", "benämning produkt"),
    "length": ("overall length", "Länge gesamt", "longueur totale", "lunghezza totale", "längd"),
    "width": ("maximum width", "Breite max", "largeur max", "larghezza massima", "bredd"),
    "height": ("total height", "Höhe max", "hauteur max", "altezza massima", "höjd"),
    "weight": ("weight", "Gewicht netto", "poids net", "peso netto", "vikt"),
}  # fmt: skip
VALUES = [
    ["K-204", "Bone curette small", 210, 12, 9, 61],
    ["K-219", "Nerve hook blunt", 180, 7, 6, 33],
    ["K-233", "Rib spreader child", 160, 140, 41, 420],
    ["K-241", "Towel clip pointed", 95, 48, 7, 19],
    ["K-255", "Suction tube angled", 230, 31, 12, 44],
]
UNITS = {"length": " (mm)", "width": " (mm)", "height": " (mm)", "weight": " (g)"}


def shuffled(words: str, chance: random.Random) -> str:
    """The words of a heading in another order."""
    parts = words.split()
    chance.shuffle(parts)
    return " ".join(parts)


def shortened(words: str, _chance: random.Random) -> str:
    """Long words cut after their first five letters."""
    return " ".join(word[:5] + "." if len(word) > 7 else word for word in words.split())


def misspelt(words: str, chance: random.Random) -> str:
    """Two letters inside each long word changed about."""

    def wrong(word: str) -> str:
        if len(word) < 7:
            return word
        at = chance.randrange(2, len(word) - 3)
        return word[:at] + word[at + 1] + word[at] + word[at + 2 :]

    return " ".join(map(wrong, words.split()))


@pytest.mark.parametrize("change", [shuffled, shortened, misspelt])
@pytest.mark.parametrize("language", range(5))
@pytest.mark.parametrize("seed", range(4))
def test_headings_changed_by_rule_are_never_misread(change, language: int, seed: int) -> None:  # type: ignore[no-untyped-def]
    chance = random.Random(seed)
    keys = list(WORDS)
    chance.shuffle(keys)
    headings = [change(WORDS[key][language], chance) + UNITS.get(key, "") for key in keys]
    places = [list(WORDS).index(key) for key in keys]
    rows = [headings, *([row[place] for place in places] for row in VALUES)]
    found = find_columns(book(("L", rows)).sheets[0].rows, INSTRUMENT_COLUMNS)
    right = {key: "ABCDEF"[place] for place, key in enumerate(keys)}
    assert found is not None
    taken = {key: where.letter for key, where in found.solved.mapping.items()}
    assert {key: letter for key, letter in taken.items() if right.get(key) != letter} == {}
    asked = found.solved.unsure
    assert taken == right or asked is not None


def table(*rows: list[object]) -> dict[str, str] | None:
    found = find_columns(book(("L", rows)).sheets[0].rows, INSTRUMENT_COLUMNS)
    return found and {key: where.letter for key, where in found.solved.mapping.items()}


def test_a_list_without_headings_shows_what_it_is_by_its_values() -> None:
    rows = [[row[0], row[1], f"{row[2]} mm", f"{row[5]} g"] for row in VALUES]
    assert table(["List of theatre 4"], *rows) == {
        "item_number": "A", "name": "B", "length": "C", "weight": "D",
    }  # fmt: skip


def test_bare_numbers_without_headings_are_asked_and_not_read() -> None:
    found = find_columns(book(("L", VALUES)).sheets[0].rows, INSTRUMENT_COLUMNS)
    assert found and set(found.solved.mapping) == {"item_number", "name"}
    assert found.solved.unsure and found.solved.unsure.letter == "C"
    assert found.solved.unsure.shown == ("210", "180", "160")


def test_the_answer_is_taken_and_the_next_column_asked() -> None:
    rows = book(("L", VALUES)).sheets[0].rows
    found = find_columns(rows, INSTRUMENT_COLUMNS, {"C": "length"})
    assert found and found.solved.mapping["length"].letter == "C"
    assert found.solved.unsure and found.solved.unsure.letter == "D"


def test_a_row_of_units_below_the_headings_is_no_item() -> None:
    rows = [["Item no", "Name", "Length"], [None, None, "cm"], ["K-1", "Probe", 12]]
    found = find_columns(book(("L", rows)).sheets[0].rows, INSTRUMENT_COLUMNS)
    assert found and (found.units_rows, found.solved.mapping["length"].unit) == ((2,), "cm")


def test_three_sizes_in_a_cell_are_three_columns() -> None:
    values = ["K-1", "Probe a", "120 x 5 x 4 mm"]
    found = columns_under("Item no", "Name", "Dimensions (LxWxH)", values=values)
    assert {found[key] for key in ("length", "width", "height")} == {"C"}


def test_the_size_of_a_part_is_not_that_of_the_instrument() -> None:
    found = columns_under("Item no", "Name", "Blade length (mm)", values=["K-1", "Saw a", 40])
    assert "length" not in found


def test_a_running_number_is_no_item_number() -> None:
    rows = [
        ["No.", "Name", "Code"],
        *([place, row[1], row[0]] for place, row in enumerate(VALUES, 1)),
    ]
    assert table(*rows) == {"name": "B", "item_number": "C"}


def test_a_set_column_is_no_item_number() -> None:
    rows = [["Set", "Qty", "Name"], ["S1", 2, "Probe"], ["S1", 1, "Hook"]]
    found = find_columns(book(("L", rows)).sheets[0].rows, SET_COLUMNS)
    assert found and "item_number" not in found.solved.mapping


PIECES = [["K-1", "Probe blunt", 210, 12, 9], ["K-2", "Hook sharp", 180, 70, 6],
          ["K-3", "Rib spreader", 160, 140, 41], ["K-4", "Towel clip", 95, 48, 7]]  # fmt: skip


def found_in(*rows: list[object]) -> tuple[dict[str, str], dict[str, str | None]]:
    """Column key to letter, and size to the unit that stands above it."""
    found = find_columns(book(("L", rows)).sheets[0].rows, INSTRUMENT_COLUMNS)
    assert found
    mapping = found.solved.mapping
    units = {key: mapping[key].unit for key in ("length", "width", "height") if key in mapping}
    return {key: where.letter for key, where in mapping.items()}, units


SIZES_BELOW = {"item_number": "A", "name": "B", "length": "C", "width": "D", "height": "E"}
IN_MM = dict.fromkeys(("length", "width", "height"), "mm")


@pytest.mark.parametrize("below", [["Länge", "Breite", "Höhe"], ["L", "B", "H"]])
def test_a_heading_over_several_passes_its_unit_down(below: list[object]) -> None:
    heads: list[list[object]] = [["Artikelnr.", "Bezeichnung", "Maße (mm)"], [None, None, *below]]
    assert found_in(*heads, *PIECES) == (SIZES_BELOW, IN_MM)


def test_a_heading_over_the_sizes_may_stand_alone_in_its_row() -> None:
    rows = [[row[0], *row[2:], row[1]] for row in PIECES]
    heads: list[list[object]] = [[None, "Size (mm)"], ["Item", "L", "W", "H", "Name"]]
    columns = {"item_number": "A", "length": "B", "width": "C", "height": "D", "name": "E"}
    assert found_in(*heads, *rows) == (columns, IN_MM)


def test_single_letters_with_a_unit_of_length_are_the_sizes() -> None:
    heads: list[object] = ["Code", "Name", "L [mm]", "W [mm]", "H [mm]"]
    assert found_in(heads, *PIECES) == (SIZES_BELOW, IN_MM)


def test_a_letter_without_a_unit_is_no_size() -> None:
    assert "width" not in found_in(["Code", "Name", "L", "B", "H"], *PIECES)[0]


def test_a_strange_column_of_lengths_beside_a_width_is_asked() -> None:
    rows: list[list[object]] = [["Code", "Name", "Qwx (mm)", "Width (mm)", "Height (mm)"], *PIECES]
    found = find_columns(book(("L", rows)).sheets[0].rows, INSTRUMENT_COLUMNS)
    assert found and found.solved.unsure
    assert (found.solved.unsure.letter, found.solved.unsure.keys[0]) == ("C", "length")


def test_a_strange_column_of_weights_is_asked() -> None:
    rows = [["Code", "Name", "Netto"], ["K-1", "Probe", "0.241 kg"], ["K-2", "Hook", "0.08 kg"]]
    found = find_columns(book(("L", rows)).sheets[0].rows, INSTRUMENT_COLUMNS)
    assert found and found.solved.unsure
    assert (found.solved.unsure.letter, found.solved.unsure.keys[0]) == ("C", "weight")


def test_sizes_that_stand_in_the_names_are_the_length() -> None:
    rows: list[list[object]] = [["K-1", "Probe 210 mm", 12, 21.0], ["K-2", "Hook 180 mm", 60, 18.0],
                                ["K-3", "Clip 95 mm", 33, 9.5]]  # fmt: skip
    assert found_in(*rows)[0]["length"] == "D"


def test_money_and_days_are_no_sizes_and_no_numbers() -> None:
    rows: list[list[object]] = [
        ["Code", "Name", "Long", "Katalog"], ["K-1", "Probe blunt", "€ 210", "2024-01-02"],
        ["K-2", "Hook sharp", "€ 180", "2024-01-03"], ["K-3", "Clip", "€ 95", "2024-01-04"],
    ]  # fmt: skip
    assert found_in(*rows)[0] == {"item_number": "A", "name": "B"}


def test_a_number_of_the_maker_is_not_the_departments() -> None:
    rows = [["Ref. interna", "Nombre", "Referencia fabricante"],
            *([row[0], row[1], f"T{place}1-7"] for place, row in enumerate(PIECES))]  # fmt: skip
    assert found_in(*rows)[0] == {"item_number": "A", "name": "B", "maker_catalog_number": "C"}
