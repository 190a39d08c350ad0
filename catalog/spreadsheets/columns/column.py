"""What a column of a spreadsheet is, and which heading belongs to which.

The columns are declared once, in ``instruments.toml`` and ``sets.toml``. Headings are accepted
in English, German, French and Spanish, whatever their case, accents and punctuation; a unit in
a heading, as in ``Länge (cm)``, is the unit of its bare numbers.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from catalog.spreadsheets.cells.typed import Reader
from catalog.spreadsheets.workbook.cell import Cell
from catalog.units import LENGTH_UNITS, WEIGHT_UNITS, tidy, unit_of_word, without_accents

MAX_HEADING = 60
"""Characters. A longer text is a note, not a heading (our limit)."""


@dataclass(frozen=True, slots=True)
class Column:
    """One column. ``headings`` are the accepted spellings, the surest first; ``field`` is the
    name of the value; ``unit`` is the base unit it is stored in, None for no size.
    ``headings_with_unit`` count only with a unit in the heading: a column "Lumen" may as well
    say yes and no."""

    key: str
    title: str
    headings: tuple[str, ...]
    reader: Reader
    help: str
    field: str = ""
    unit: str | None = None
    required: bool = False
    headings_with_unit: tuple[str, ...] = ()

    @property
    def name(self) -> str:
        """The key under which the value is handed on: it holds the unit of a size."""
        return self.field or self.key

    @property
    def goes_by(self) -> tuple[str, ...]:
        """Every heading that it goes by, those that need a unit with it."""
        return (*self.headings, *(f"{one} ({self.unit})" for one in self.headings_with_unit))

    @property
    def heading(self) -> str:
        """What stands above it in our own workbooks: its title, with the unit of a size."""
        return f"{self.title} ({self.unit})" if self.unit else self.title


@dataclass(frozen=True, slots=True)
class Mapped:
    """A column found in a sheet: where, under which heading, and with which unit, if any."""

    letter: str
    heading: str
    unit: str | None = None


def fold_heading(text: str) -> str:
    """``text`` without case, accents and punctuation; # and its like become "no".

    Only the first :data:`MAX_HEADING` characters count.

    >>> fold_heading("Item #"), fold_heading("Nickname(s)"), fold_heading("Länge:")
    ('item no', 'nicknames', 'lange')
    """
    text = text[:MAX_HEADING]
    plain = re.sub("[#№]|n[°º]", " no ", tidy(re.sub("[№]|[nN][°º]", " no ", text)).casefold())
    plain = plain.replace("(s)", "s").replace("(n)", "n")
    return " ".join(re.sub(r"[\W_]+", " ", without_accents(plain)).split())


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


def propose_mapping(header_cells: Iterable[Cell], columns: Sequence[Column]) -> dict[str, Mapped]:
    """Column key to where it was found. The surest heading wins, then the leftmost.

    >>> from catalog.spreadsheets.columns.instruments import INSTRUMENT_COLUMNS
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
    accepted = (*column.headings, *column.headings_with_unit)
    if bare in accepted and unit in units:
        return accepted.index(bare), unit
    return None, None
