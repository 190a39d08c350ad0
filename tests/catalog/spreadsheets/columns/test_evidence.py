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
