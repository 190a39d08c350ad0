"""Count sheets as a rule makes them from a seed: in nine languages and seven layouts, with labels,
titles, or names of sheets alone, damaged as people damage them. With each comes the truth."""

from __future__ import annotations

import random
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from catalog.spreadsheets.workbook.reading import Workbook
from tests.catalog.spreadsheets.invented_lists import KINDS, LOOKS, WORDS, misspelt, shortened
from tests.catalog.spreadsheets.workbooks import book

COUNTS: Mapping[str, Sequence[str]] = {
    "en": ("quantity", "count", "qty"), "de": ("Anzahl", "Menge", "Stück"),
    "fr": ("quantité", "qté", "nombre"), "nl": ("aantal",), "es": ("cantidad", "cant."),
    "it": ("quantità", "q.tà", "pezzi"), "pt": ("quantidade", "qtd"), "sv": ("antal",),
    "pl": ("ilość", "liczba sztuk"),
}  # fmt: skip
LABELS: Mapping[str, Sequence[tuple[str, str]]] = {
    "en": (("Set number", "Set name"), ("Tray #", "Tray"), ("Kit code", "Kit description")),
    "de": (("Siebnummer", "Siebname"), ("Set-Nr.", "Set-Bezeichnung"), ("Sieb Nr", "Sieb")),
    "fr": (("N° plateau", "Nom du plateau"), ("Code boîte", "Désignation boîte")),
    "nl": (("Netnummer", "Netnaam"), ("Set nr.", "Set omschrijving")),
    "es": (("Código caja", "Nombre de la caja"), ("N° bandeja", "Bandeja")),
    "it": (("Codice set", "Nome set"), ("Numero cestello", "Cestello")),
    "pt": (("Código caixa", "Nome da caixa"), ("N° bandeja", "Bandeja")),
    "sv": (("Galler nr", "Gallernamn"), ("Setnummer", "Set")),
    "pl": (("Nr zestawu", "Nazwa zestawu"), ("Kod tacy", "Taca")),
}
OTHERS = (("Service", "Orthopaedics"), ("Rev.", 3), ("Printed on", "2024-05-06"))
NAMES = ("Knee basic", "Hip revision", "Eye minor", "Spine large", "Hand small")
LAYOUTS = ("labels", "cell", "title", "stacked", "beside", "list", "named list", "across", "sheets")
EACH = ("", " ea", " x", " pcs")
Rows = list[list[object]]


@dataclass(frozen=True, slots=True)
class InventedSheets:
    """The file, its sets (number or "", name, counts), and what was made."""

    workbook: Workbook
    sets: Sequence[tuple[str, str, Sequence[int]]]
    told: str


@dataclass(slots=True)
class _Maker:
    chance: random.Random
    language: str
    columns: Sequence[str]
    heads: Sequence[object]
    labels: tuple[str, str]
    each: str

    def lines(self, set_: tuple[str, str, Sequence[int]]) -> Rows:
        """The lines of a set in the order of the columns."""
        return [
            [self.value(key, place, count) for key in self.columns]
            for place, count in enumerate(set_[2])
        ]

    def value(self, key: str, place: int, count: int) -> object:
        if key == "quantity":
            return f"{count}{self.each}" if self.each else count
        if key == "item_number":
            return f"HF-{1000 + place * 7}"
        if key == "line":
            return place + 1
        return f"{KINDS[place % len(KINDS)]} {LOOKS[place % len(LOOKS)]}"

    def head(self, set_: tuple[str, str, Sequence[int]]) -> Rows:
        """The block of labels above a set."""
        colon = self.chance.choice(("", ":"))
        rows: Rows = [[self.labels[0] + colon, set_[0]], [self.labels[1] + colon, set_[1]]]
        if self.chance.random() < 0.5:
            rows.reverse()
        if self.chance.random() < 0.4:
            rows.append(list(self.chance.choice(OTHERS)))
        return rows


def invented_sheets(seed: int) -> InventedSheets:
    """The file of a seed; the same one each time."""
    chance = random.Random(seed)
    language = chance.choice(sorted(WORDS))
    columns = [
        "quantity",
        *chance.choice((["item_number", "name"], ["item_number", "name"], ["name"])),
    ]
    chance.shuffle(columns)
    if chance.random() < 0.2:
        columns = ["line", *columns]
    changes = (
        lambda w, _: w,
        lambda w, _: w.upper(),
        lambda w, _: w.capitalize(),
        shortened,
        misspelt,
    )
    heads: list[object] = [
        chance.choice(changes)(
            chance.choice(COUNTS[language] if key == "quantity" else WORDS[language][key]), chance
        )
        for key in columns
    ]
    maker = _Maker(
        chance, language, columns, heads, chance.choice(LABELS[language]),
        chance.choice(EACH) if chance.random() < 0.3 else "",
    )  # fmt: skip
    layout = chance.choice(LAYOUTS)
    many = 1 if layout in ("labels", "cell", "title") else chance.choice((2, 3))
    names = chance.sample(NAMES, many)
    sets = [
        (f"T-{chance.randint(10, 99)}{'ABC'[place]}", name,
         [chance.randint(1, 6) for _ in range(chance.randint(3, 8))])
        for place, name in enumerate(names)
    ]  # fmt: skip
    workbook, told = _LAYOUTS[layout](maker, sets)
    return InventedSheets(workbook, told, f"{language}, {layout}, {columns}, {heads}")


Sets = list[tuple[str, str, Sequence[int]]]
Made = tuple[Workbook, Sets]


def _without_numbers(sets: Sets) -> Sets:
    return [("", name, counts) for _, name, counts in sets]


def _labels(maker: _Maker, sets: Sets) -> Made:
    gap: Rows = [[]] * maker.chance.choice((0, 1, 2))
    top: Rows = [["Hollin Fell Hospital"]] if maker.chance.random() < 0.3 else []
    rows = [*top, *maker.head(sets[0]), *gap, list(maker.heads), *maker.lines(sets[0])]
    if maker.chance.random() < 0.3:
        total: list[object] = [None] * len(maker.columns)
        total[maker.columns.index("name")] = "Total"
        total[maker.columns.index("quantity")] = sum(sets[0][2])
        rows.append(total)
    return book(("Sheet1", rows)), sets


def _cell(maker: _Maker, sets: Sets) -> Made:
    code, name, _ = sets[0]
    title = f"{maker.labels[1]}: {name} ({code})"
    return book(("Sheet1", [[title], [], list(maker.heads), *maker.lines(sets[0])])), sets


def _title(maker: _Maker, sets: Sets) -> Made:
    rows = [[sets[0][1]], [], list(maker.heads), *maker.lines(sets[0])]
    return book(("Sheet1", rows)), _without_numbers(sets)


def _stacked(maker: _Maker, sets: Sets) -> Made:
    rows: Rows = []
    for one in sets:
        rows += [*maker.head(one), list(maker.heads), *maker.lines(one), []]
    return book(("Sheet1", rows)), sets


def _beside(maker: _Maker, sets: Sets) -> Made:
    blocks = [
        [[maker.labels[0], one[0]], [maker.labels[1], one[1]], list(maker.heads), *maker.lines(one)]
        for one in sets
    ]
    wide, high = len(maker.columns), max(map(len, blocks))
    rows = [
        [
            cell
            for block in blocks
            for row in [block[place] if place < len(block) else []]
            for cell in [*row, *[None] * (wide + 1 - len(row))]
        ]
        for place in range(high)
    ]
    return book(("Sheet1", rows)), sets


def _list(maker: _Maker, sets: Sets) -> Made:
    rows: Rows = [[maker.labels[0], maker.labels[1], *maker.heads]]
    rows += [[one[0], one[1], *line] for one in sets for line in maker.lines(one)]
    return book(("Sheet1", rows)), sets


def _named_list(maker: _Maker, sets: Sets) -> Made:
    rows: Rows = [[maker.labels[1], *maker.heads]]
    rows += [[one[1], *line] for one in sets for line in maker.lines(one)]
    return book(("Sheet1", rows)), _without_numbers(sets)


def _across(maker: _Maker, sets: Sets) -> Made:
    keys = [key for key in maker.columns if key != "quantity"]
    heads = [maker.heads[maker.columns.index(key)] for key in keys]
    many = max(len(one[2]) for one in sets)
    numbered = maker.chance.random() < 0.6
    rows: Rows = [[*heads, *(one[0] if numbered else one[1] for one in sets)]]
    for place in range(many):
        counts = [one[2][place] if place < len(one[2]) else None for one in sets]
        rows.append([*(maker.value(key, place, 1) for key in keys), *counts])
    named = [(code, code, counts) for code, _, counts in sets]
    return book(("Sheet1", rows)), named if numbered else _without_numbers(sets)


def _sheets(maker: _Maker, sets: Sets) -> Made:
    sheets = [(one[1], [list(maker.heads), *maker.lines(one)]) for one in sets]
    return book(*sheets), _without_numbers(sets)


_LAYOUTS: Mapping[str, Callable[[_Maker, Sets], Made]] = {
    "labels": _labels, "cell": _cell, "title": _title, "stacked": _stacked, "beside": _beside,
    "list": _list, "named list": _named_list, "across": _across, "sheets": _sheets,
}  # fmt: skip
