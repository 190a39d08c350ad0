"""What goes on paper, as plain data: the count sheet and the package label.

A document holds words and dates that somebody else has already decided on. It does not
look anything up, compute a weight or read a clock; ``reports.drawing`` turns it into a
PDF. Two equal documents give equal bytes.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime

TICK_COLUMNS = ("Assembled", "Before", "Added", "After")
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


class PrintError(ValueError):
    """A document that is not to be printed as it is. The message is meant for the user."""


class MissingElement(PrintError):  # noqa: N818
    """Something the paper has to carry was not given. Names every missing element."""

    def __init__(self, paper: str, elements: Iterable[str]) -> None:
        self.paper, self.elements = paper, tuple(elements)
        super().__init__(
            f"The {paper} was not printed. It has to state: {', '.join(self.elements)}. "
            "Fill that in and print again."
        )


def day_words(day: date) -> str:
    """A date that nobody reads as another one, whatever the country.

    >>> day_words(date(2026, 3, 6))
    '6 Mar 2026'
    """
    return f"{day.day} {MONTHS[day.month - 1]} {day.year}"


def time_words(moment: datetime) -> str:
    """A date with the time of day, 24 hours, in the time zone it was given in.

    >>> time_words(datetime(2026, 3, 6, 14, 5))
    '6 Mar 2026, 14:05'
    """
    return f"{day_words(moment)}, {moment:%H:%M}"


@dataclass(frozen=True, slots=True)
class CountSheetLine:
    """One line of a count sheet. ``quantity`` is in pieces; None means nobody knows.

    ``ticked`` is what already stands in the columns to tick, from the left: the count of a
    build, which ``found`` holds in pieces (None on an empty sheet). ``photo`` is a picture
    file (JPEG or PNG), printed small beside the name.
    """

    number: int
    quantity: int | None
    name: str
    item_number: str = ""
    also_known_as: str = ""
    protector: str = ""
    may_go_without: bool = False
    note: str = ""
    ticked: tuple[str, ...] = ()
    found: int | None = None
    photo: bytes = field(default=b"", repr=False)


@dataclass(frozen=True, slots=True)
class CountSheetSection:
    """A part of the set, such as a tray layer, with its lines in order. May be untitled."""

    title: str
    lines: tuple[CountSheetLine, ...]


def pieces_words(lines: Iterable[CountSheetLine]) -> str:
    """The pieces in ``lines`` in words. An unknown quantity is said, never counted as 0.

    After a build it says how many were found of those.

    >>> pieces_words([CountSheetLine(1, 2, "Needle holder"), CountSheetLine(2, 1, "Probe")])
    '3 pieces'
    >>> pieces_words([CountSheetLine(1, 1, "Probe"), CountSheetLine(2, None, "Towel clip")])
    '1 piece, and 1 line of unknown quantity'
    """
    lines = list(lines)
    quantities = [line.quantity for line in lines]
    known = sum(quantity for quantity in quantities if quantity is not None)
    unknown = quantities.count(None)
    words = "1 piece" if known == 1 else f"{known} pieces"
    if any(line.found is not None for line in lines):
        words = f"{sum(line.found or 0 for line in lines)} of {words}"
    if not unknown:
        return words
    return f"{words}, and {_lines_words(unknown)} of unknown quantity"


def _lines_words(count: int) -> str:
    return "1 line" if count == 1 else f"{count} lines"


@dataclass(frozen=True, slots=True)
class CountSheetDocument:
    """A count sheet, ready to be drawn. MissingElement unless it has what a sheet needs.

    ``revision_state`` is printed as it is; any other word than ``current`` is printed
    white on black on every page. ``weight_status`` is the finding's own word. ``shortages``
    are sentences known when the sheet is printed; room to write more is always left.
    ``signed`` holds the names and days that stand on the signature lines, in their order:
    assembled by, checked by, date.
    """

    hospital: str
    set_name: str
    set_code: str
    revision: str
    revision_state: str
    sections: tuple[CountSheetSection, ...]
    printed_at: datetime
    printed_by: str
    service: str = ""
    approval: str = ""
    packaging: str = ""
    gross_weight: str = ""
    weight_status: str = ""
    notices: tuple[str, ...] = ()
    shortages: tuple[str, ...] = ()
    tick_columns: tuple[str, ...] = TICK_COLUMNS
    signed: tuple[str, ...] = ()

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
        _refuse_blank("count sheet", needed)

    @property
    def is_current(self) -> bool:
        """Whether the revision is the one to work by."""
        return self.revision_state.strip().lower() == "current"

    @property
    def lines(self) -> tuple[CountSheetLine, ...]:
        """Every line of every section, in order."""
        return tuple(line for section in self.sections for line in section.lines)

    @property
    def total_words(self) -> str:
        """The total in lines and pieces, as printed under the table."""
        return f"{_lines_words(len(self.lines))}, {pieces_words(self.lines)}"


def filled(
    document: CountSheetDocument,
    counted: Mapping[int, int],
    shortages: Iterable[str] = (),
    *,
    assembled_by: str = "",
    checked_by: str = "",
    day: date | None = None,
) -> CountSheetDocument:
    """The sheet after a build: what was counted, what is short or substituted, who signed.

    ``counted`` maps a line's number to the pieces found; a line that is not in it stays
    empty. A count that is not the line's quantity is written as "1 of 2".

    >>> counted_words(CountSheetLine(1, 2, "Needle holder"), 1)
    '1 of 2'
    """
    column = next(iter(document.tick_columns), "")

    def counted_line(line: CountSheetLine) -> CountSheetLine:
        if line.number not in counted:
            return line
        pieces = counted[line.number]
        found = counted_words(line, pieces)
        if column:
            return replace(line, ticked=(found,), found=pieces)
        return replace(line, note=f"{line.note} Counted: {found}.".strip(), found=pieces)

    return replace(
        document,
        sections=tuple(
            replace(section, lines=tuple(counted_line(line) for line in section.lines))
            for section in document.sections
        ),
        shortages=(*document.shortages, *shortages),
        signed=(assembled_by, checked_by, day_words(day) if day else ""),
    )


def counted_words(line: CountSheetLine, found: int) -> str:
    """What was found of a line's quantity, in pieces.

    >>> counted_words(CountSheetLine(1, 2, "Needle holder"), 2)
    '2'
    """
    return str(found) if found == line.quantity else f"{found} of {line.quantity or '?'}"


MINIMUM = ("contents", "packer", "packed on", "sterilizer", "cycle", "load", "shelf life")
"""What a label states at least unless the policy says otherwise.

Source: PAHO, Sterilization Manual for Health Centers, 2009; ANSI/AAMI ST79, APIC, OSAP and a
German guide as publicly reported.
"""

WRITTEN_IN = ("sterilizer", "cycle", "load")
"""What may be written on the label by hand, where it is printed before the load is known."""


@dataclass(frozen=True, slots=True)
class LabelDocument:
    """A package label, ready to be drawn. MissingElement unless it states what is ``required``.

    Sterilizer, cycle and load may be blank: where they are required they are then printed as
    ruled fields, to be written in when the package is loaded. A label with ``void`` (why it is
    no longer good) is struck through and bears no barcode. ``symbol`` is "data matrix" or
    "code 128"; with a ``gs1_prefix`` (the department's GS1 company prefix) a GS1 DataMatrix is
    printed instead.
    """

    what: str
    packed_by: str
    packed_on: date | None
    barcode_text: str
    statement: str = ""
    expires_on: date | None = None
    item_number: str = ""
    quantity: str = ""
    package: str = ""
    method: str = ""
    department: str = ""
    sterilizer: str = ""
    cycle: str = ""
    load: str = ""
    flags: tuple[str, ...] = ()
    notices: tuple[str, ...] = ()
    lot_number: str = ""
    single_or_double: str = ""
    void: str = ""
    symbol: str = "data matrix"
    gs1_prefix: str = ""
    required: tuple[str, ...] = MINIMUM

    def __post_init__(self) -> None:
        elements = self.elements
        unknown = [name for name in self.required if name not in elements]
        if unknown:
            raise PrintError(f"Not printed. No label states {', '.join(unknown)}.")
        stated = (name for name in self.required if name not in WRITTEN_IN)
        _refuse_blank("label", dict(elements[name] for name in stated))

    @property
    def elements(self) -> dict[str, tuple[str, str]]:
        """What a policy may require, by its name there: in words, and what is stated of it."""
        shelf = "given" if self.expires_on else self.statement
        return {
            "contents": ("the contents", self.what),
            "destination": ("where it goes", self.department),
            "packer": ("who packed it", self.packed_by),
            "packed on": ("the date it was packed", "given" if self.packed_on else ""),
            "package code": ("the package code", self.barcode_text),
            "package": ("what it is packed in", self.package),
            "method": ("the method", self.method),
            "single or double": ("whether it is single or double", self.single_or_double),
            "sterilizer": ("the sterilizer", self.sterilizer),
            "cycle": ("the cycle", self.cycle),
            "load": ("the load", self.load),
            "lot number": ("the lot number", self.lot_number),
            "shelf life": ("an expiry date or an event-related statement", shelf),
            "use-by date": ("a use-by date", "given" if self.expires_on else ""),
        }

    @property
    def load_fields(self) -> list[tuple[str, str]]:
        """Sterilizer, cycle and load with what is stated; blank: a line to write on."""
        fields = ((name, getattr(self, name).strip()) for name in WRITTEN_IN)
        return [(name.capitalize(), words) for name, words in fields
                if words or name in self.required]  # fmt: skip

    @property
    def packed_words(self) -> str:
        """Who packed it and when, as printed."""
        day = day_words(self.packed_on) if self.packed_on else ""
        by = f"by {self.packed_by}" if self.packed_by else ""
        return " ".join(part for part in ("Packed", day, by) if part) if day or by else ""

    @property
    def shelf_words(self) -> str:
        """The expiry date and the event-related statement, whichever there are."""
        use_by = f"Use by {day_words(self.expires_on)}." if self.expires_on else ""
        return f"{use_by} {self.statement}".strip()


def _refuse_blank(paper: str, needed: dict[str, str]) -> None:
    missing = [element for element, words in needed.items() if not words.strip()]
    if missing:
        raise MissingElement(paper, missing)
