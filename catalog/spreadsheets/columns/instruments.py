"""The columns of a list of instruments, declared once.

The page that maps headings, the template workbook, the help and the whole catalog as a
workbook all follow from these.
"""

from __future__ import annotations

from catalog.spreadsheets.cells.days import read_day
from catalog.spreadsheets.cells.listed import (
    read_cycle_cell,
    read_form,
    read_item_class,
    read_kinds,
    read_lumen_material,
    read_methods_cell,
    read_parts,
    read_protector,
    read_tip,
    read_yes_no,
)
from catalog.spreadsheets.cells.typed import (
    read_count,
    read_height_cell,
    read_length_cell,
    read_lumen_cell,
    read_lumen_length_cell,
    read_names,
    read_notes,
    read_quantity,
    read_revision,
    read_text,
    read_tip_across_cell,
    read_tip_cover_cell,
    read_weight_cell,
    read_width_cell,
    read_width_open_cell,
    text_reader,
)
from catalog.spreadsheets.columns.column import Column, declared

INSTRUMENT_COLUMNS: tuple[Column, ...] = (
    declared(
        "item_number",
        "Item number",
        "item #; item no; item number; item code; our number; stock no; artikelnummer; artikel nr; "
        "art nr; numero d'article; no article; reference interne; numero de articulo; no articulo",
        text_reader(40),
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
        text_reader(60),
        "Scissors, forceps and so on. A grey heading row above the items does the same.",
    ),
    declared(
        "maker",
        "Maker",
        "vendor; manufacturer; mfr; mfg; brand; make; supplier; hersteller; lieferant; fabricant; "
        "marque; fournisseur; fabricante; marca; proveedor",
        text_reader(120),
        "Who made it.",
    ),
    declared(
        "maker_catalog_number",
        "Maker's catalog number",
        "vendor cat. no.; vendor item; catalog no; catalogue no; catalog number; catalogue number; "
        "cat no; cat #; ref; ref no; part no; p/n; model; mfr #; herstellernummer; bestellnummer; "
        "bestell nr; reference; ref fabricant; reference fabricant; referencia; no catalogo",
        text_reader(60),
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
        "item_class",
        "Kind of item",
        "item class; artikelart; artikelklasse; classe d'article; clase de articulo",
        read_item_class,
        "instruments, textile packs or utensils. Empty is taken for instruments.",
    ),
    declared(
        "tip",
        "Tip",
        "tip type; point; spitze; ende; pointe; extremite; punta",
        read_tip,
        "blunt, fine, sharp, toothed or rough. Leave empty if not known.",
    ),
    declared(
        "tip_across",
        "Tip across",
        "tip diameter; diameter of tip; spitzendurchmesser; durchmesser der spitze; "
        "diametre de la pointe; largeur de la pointe; diametro de la punta; ancho de la punta",
        read_tip_across_cell,
        "The greatest size across the tip, for choosing a protector, with its unit.",
        field="tip_across_mm",
        unit="mm",
    ),
    declared(
        "tip_cover",
        "Tip length to cover",
        "length of tip to cover; tip length; length of tip; spitzenlange; lange der spitze; "
        "longueur de la pointe; longitud de la punta",
        read_tip_cover_cell,
        "How much of the tip a protector has to cover, with its unit.",
        field="tip_cover_mm",
        unit="mm",
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
        "form",
        "Form",
        "type of instrument; shape; build; form; bauform; bauart; forme; forma",
        read_form,
        "ring-handled, tweezer-like, retractor, tube, handle, rongeur, basin, scope, powered "
        "or box: how it may lie, and how it is drawn.",
    ),
    declared(
        "width_open",
        "Width open",
        "open width; width when open; width opened; breite offen; offene breite; "
        "largeur ouverte; ancho abierto; anchura abierta",
        read_width_open_cell,
        "Across the widest part as a hinged instrument lies open in its package, with its unit.",
        field="width_open_mm",
        unit="mm",
    ),
    declared(
        "lies_only_as_given",
        "Lies only as measured",
        "lies only as given; only as measured; liegt nur so; nur wie gemessen; "
        "seulement ainsi; solo asi",
        read_yes_no,
        "Y where it must not be laid on another side.",
    ),
    declared(
        "ratchet",
        "Ratchet",
        "ratchet?; has a ratchet; with ratchet; ratsche; mit ratsche; mit sperre; rastung; "
        "cremaillere; a cremaillere; avec cremaillere; cremallera; con cremallera",
        read_yes_no,
        "Y or N.",
    ),
    declared(
        "hollow",
        "Hollow",
        "hollow?; hollow instrument; hohl; hohlinstrument; hohlkorper; creux; instrument creux; "
        "corps creux; hueco; instrumento hueco; cuerpo hueco",
        read_yes_no,
        "Y or N: a bowl, a tube, anything in which water can stand.",
    ),
    declared(
        "parts_apart",
        "Comes apart",
        "taken apart; comes apart?; parts that come apart; zerlegbar; zerlegbare teile; "
        "demontable; parties demontables; pieces demontables; desmontable; partes desmontables; "
        "piezas desmontables",
        read_parts,
        "Which parts come apart; yes where nobody wrote which; none where none do.",
    ),
    declared(
        "round_section",
        "Round in section",
        "round section; round cross section; runder querschnitt; querschnitt rund; "
        "section ronde; de section ronde; seccion redonda; de seccion redonda",
        read_yes_no,
        "Y or N. Empty is reckoned as not round, which asks for more room.",
    ),
    declared(
        "lumen",
        "Lumen bore",
        "bore of lumen; lumen diameter; lumen inner diameter; inner diameter; inside diameter; "
        "lumendurchmesser; innendurchmesser; diametre du lumen; diametre de la lumiere; "
        "diametre interieur; diametro del lumen; diametro interior",
        read_lumen_cell,
        "The inner width of its narrowest channel, with its unit.",
        headings_with_unit=("lumen",),
        field="lumen_mm",
        unit="mm",
    ),
    declared(
        "lumen_length",
        "Lumen length",
        "length of lumen; lumenlange; lange des lumens; longueur du lumen; "
        "longueur de la lumiere; longitud del lumen",
        read_lumen_length_cell,
        "How long that channel is, with its unit.",
        field="lumen_length_mm",
        unit="mm",
    ),
    declared(
        "lumen_material",
        "Lumen wall",
        "wall of lumen; lumen material; material of lumen; lumenwand; material des lumens; "
        "paroi du lumen; pared del lumen",
        read_lumen_material,
        "steel or flexible, as the claims of low-temperature sterilizers tell apart.",
    ),
    declared(
        "channels",
        "Lumen channels",
        "channels; number of channels; number of lumens; kanale; anzahl kanale; canaux; canales",
        read_quantity,
        "How many channels it has.",
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
        "forbids",
        "Forbidden packages",
        "forbids; packages forbidden by ifu; ifu forbids; verbotene verpackungen; "
        "emballages interdits; embalajes prohibidos",
        read_kinds,
        "What its instructions forbid: pouch, roll, wrap, container, with a comma between "
        "them; none where they forbid nothing.",
    ),
    declared(
        "ifu_reference",
        "IFU reference",
        "ifu ref; ifu no; ifu number; ifu document; gebrauchsanweisung nr; "
        "nummer der gebrauchsanweisung; no de notice; reference de la notice; "
        "referencia de las instrucciones; no de instrucciones",
        text_reader(120),
        "The number or name of the maker's instructions.",
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
        "ifu_review_on",
        "IFU review on",
        "ifu review; ifu review date; ifu review due; next ifu review; ifu to be read again on; "
        "ifu prufen am; gebrauchsanweisung prufen am; ifu a relire le; notice a relire le; "
        "revisar ifu el; revisar instrucciones el",
        read_day,
        "The day from which they are to be read again: a date, or a text like 2026-04-30.",
    ),
    declared(
        "spares_on_hand",
        "Spares on hand",
        "on hand; spares; loose spares; stock; qty on hand; quantity on hand; bestand; vorrat; "
        "reserve; en stock; existencias; repuestos",
        read_count,
        "How many lie loose on the shelf, 0 or more.",
    ),
    declared(
        "notes",
        "Notes",
        "note; remarks; remark; comments; comment; bemerkungen; bemerkung; anmerkungen; "
        "anmerkung; notizen; remarques; remarque; commentaires; commentaire; notas; nota; "
        "observaciones; comentarios",
        read_notes,
        "Whatever else people should know.",
    ),
)
"""The master list of instruments."""
