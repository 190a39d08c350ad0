"""What a count sheet says, as plain data: empty, or as a set was counted.

It holds words that somebody else has decided on; equal documents give equal bytes.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime

from assembly.rules.drawing.shapes import Scene
from assembly.rules.telling.decided import Decided
from assembly.rules.telling.missing import counted_words, missing_words
from reports.documents.papers import refuse_blank

TICK_COLUMNS = ("Assembled", "Before", "Added", "After")
"""The first is filled in where the set is assembled, all others in the OR."""


@dataclass(frozen=True, slots=True)
class Substitute:
    """Pieces of another instrument that stand in on a line."""

    many: int
    name: str
    item_number: str = ""

    def __str__(self) -> str:
        return f"{self.many} × {self.name}, {self.item_number}".rstrip(", ")


@dataclass(frozen=True, slots=True)
class CountSheetLine:
    """One line of a count sheet. ``quantity`` is in pieces; None means nobody knows.

    ``details`` stand under the name in their order. After a count ``inside`` are the pieces of
    the item itself that are in the set (None: not counted), ``missing`` those said to be missing
    and ``instead`` what stands in. ``photo`` is a picture file (JPEG or PNG), printed small.
    """

    number: int
    quantity: int | None
    name: str
    item_number: str = ""
    details: tuple[str, ...] = ()
    inside: int | None = None
    missing: int = 0
    instead: tuple[Substitute, ...] = ()
    photo: bytes = field(default=b"", repr=False)

    @property
    def substitutes(self) -> int:
        """Pieces that stand in."""
        return sum(one.many for one in self.instead)

    @property
    def counted(self) -> str:
        """What was counted, in words; "" on an empty sheet."""
        if self.inside is None:
            return ""
        return counted_words(self.inside, self.quantity, self.substitutes)

    @property
    def missing_words(self) -> str:
        """What is missing, in words; "" where nothing is."""
        if not self.missing:
            return ""
        return missing_words(self.name, missing=self.missing, inside=self.inside or 0,
                             wanted=self.quantity or 0, substitutes=self.substitutes)  # fmt: skip


@dataclass(frozen=True, slots=True)
class CountSheetSection:
    """A part of the set, such as a tray layer, with its lines in order. May be untitled."""

    title: str
    lines: tuple[CountSheetLine, ...]


def pieces_words(lines: Iterable[CountSheetLine]) -> str:
    """The pieces in ``lines`` in words. An unknown quantity is said, never counted as 0.

    After a build it says how many were found of those, and how many of them are others.

    >>> pieces_words([CountSheetLine(1, 2, "Needle holder"), CountSheetLine(2, 1, "Probe")])
    '3 pieces'
    >>> pieces_words([CountSheetLine(1, 1, "Probe"), CountSheetLine(2, None, "Towel clip")])
    '1 piece, and 1 line of unknown quantity'
    >>> pieces_words([CountSheetLine(1, 2, "Probe", inside=1, instead=(Substitute(1, "Hook"),))])
    '2 of 2 pieces, 1 of them a substitute'
    """
    lines = list(lines)
    quantities = [line.quantity for line in lines]
    known = sum(quantity for quantity in quantities if quantity is not None)
    unknown = quantities.count(None)
    words = "1 piece" if known == 1 else f"{known} pieces"
    others = sum(line.substitutes for line in lines)
    if any(line.inside is not None for line in lines):
        words = f"{sum(line.inside or 0 for line in lines) + others} of {words}"
    if others:
        words += f", {others} of them {'a substitute' if others == 1 else 'substitutes'}"
    if not unknown:
        return words
    return f"{words}, and {_lines_words(unknown)} of unknown quantity"


def _lines_words(count: int) -> str:
    return "1 line" if count == 1 else f"{count} lines"


@dataclass(frozen=True, slots=True)
class Signed:
    """Who assembled and who checked a set, each with day and time in words; blank to sign."""

    assembled_by: str = ""
    assembled_at: str = ""
    checked_by: str = ""
    checked_at: str = ""


NOTHING, UNSIGNED = Decided(), Signed()


@dataclass(frozen=True, slots=True)
class CountSheetDocument:
    """A count sheet, ready to be drawn. MissingElement unless it has what a sheet needs.

    ``decided`` is what it is packed in, by which cycle, with which weight; or why not.
    ``revision_state`` is printed as it is; any other word than ``current`` is printed white on
    black on every page. With a ``package_code`` the sheet is that package's, and its symbol too;
    ``run`` is what is known of its load, each with its caption. ``layers`` of its basket are drawn
    where the last page has room for them.
    """

    hospital: str
    set_name: str
    set_code: str
    revision: str
    revision_state: str
    sections: tuple[CountSheetSection, ...]
    printed_at: datetime
    printed_by: str
    decided: Decided = NOTHING
    service: str = ""
    approval: str = ""
    notices: tuple[str, ...] = ()
    tick_columns: tuple[str, ...] = TICK_COLUMNS
    package_code: str = ""
    run: tuple[tuple[str, str], ...] = ()
    signed: Signed = UNSIGNED
    layers: tuple[Scene, ...] = ()

    def __post_init__(self) -> None:
        needed = {
            "the hospital": self.hospital,
            "the name of the set": self.set_name,
            "the set code": self.set_code,
            "the revision": self.revision,
            "the state of the revision": self.revision_state,
            "who printed it": self.printed_by,
            "at least one line": "yes" if self.lines else "",
        }
        for line in self.lines:
            needed[f"the name on line {line.number}"] = line.name
        refuse_blank("count sheet", needed)

    @property
    def code(self) -> str:
        """What its symbol says: the package, else the set."""
        return self.package_code or self.set_code

    @property
    def is_current(self) -> bool:
        """Whether the revision is the one to work by."""
        return self.revision_state.strip().lower() == "current"

    @property
    def lines(self) -> tuple[CountSheetLine, ...]:
        """Every line of every section, in order."""
        return tuple(line for section in self.sections for line in section.lines)

    @property
    def missing(self) -> tuple[str, ...]:
        """What is missing, line by line."""
        return tuple(line.missing_words for line in self.lines if line.missing)

    @property
    def or_columns(self) -> tuple[str, ...]:
        """The columns that are filled in in the OR."""
        return self.tick_columns[1:]

    @property
    def total_words(self) -> str:
        """The total in lines and pieces, as printed under the table."""
        return f"{_lines_words(len(self.lines))}, {pieces_words(self.lines)}"
