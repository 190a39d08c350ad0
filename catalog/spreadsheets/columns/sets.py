"""The columns of count sheets and the labels above them, declared once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from catalog.spreadsheets.cells.typed import read_quantity, read_text
from catalog.spreadsheets.columns.column import Column, declared, fold_heading
from catalog.spreadsheets.columns.instruments import INSTRUMENT_COLUMNS

SET_COLUMNS: tuple[Column, ...] = (
    declared(
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
    declared(
        "section",
        "Section",
        "part of the set; layer; compartment; abschnitt; lage; partie; couche; seccion; capa",
        read_text,
        "The part of the set. A grey heading row above the lines does the same.",
    ),
    declared(
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
