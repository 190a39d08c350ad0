"""What a column of a spreadsheet is, and which heading belongs to which.

The columns are declared once, in ``instruments.toml`` and ``sets.toml``. Headings are accepted
in English, German, French and Spanish, whatever their case, accents and punctuation; a unit in
a heading, as in ``Länge (cm)``, is the unit of its bare numbers.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache

from catalog.spreadsheets.cells.typed import Reader
from catalog.spreadsheets.workbook.cell import Cell, Row
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


SIZES_IN_A_CELL = 3
BETWEEN_SIZES = re.compile(r"\s*[x×*]\s*", re.IGNORECASE)
_UNIT_AT_THE_END = re.compile(r"[^\W\d_]+\.?$|[\"”″]$")


@dataclass(frozen=True, slots=True)
class Mapped:
    """A column found in a sheet: where, under which heading, and with which unit, if any.

    ``part`` is the place of the size in cells that hold several, as in 170 x 80 x 10: 1, 2 or 3;
    0 where the whole cell is meant."""

    letter: str
    heading: str
    unit: str | None = None
    part: int = 0

    def cell_of(self, row: Row) -> Cell:
        """The cell of ``row`` in this column, or the part of it that holds this size.

        A cell that does not hold three sizes is left whole, for its reader to refuse.
        """
        cell = row.at(self.letter)
        if not self.part or not isinstance(cell.value, str):
            return cell
        parts = [part.strip() for part in BETWEEN_SIZES.split(cell.value)]
        if len(parts) != SIZES_IN_A_CELL:
            return cell
        unit = _UNIT_AT_THE_END.search(parts[-1])
        own = parts[self.part - 1]
        said = f" {unit[0]}" if unit and not _UNIT_AT_THE_END.search(own) else ""
        return cell._replace(value=own + said)


@lru_cache(maxsize=16384)
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


@lru_cache(maxsize=16384)
def unit_in_heading(text: str) -> tuple[str, str | None]:
    """The folded heading without its unit, and the unit.

    >>> unit_in_heading("Länge (cm)"), unit_in_heading("Weight oz"), unit_in_heading("Length")
    (('lange', 'cm'), ('weight', 'oz'), ('length', None))
    >>> unit_in_heading("Gewicht in g"), unit_in_heading('Length "'), unit_in_heading("L (mm/in)")
    (('gewicht', 'g'), ('length', 'in'), ('l', None))
    """
    said = tidy(text).strip(" ()[],:/")
    words = re.split(r"[\s()\[\],:/]+", said)
    unit = unit_of_word(words[-1]) if len(words) > 1 else None
    if unit is None:
        return fold_heading(text), None
    rest = words[:-1]
    if len(rest) > 1 and _is_another(unit, rest[-1], said):
        return fold_heading(" ".join(rest[:-1])), None
    if len(rest) > 1 and rest[-1].casefold() in ("in", "en", "em"):
        rest = rest[:-1]
    return fold_heading(" ".join(rest)), unit


def _is_another(unit: str, before: str, text: str) -> bool:
    """Whether the word before a unit is another one, as in "mm/in"; "in mm" has one."""
    other = unit_of_word(before)
    one_word = before.casefold() == "in" and not re.search(r"[/,;|]\s*[^\W\d_]+\.?$", text)
    return other not in (None, unit) and not one_word


def declared_fit(heading: str, column: Column) -> int | None:
    """How sure a declared heading is for the column (0 is surest); None when it is none.

    >>> from catalog.spreadsheets.columns.instruments import INSTRUMENT_COLUMNS
    >>> declared_fit("Name", INSTRUMENT_COLUMNS[1]), declared_fit("Shelf", INSTRUMENT_COLUMNS[1])
    (0, None)
    """
    folded = fold_heading(heading)
    if folded in column.headings:
        return column.headings.index(folded)
    if column.unit is None:
        return None
    bare, unit = unit_in_heading(heading)
    units = LENGTH_UNITS if column.unit == "mm" else WEIGHT_UNITS
    accepted = (*column.headings, *column.headings_with_unit)
    return accepted.index(bare) if bare in accepted and unit in units else None
