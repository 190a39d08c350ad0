"""The columns that a spreadsheet may have, declared once.

The page that maps headings, the template workbook and the help text all follow from these.
Headings are accepted in English, German, French and Spanish, whatever their case, accents
and punctuation; a unit in a heading, as in ``Länge (cm)``, is the unit of its bare numbers.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from catalog.spreadsheets.cell import Cell
from catalog.spreadsheets.cells import (
    Reader,
    read_count,
    read_cycle_cell,
    read_height_cell,
    read_length_cell,
    read_methods_cell,
    read_names,
    read_protector,
    read_quantity,
    read_revision,
    read_text,
    read_tip,
    read_weight_cell,
    read_width_cell,
    read_yes_no,
)
from catalog.units import LENGTH_UNITS, WEIGHT_UNITS, tidy, unit_of_word

MAX_HEADING = 60
"""Characters. A longer text is a note, not a heading (our limit)."""


@dataclass(frozen=True, slots=True)
class Column:
    """One column. ``headings`` are the accepted spellings, the surest first; ``field`` is the
    name of the value; ``unit`` is the base unit it is stored in, None for no size."""

    key: str
    title: str
    headings: tuple[str, ...]
    reader: Reader
    help: str
    field: str = ""
    unit: str | None = None
    required: bool = False

    @property
    def name(self) -> str:
        """The key under which the value is handed on: it holds the unit of a size."""
        return self.field or self.key


@dataclass(frozen=True, slots=True)
class Mapped:
    """A column found in a sheet: where, under which heading, and with which unit, if any."""

    letter: str
    heading: str
    unit: str | None = None


def _column(
    key: str,
    title: str,
    headings: str,
    reader: Reader,
    help_text: str,
    **more: object,
) -> Column:
    spellings = (title, *(part.strip() for part in headings.split(";")))
    folded = tuple(dict.fromkeys(fold_heading(spelling) for spelling in spellings))
    return Column(key, title, folded, reader, help_text, **more)  # type: ignore[arg-type]


def fold_heading(text: str) -> str:
    """``text`` without case, accents and punctuation; # and its like become "no".

    Only the first :data:`MAX_HEADING` characters count.

    >>> fold_heading("Item #"), fold_heading("Nickname(s)"), fold_heading("Länge:")
    ('item no', 'nicknames', 'lange')
    """
    text = text[:MAX_HEADING]
    plain = re.sub("[#№]|n[°º]", " no ", tidy(re.sub("[№]|[nN][°º]", " no ", text)).casefold())
    plain = plain.replace("(s)", "s").replace("(n)", "n")
    letters = unicodedata.normalize("NFD", plain)
    bare = "".join(mark for mark in letters if not unicodedata.combining(mark))
    return " ".join(re.sub(r"[\W_]+", " ", bare).split())


def unit_in_heading(text: str) -> tuple[str, str | None]:
    """The folded heading without its unit, and the unit.

    >>> unit_in_heading("Länge (cm)"), unit_in_heading("Weight oz"), unit_in_heading("Length")
    (('lange', 'cm'), ('weight', 'oz'), ('length', None))
    >>> unit_in_heading("Gewicht in g"), unit_in_heading('Length "')
    (('gewicht', 'g'), ('length', 'in'))
    """
    words = re.split(r"[\s()\[\],:/]+", tidy(text).strip(" ()[],:/"))
    unit = unit_of_word(words[-1]) if len(words) > 1 else None
    if unit is None:
        return fold_heading(text), None
    rest = words[:-1]
    if len(rest) > 1 and rest[-1].casefold() in ("in", "en", "em"):
        rest = rest[:-1]
    return fold_heading(" ".join(rest)), unit


INSTRUMENT_COLUMNS: tuple[Column, ...] = (
    _column(
        "item_number",
        "Item number",
        "item #; item no; item number; item code; our number; stock no; artikelnummer; artikel nr; "
        "art nr; numero d'article; no article; reference interne; numero de articulo; no articulo",
        read_text,
        "The department's own number. Each number stands once.",
        required=True,
    ),
    _column(
        "name",
        "Name",
        "description; desc; instrument; instrument name; item description; nomenclature; item; "
        "bezeichnung; beschreibung; instrumentenname; designation; nom; libelle; descripcion; "
        "nombre; instrumento",
        read_text,
        "What the instrument is called, with pattern and size.",
        required=True,
    ),
    _column(
        "also_known_as",
        "Also known as",
        "nickname(s); nickname; alias; aliases; other names; rufname; spitzname; auch genannt; "
        "surnom; surnoms; autres noms; apodo; apodos; otros nombres; tambien llamado",
        read_names,
        "Other names, with a semicolon between them.",
    ),
    _column(
        "group",
        "Group",
        "category; family; gruppe; kategorie; groupe; famille; categorie; grupo; categoria; "
        "familia",
        read_text,
        "Scissors, forceps and so on. A grey heading row above the items does the same.",
    ),
    _column(
        "maker",
        "Maker",
        "vendor; manufacturer; mfr; mfg; brand; make; supplier; hersteller; lieferant; fabricant; "
        "marque; fournisseur; fabricante; marca; proveedor",
        read_text,
        "Who made it.",
    ),
    _column(
        "maker_catalog_number",
        "Maker's catalog number",
        "vendor cat. no.; vendor item; catalog no; catalogue no; catalog number; catalogue number; "
        "cat no; cat #; ref; ref no; part no; p/n; model; mfr #; herstellernummer; bestellnummer; "
        "bestell nr; reference; ref fabricant; reference fabricant; referencia; no catalogo",
        read_text,
        "The maker's number for it. Format the column as text, or 3-4 becomes a date.",
    ),
    _column(
        "length",
        "Length",
        "overall length; oal; lg; size; lange; laenge; gesamtlange; longueur; longitud; largo",
        read_length_cell,
        'The longest size, with its unit: 125 mm, 12.5 cm or 6 1/2".',
        field="length_mm",
        unit="mm",
    ),
    _column(
        "width",
        "Width",
        "breadth; breite; largeur; ancho; anchura",
        read_width_cell,
        "Across the widest part, closed, with its unit.",
        field="width_mm",
        unit="mm",
    ),
    _column(
        "height",
        "Height",
        "height / thickness; thickness; height thickness; depth; hohe; hoehe; dicke; hohe dicke; "
        "hauteur; epaisseur; altura; alto; espesor; grosor",
        read_height_cell,
        "How high it stands when it lies down, with its unit.",
        field="height_mm",
        unit="mm",
    ),
    _column(
        "weight",
        "Weight",
        "wt.; wt; mass; gewicht; gew; masse; poids; peso",
        read_weight_cell,
        "With its unit: 30 g, 0.03 kg, 2.8 oz or 0.17 lb.",
        field="weight_g",
        unit="g",
    ),
    _column(
        "tip",
        "Tip",
        "tip type; point; spitze; ende; pointe; extremite; punta",
        read_tip,
        "blunt, fine, sharp, toothed or rough. Leave empty if not known.",
    ),
    _column(
        "protector",
        "Tip protector",
        "tip guard; protector; guard; spitzenschutz; schutzkappe; protege pointe; protection; "
        "protector de punta; protector de puntas",
        read_protector,
        'As in the Supplies list, or "none".',
    ),
    _column(
        "hinged",
        "Hinged",
        "hinged?; hinge; joint; box lock; gelenk; mit gelenk; articule; charniere; "
        "articulado; bisagra",
        read_yes_no,
        "Y or N.",
    ),
    _column(
        "methods",
        "Sterilize by",
        "sterilise by; method; methods; sterilization method; sterilisation method; sterilization; "
        "verfahren; sterilisation; sterilisationsverfahren; methode; methode de sterilisation; "
        "metodo; metodo de esterilizacion; esterilizacion",
        read_methods_cell,
        "steam, EO, H2O2, LTSF or dry heat, with a comma between them.",
    ),
    _column(
        "cycle",
        "Cycle",
        "steam cycle; parameters; zyklus; programm; cycle vapeur; ciclo; parametros",
        read_cycle_cell,
        'Temperature, exposure, drying: "134C 3-18 min, dry 20".',
    ),
    _column(
        "ifu_revision",
        "IFU revision",
        "ifu rev.; ifu rev; ifu date; ifu version; ifu; gebrauchsanweisung stand; stand ifu; "
        "revision notice; version notice; revision ifu; version ifu",
        read_revision,
        "The revision printed on the maker's instructions, such as 2020-01.",
    ),
    _column(
        "spares_on_hand",
        "Spares on hand",
        "on hand; spares; loose spares; stock; qty on hand; quantity on hand; bestand; vorrat; "
        "reserve; en stock; existencias; repuestos",
        read_count,
        "How many lie loose on the shelf, 0 or more.",
    ),
)
"""The master list of instruments."""

SET_COLUMNS: tuple[Column, ...] = (
    _column(
        "quantity",
        "Quantity",
        "qty; count; pcs; pieces; nos; each; ea; std qty; par; required; menge; anzahl; stuck; "
        "stueck; quantite; qte; nombre de pieces; cantidad; cant; unidades",
        read_quantity,
        "How many belong in the set, 1 or more.",
        required=True,
    ),
    replace(INSTRUMENT_COLUMNS[0], required=False),
    replace(INSTRUMENT_COLUMNS[1], required=False),
    _column(
        "section",
        "Section",
        "part of the set; layer; compartment; abschnitt; lage; partie; couche; seccion; capa",
        read_text,
        "The part of the set. A grey heading row above the lines does the same.",
    ),
    _column(
        "order",
        "Order",
        "#; no; nr; line; line no; pos; position; zeile; ligne; linea; orden",
        read_text,
        "The place of the line on the sheet. It is counted anew when read.",
    ),
)
"""The lines of a count sheet. A line is known by its item number, or else by its name."""

SET_LABELS: Mapping[str, tuple[str, ...]] = {
    key: tuple(fold_heading(label) for label in labels.split(";"))
    for key, labels in {
        "set_code": "set no.; set number; set code; set #; set id; tray no; tray number; kit no; "
        "siebnummer; sieb nr; set nr; no de plateau; code plateau; no de set; codigo de set",
        "set_name": "set name; set; tray name; tray; name of set; siebname; nom du plateau; "
        "nombre del set",
        "packed_in": "packed in; packaging; packing; pack in; verpackt in; verpackung; "
        "conditionne dans; emballage; empaquetado en; embalaje",
        "service": "service; department; specialty; speciality; abteilung; fachabteilung; "
        "specialite; servicio; especialidad",
        "revision": "rev.; revision; version; stand; revision no; version no",
    }.items()
}
"""Labels in the block above a count sheet; the value stands to the right of each."""

LIST_COLUMNS: tuple[Column, ...] = (
    Column("set_code", "Set no.", (*SET_LABELS["set_code"], "set"), read_text,
           "The set's number, in every line.", required=True),
    Column("set_name", "Set name", tuple(name for name in SET_LABELS["set_name"] if name != "set"),
           read_text, "What the set is called."),
    Column("service", "Service", SET_LABELS["service"], read_text, "Who uses the set."),
    Column("packed_in", "Packed in", SET_LABELS["packed_in"], read_text, "What it is packed in."),
    Column("revision", "Rev.", SET_LABELS["revision"], read_text, "The revision of the sheet."),
    *SET_COLUMNS,
)  # fmt: skip
"""One long list of the lines of many sets, told apart by a set column."""


def propose_mapping(header_cells: Iterable[Cell], columns: Sequence[Column]) -> dict[str, Mapped]:
    """Column key to where it was found. The surest heading wins, then the leftmost.

    >>> cells = [Cell(1, "A", "Item #"), Cell(1, "B", "Länge (cm)"), Cell(1, "C", "Shelf")]
    >>> propose_mapping(cells, INSTRUMENT_COLUMNS)["length"]
    Mapped(letter='B', heading='Länge (cm)', unit='cm')
    """
    candidates = [
        (rank, place, column.key, Mapped(cell.column_letter, cell.typed.strip(), unit))
        for place, cell in enumerate(header_cells)
        if cell.formula is None and isinstance(cell.value, str) and len(cell.value) <= MAX_HEADING
        for column in columns
        for rank, unit in [_fit(cell.value, column)]
        if rank is not None
    ]
    mapping: dict[str, Mapped] = {}
    taken: set[str] = set()
    for _, _, key, mapped in sorted(candidates, key=lambda candidate: candidate[:2]):
        if key not in mapping and mapped.letter not in taken:
            mapping[key] = mapped
            taken.add(mapped.letter)
    return mapping


def _fit(heading: str, column: Column) -> tuple[int | None, str | None]:
    """How sure the heading is for the column (0 is surest, None is no fit), and its unit."""
    folded = fold_heading(heading)
    if folded in column.headings:
        return column.headings.index(folded), None
    if column.unit is None:
        return None, None
    bare, unit = unit_in_heading(heading)
    units = LENGTH_UNITS if column.unit == "mm" else WEIGHT_UNITS
    if bare in column.headings and unit in units:
        return column.headings.index(bare), unit
    return None, None
