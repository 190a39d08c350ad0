"""The columns of a list of instruments, declared once.

The page that maps headings, the template workbook, the help and the whole catalog as a
workbook all follow from these.
"""

from __future__ import annotations

from catalog.spreadsheets.cells import (
    read_count,
    read_height_cell,
    read_length_cell,
    read_names,
    read_revision,
    read_text,
    read_weight_cell,
    read_width_cell,
)
from catalog.spreadsheets.columns import Column, declared
from catalog.spreadsheets.listed_cells import (
    read_cycle_cell,
    read_methods_cell,
    read_protector,
    read_tip,
    read_yes_no,
)

INSTRUMENT_COLUMNS: tuple[Column, ...] = (
    declared(
        "item_number",
        "Item number",
        "item #; item no; item number; item code; our number; stock no; artikelnummer; artikel nr; "
        "art nr; numero d'article; no article; reference interne; numero de articulo; no articulo",
        read_text,
        "The department's own number. Each number stands once.",
        required=True,
    ),
    declared(
        "name",
        "Name",
        "description; desc; instrument; instrument name; item description; nomenclature; item; "
        "bezeichnung; beschreibung; instrumentenname; designation; nom; libelle; descripcion; "
        "nombre; instrumento",
        read_text,
        "What the instrument is called, with pattern and size.",
        required=True,
    ),
    declared(
        "also_known_as",
        "Also known as",
        "nickname(s); nickname; alias; aliases; other names; rufname; spitzname; auch genannt; "
        "surnom; surnoms; autres noms; apodo; apodos; otros nombres; tambien llamado",
        read_names,
        "Other names, with a semicolon between them.",
    ),
    declared(
        "group",
        "Group",
        "category; family; gruppe; kategorie; groupe; famille; categorie; grupo; categoria; "
        "familia",
        read_text,
        "Scissors, forceps and so on. A grey heading row above the items does the same.",
    ),
    declared(
        "maker",
        "Maker",
        "vendor; manufacturer; mfr; mfg; brand; make; supplier; hersteller; lieferant; fabricant; "
        "marque; fournisseur; fabricante; marca; proveedor",
        read_text,
        "Who made it.",
    ),
    declared(
        "maker_catalog_number",
        "Maker's catalog number",
        "vendor cat. no.; vendor item; catalog no; catalogue no; catalog number; catalogue number; "
        "cat no; cat #; ref; ref no; part no; p/n; model; mfr #; herstellernummer; bestellnummer; "
        "bestell nr; reference; ref fabricant; reference fabricant; referencia; no catalogo",
        read_text,
        "The maker's number for it. Format the column as text, or 3-4 becomes a date.",
    ),
    declared(
        "length",
        "Length",
        "overall length; oal; lg; size; lange; laenge; gesamtlange; longueur; longitud; largo",
        read_length_cell,
        'The longest size, with its unit: 125 mm, 12.5 cm or 6 1/2".',
        field="length_mm",
        unit="mm",
    ),
    declared(
        "width",
        "Width",
        "breadth; breite; largeur; ancho; anchura",
        read_width_cell,
        "Across the widest part, closed, with its unit.",
        field="width_mm",
        unit="mm",
    ),
    declared(
        "height",
        "Height",
        "height / thickness; thickness; height thickness; depth; hohe; hoehe; dicke; hohe dicke; "
        "hauteur; epaisseur; altura; alto; espesor; grosor",
        read_height_cell,
        "How high it stands when it lies down, with its unit.",
        field="height_mm",
        unit="mm",
    ),
    declared(
        "weight",
        "Weight",
        "wt.; wt; mass; gewicht; gew; masse; poids; peso",
        read_weight_cell,
        "With its unit: 30 g, 0.03 kg, 2.8 oz or 0.17 lb.",
        field="weight_g",
        unit="g",
    ),
    declared(
        "tip",
        "Tip",
        "tip type; point; spitze; ende; pointe; extremite; punta",
        read_tip,
        "blunt, fine, sharp, toothed or rough. Leave empty if not known.",
    ),
    declared(
        "protector",
        "Tip protector",
        "tip guard; protector; guard; spitzenschutz; schutzkappe; protege pointe; protection; "
        "protector de punta; protector de puntas",
        read_protector,
        'As in the Supplies list, or "none".',
    ),
    declared(
        "hinged",
        "Hinged",
        "hinged?; hinge; joint; box lock; gelenk; mit gelenk; articule; charniere; "
        "articulado; bisagra",
        read_yes_no,
        "Y or N.",
    ),
    declared(
        "methods",
        "Sterilize by",
        "sterilise by; method; methods; sterilization method; sterilisation method; sterilization; "
        "verfahren; sterilisation; sterilisationsverfahren; methode; methode de sterilisation; "
        "metodo; metodo de esterilizacion; esterilizacion",
        read_methods_cell,
        "steam, EO, H2O2, LTSF or dry heat, with a comma between them.",
    ),
    declared(
        "cycle",
        "Cycle",
        "steam cycle; parameters; zyklus; programm; cycle vapeur; ciclo; parametros",
        read_cycle_cell,
        'Temperature, exposure, drying: "134C 3-18 min, dry 20".',
    ),
    declared(
        "ifu_revision",
        "IFU revision",
        "ifu rev.; ifu rev; ifu date; ifu version; ifu; gebrauchsanweisung stand; stand ifu; "
        "revision notice; version notice; revision ifu; version ifu",
        read_revision,
        "The revision printed on the maker's instructions, such as 2020-01.",
    ),
    declared(
        "spares_on_hand",
        "Spares on hand",
        "on hand; spares; loose spares; stock; qty on hand; quantity on hand; bestand; vorrat; "
        "reserve; en stock; existencias; repuestos",
        read_count,
        "How many lie loose on the shelf, 0 or more.",
    ),
)
"""The master list of instruments."""
