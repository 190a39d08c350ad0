"""Lists of instruments as a rule makes them from a seed: headings in nine languages, shuffled, cut
short, misspelt; with and without units; none, one or two rows of headings; in any order of columns.

The words are ordinary ones of the trade; which are put together, and how they are damaged, is left
to the seed. With each list comes the truth, as ``tests.bench.lists.judged`` knows it.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from openpyxl.utils import get_column_letter

from catalog.spreadsheets.workbook.reading import Workbook
from tests.catalog.spreadsheets.workbooks import book

WORDS: Mapping[str, Mapping[str, Sequence[str]]] = {
    "en": {
        "item_number": ("stock number", "inventory code", "article number", "instrument id"),
        "name": ("instrument name", "description of instrument", "product description"),
        "length": ("total length", "overall length", "length"), "width": ("width", "breadth"),
        "height": ("height", "thickness"), "weight": ("weight", "net weight", "mass"),
        "maker": ("manufacturer", "supplier"), "maker_catalog_number": ("manufacturer number",),
        "place": ("location", "shelf"), "price": ("unit price", "cost"),
        "note": ("remarks", "comment"), "line": ("line", "pos"), "sizes": ("dimensions", "size"),
    },
    "de": {
        "item_number": ("Inventarnummer", "Materialnummer", "Artikel Nummer"),
        "name": ("Bezeichnung Instrument", "Artikelbenennung", "Benennung"),
        "length": ("Gesamtlänge", "Länge", "Länge gesamt"), "width": ("Breite", "Breite max"),
        "height": ("Höhe", "Dicke"), "weight": ("Gewicht", "Nettogewicht"),
        "maker": ("Hersteller", "Lieferant"), "maker_catalog_number": ("Herstellernummer",),
        "place": ("Lagerort", "Regal"), "price": ("Preis", "Kosten"),
        "note": ("Bemerkung", "Hinweis"), "line": ("Zeile", "Position"), "sizes": ("Abmessungen",),
    },
    "fr": {
        "item_number": ("code article", "numéro inventaire", "référence article"),
        "name": ("désignation", "libellé instrument", "nom du produit"),
        "length": ("longueur", "longueur totale"), "width": ("largeur", "largeur max"),
        "height": ("hauteur", "épaisseur"), "weight": ("poids", "poids net"),
        "maker": ("fabricant", "fournisseur"), "maker_catalog_number": ("référence fabricant",),
        "place": ("emplacement", "étagère"), "price": ("prix", "coût"),
        "note": ("remarque", "commentaire"), "line": ("ligne",), "sizes": ("dimensions",),
    },
    "nl": {
        "item_number": ("artikelnummer", "inventaris nummer", "artikelcode"),
        "name": ("omschrijving", "naam instrument", "benaming"),
        "length": ("lengte", "totale lengte"), "width": ("breedte", "breedte max"),
        "height": ("hoogte", "dikte"), "weight": ("gewicht", "netto gewicht"),
        "maker": ("fabrikant", "leverancier"), "maker_catalog_number": ("nummer fabrikant",),
        "place": ("locatie", "plank"), "price": ("prijs",),
        "note": ("opmerking",), "line": ("regel",), "sizes": ("afmetingen",),
    },
    "es": {
        "item_number": ("código artículo", "número de inventario", "referencia interna"),
        "name": ("descripción", "nombre instrumento", "denominación"),
        "length": ("longitud", "largo total"), "width": ("ancho", "anchura"),
        "height": ("altura", "espesor"), "weight": ("peso", "peso neto"),
        "maker": ("fabricante", "proveedor"), "maker_catalog_number": ("referencia fabricante",),
        "place": ("ubicación", "estante"), "price": ("precio", "coste"),
        "note": ("observaciones",), "line": ("línea",), "sizes": ("medidas", "dimensiones"),
    },
    "it": {
        "item_number": ("codice articolo", "numero inventario", "codice interno"),
        "name": ("descrizione", "nome strumento", "denominazione"),
        "length": ("lunghezza", "lunghezza totale"), "width": ("larghezza",),
        "height": ("altezza", "spessore"), "weight": ("peso", "peso netto"),
        "maker": ("produttore", "fornitore"), "maker_catalog_number": ("codice fornitore",),
        "place": ("posizione", "scaffale"), "price": ("prezzo", "costo"),
        "note": ("osservazioni",), "line": ("riga",), "sizes": ("dimensioni", "misure"),
    },
    "pt": {
        "item_number": ("código artigo", "número de inventário", "referência interna"),
        "name": ("descrição", "nome do instrumento", "designação"),
        "length": ("comprimento", "comprimento total"), "width": ("largura",),
        "height": ("altura", "espessura"), "weight": ("peso", "peso líquido"),
        "maker": ("fabricante", "fornecedor"), "maker_catalog_number": ("código fornecedor",),
        "place": ("localização", "prateleira"), "price": ("preço", "custo"),
        "note": ("observações",), "line": ("linha",), "sizes": ("dimensões",),
    },
    "sv": {
        "item_number": ("artikelnummer", "artikelkod", "inventarienummer"),
        "name": ("benämning", "beskrivning", "instrumentnamn"),
        "length": ("längd", "total längd"), "width": ("bredd",),
        "height": ("höjd", "tjocklek"), "weight": ("vikt", "nettovikt"),
        "maker": ("tillverkare", "leverantör"), "maker_catalog_number": ("tillverkarens nummer",),
        "place": ("plats", "hylla"), "price": ("pris", "kostnad"),
        "note": ("anmärkning",), "line": ("rad",), "sizes": ("mått",),
    },
    "pl": {
        "item_number": ("numer artykułu", "kod artykułu", "indeks"),
        "name": ("nazwa", "nazwa narzędzia", "opis"),
        "length": ("długość", "długość całkowita"), "width": ("szerokość",),
        "height": ("wysokość", "grubość"), "weight": ("waga", "ciężar"),
        "maker": ("producent", "dostawca"), "maker_catalog_number": ("numer producenta",),
        "place": ("miejsce", "półka"), "price": ("cena", "koszt"),
        "note": ("uwagi",), "line": ("wiersz",), "sizes": ("wymiary",),
    },
}  # fmt: skip
"""Language to column to what may stand above it."""
MISLEADING: Mapping[str, Mapping[str, Sequence[str]]] = {
    "en": {"part": ("working length", "handle length", "jaw length"), "breadth": ("blade width",),
           "gross": ("shipping weight", "tray weight"), "former": ("old number", "former code")},
    "de": {"part": ("Klingenlänge", "Grifflänge", "Arbeitslänge"), "breadth": ("Blattbreite",),
           "gross": ("Bruttogewicht", "Siebgewicht"), "former": ("alte Nummer", "Altnummer")},
    "fr": {"part": ("longueur utile", "longueur du manche"), "breadth": ("largeur de lame",),
           "gross": ("poids brut", "poids du carton"), "former": ("ancien numéro", "ancien code")},
    "nl": {"part": ("werklengte", "schachtlengte"), "breadth": ("bekbreedte",),
           "gross": ("brutogewicht",), "former": ("oud nummer", "oude code")},
    "es": {"part": ("longitud útil", "longitud del mango"), "breadth": ("ancho de punta",),
           "gross": ("peso bruto", "peso de la caja"), "former": ("código anterior",)},
    "it": {"part": ("lunghezza lama", "lunghezza manico"), "breadth": ("larghezza punta",),
           "gross": ("peso lordo", "peso confezione"), "former": ("codice precedente",)},
    "pt": {"part": ("comprimento útil", "comprimento do cabo"), "breadth": ("largura da ponta",),
           "gross": ("peso bruto", "peso da caixa"), "former": ("código anterior",)},
    "sv": {"part": ("arbetslängd", "skaftlängd"), "breadth": ("bladbredd",),
           "gross": ("bruttovikt", "fraktvikt"), "former": ("gammalt nummer",)},
    "pl": {"part": ("długość robocza", "długość ostrza"), "breadth": ("szerokość szczęk",),
           "gross": ("waga brutto", "waga tacy"), "former": ("stary numer",)},
}  # fmt: skip
"""Language to what stands above sizes of a part, weights of more, numbers that were."""
KINDS = ("Mayo scissors", "Kelly clamp", "Adson forceps", "Towel clip", "Weitlaner retractor",
         "Bone curette", "Nerve hook", "Needle holder", "Periosteal elevator", "Suction tube",
         "Rib shears", "Osteotome")  # fmt: skip
LOOKS = ("straight", "curved", "fine", "blunt", "toothed", "angled", "left", "right")
SIZES = ("length", "width", "height")
NOT_READ = ("place", "price", "line", "yes", "day")
UNITS = {"mm": 1.0, "cm": 10.0, "in": 25.4}


@dataclass(frozen=True, slots=True)
class Invented:
    """One list and the truth: the columns, and for each row length, width, height and weight."""

    workbook: Workbook
    truth: dict[str, Any]
    sizes: Sequence[tuple[float, float, float, float]]
    units: Sequence[str]
    """Of lengths and of weights: what a person who is asked would answer."""
    told: str


def shuffled(words: str, chance: random.Random) -> str:
    """The words in another order."""
    parts = words.split()
    chance.shuffle(parts)
    return " ".join(parts)


def shortened(words: str, _chance: random.Random) -> str:
    """Long words cut after five letters, with a stop."""
    return " ".join(word[:5] + "." if len(word) > 7 else word for word in words.split())


def misspelt(words: str, chance: random.Random) -> str:
    """Two letters inside each long word changed about."""

    def wrong(word: str) -> str:
        if len(word) < 7:
            return word
        at = chance.randrange(2, len(word) - 3)
        return word[:at] + word[at + 1] + word[at] + word[at + 2 :]

    return " ".join(map(wrong, words.split()))


def broken(words: str, _chance: random.Random) -> str:
    """Each word on a line of its own."""
    return words.replace(" ", "\n")


CHANGES: Sequence[Callable[[str, random.Random], str]] = (
    lambda words, _: words,
    lambda words, _: words.upper(),
    lambda words, _: f"{words.capitalize()}:",
    shuffled,
    shortened,
    misspelt,
    broken,
)


@dataclass(slots=True)
class _Maker:
    chance: random.Random
    language: str
    heads: int
    """Rows of headings: 0, 1 or 2."""
    units: str
    """Where the unit stands: heading, cell, row, nowhere."""
    unit: str
    """Of the lengths."""
    grams: str
    combined: bool
    comma: bool
    numbers: int
    """Which of four kinds of item number."""
    misleads: bool = False
    """Whether columns stand in it that mean something else than they seem to."""
    columns: list[str] = field(default_factory=list)

    def heading(self, key: str) -> str:
        if key in ("yes", "day"):
            return {"yes": "OK?", "day": "2024"}[key]
        words = self.chance.choice({**WORDS[self.language], **MISLEADING[self.language]}[key])
        changed = self.chance.choice(CHANGES)(words, self.chance)
        if key == "sizes":
            changed = f"{changed} (LxBxH)" if self.chance.random() < 0.5 else changed
        unit = self.unit_of(key)
        if unit and self.units == "heading" and not (self.heads == 2 and key in SIZES):
            changed += self.chance.choice((f" ({unit})", f" [{unit}]", f" {unit}", f" in {unit}"))
        return changed

    def unit_of(self, key: str) -> str:
        if key in (*SIZES, "sizes", "part", "breadth"):
            return self.unit
        return self.grams if key in ("weight", "gross") else ""

    def number(self, value: float) -> object:
        value = round(value, 3)
        plain = int(value) if value == int(value) else value
        return str(plain).replace(".", ",") if self.comma else plain

    def size(self, key: str, size: float) -> object:
        unit = self.unit_of(key)
        number = self.number(size / (UNITS[unit] if unit in UNITS else {"g": 1, "kg": 1000}[unit]))
        return f"{number} {unit}" if self.units == "cell" else number


def misleading(seed: int) -> Invented:
    """The list of a seed with columns that look like those of the instrument, and are not."""
    return invented(seed, misleads=True)


def invented(seed: int, misleads: bool = False) -> Invented:
    """The list of a seed; the same one each time."""
    chance = random.Random(seed)
    heads = chance.choice((0, 1, 1, 1, 1, 1, 1, 2))
    units = chance.choice(("heading", "heading", "heading", "cell", "row", "nowhere"))
    if heads == 0:
        units = chance.choice(("cell", "nowhere"))
    maker = _Maker(
        chance, chance.choice(sorted(WORDS)), heads, units, chance.choice(("mm", "mm", "cm", "in")),
        chance.choice(("g", "g", "kg")), heads == 1 and chance.random() < 0.12,
        chance.random() < 0.25, chance.randrange(4), misleads and heads == 1,
    )  # fmt: skip
    maker.columns = _columns(maker)
    items = [_item(maker, place) for place in range(chance.randint(5, 14))]
    rows: list[list[object]] = [["List of our department"]] * chance.choice((0, 0, 0, 1, 2))
    rows += _heads(maker)
    rows += [[_cell(maker, key, item) for key in maker.columns] for item in items]
    truth = {"kind": "instruments", "rows": len(items), "columns": _truth(maker.columns)}
    sizes = [item["sizes"] for item in items]
    told = f"{maker.language}, {heads} heading rows, unit {maker.unit} in {units}"
    return Invented(book(("List", rows)), truth, sizes, (maker.unit, maker.grams), told)


def _columns(maker: _Maker) -> list[str]:
    chance = maker.chance
    sizes = ["sizes"] if maker.combined else list(SIZES)
    sizes.append("weight")
    extras = ["maker", "maker_catalog_number", *NOT_READ, "note"] if maker.heads else []
    chance.shuffle(extras)
    columns = ["item_number", "name", *sizes, *extras[: chance.choice((0, 0, 1, 2, 3))]]
    if maker.misleads:
        columns += chance.sample(sorted(MISLEADING["en"]), 2)
    if maker.heads == 2:  # What stands under one heading stands side by side.
        return columns
    if maker.heads and chance.random() < 0.5:
        chance.shuffle(columns)
    return columns


def _heads(maker: _Maker) -> list[list[object]]:
    if maker.heads == 0:
        return []
    row: list[object] = [maker.heading(key) for key in maker.columns]
    rows = [row]
    if maker.heads == 2:
        over = maker.chance.choice(WORDS[maker.language]["sizes"])
        over += f" ({maker.unit})" if maker.units == "heading" else ""
        above = [None if key in SIZES[1:] else row[place]
                 for place, key in enumerate(maker.columns)]  # fmt: skip
        above[maker.columns.index("length")] = over
        below = [row[place] if key in SIZES else None for place, key in enumerate(maker.columns)]
        rows = [above, below]
    if maker.units == "row":
        rows.append([maker.unit_of(key) or None for key in maker.columns])
    return rows


def _item(maker: _Maker, place: int) -> dict[str, Any]:
    chance = maker.chance
    length = chance.randint(90, 320)
    width = chance.randint(6, max(8, length // 3))
    sizes = (length, width, chance.randint(3, max(4, width // 2)), chance.randint(10, 900))
    number = (
        f"{chance.randint(10, 99)}-{1000 + place}",
        f"SP{4000 + place * 7}",
        f"{chance.randint(1, 9)}.{100 + place}.{chance.randint(10, 99)}",
        f"{320000 + place * 13}",
    )[maker.numbers]
    name = f"{chance.choice(KINDS)} {chance.choice(LOOKS)} {place + 1}"
    return {"number": number, "name": name, "sizes": sizes, "place": place}


def _cell(maker: _Maker, key: str, item: Mapping[str, Any]) -> object:
    chance, sizes, place = maker.chance, item["sizes"], item["place"]
    if key in (*SIZES, "weight"):
        return maker.size(key, sizes[(*SIZES, "weight").index(key)])
    if key == "sizes":
        parts = "x".join(str(maker.number(size / UNITS[maker.unit])) for size in sizes[:3])
        return f"{parts} {maker.unit}" if maker.units == "cell" else parts
    values: dict[str, Callable[[], object]] = {
        "part": lambda: maker.size("part", sizes[0] * 0.45),
        "breadth": lambda: maker.size("breadth", sizes[1] * 0.3),
        "gross": lambda: maker.size("gross", sizes[3] * 1.6),
        "former": lambda: f"Q{chance.randint(1000, 9999)}",
        "item_number": lambda: item["number"],
        "name": lambda: item["name"],
        "maker": lambda: chance.choice(("Tarnbeck", "Wexholm")),
        "maker_catalog_number": lambda: f"{chance.choice('TWK')}{chance.randint(1, 99)}-{place}",
        "place": lambda: f"{chance.choice('AB')}{chance.randint(1, 9)}",
        "price": lambda: f"€ {chance.randint(20, 400)},50",
        "line": lambda: place + 1,
        "yes": lambda: chance.choice(("Y", "N")),
        "day": lambda: f"2024-0{chance.randint(1, 9)}-1{chance.randint(0, 9)}",
        "note": lambda: chance.choice(("repaired last year", "keep apart", None)),
    }
    return values[key]()


def _truth(columns: Sequence[str]) -> dict[str, list[str]]:
    letters = {key: get_column_letter(place) for place, key in enumerate(columns, start=1)}
    sizes = dict.fromkeys(SIZES, letters["sizes"]) if "sizes" in letters else {}
    never = (*NOT_READ, "note", *MISLEADING["en"])
    read = {key: letter for key, letter in letters.items() if key not in never}
    return {key: [letter] for key, letter in {**read, **sizes}.items() if key != "sizes"}
