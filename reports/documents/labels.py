"""What a label says, as plain data: that of a package, and that of a shelf or a bin.

A document holds words and dates that somebody else has already decided on;
``reports.drawing.labels`` turns it into a PDF.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from assembly.rules.days import day_words
from reports.documents.papers import PrintError, refuse_blank

MINIMUM = ("contents", "packer", "packed on", "sterilizer", "cycle", "sterilized on", "shelf life")
"""What a label states at least unless the policy says otherwise.

Source: PAHO, Sterilization Manual for Health Centers, 2009; ANSI/AAMI ST79, APIC, OSAP and a
German guide as publicly reported. They ask for the cycle *or* the load.
"""

WRITTEN_IN = {"sterilizer": "Sterilizer", "cycle": "Cycle", "load": "Load", "sterilized on": "Date"}
"""What may be written on the label by hand, where it is printed before it is known, and what
stands before the line for it."""


@dataclass(frozen=True, slots=True)
class LabelDocument:
    """A package label, ready to be drawn. MissingElement unless it states what is ``required``.

    Sterilizer, cycle, load and ``sterilized_on`` may be blank: where they are required they are
    then printed as ruled fields, to be written in when the package is loaded. With
    ``lot_to_write`` one field for the lot stands for those that are its parts (``lot_holds``).
    ``missing`` and ``instead`` (what stands in) are a sentence each, as every page and paper says
    it; ``unknown`` is what was not known when it was packed. A label with ``void`` (why it is
    no longer good) is struck through and bears no barcode. ``symbol`` is "data matrix" or
    "code 128"; with a ``gs1_prefix`` (the department's GS1 company prefix) a GS1 DataMatrix is
    printed instead; ``small_code``: its modules may be as narrow as the stock's printer allows.
    """

    what: str
    packed_by: str
    packed_on: date | None
    barcode_text: str
    hospital: str = ""
    statement: str = ""
    expires_on: date | None = None
    tray: str = ""
    item_number: str = ""
    quantity: str = ""
    weight: str = ""
    package: str = ""
    method: str = ""
    department: str = ""
    sterilizer: str = ""
    cycle: str = ""
    load: str = ""
    sterilized_on: date | None = None
    flags: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()
    instead: tuple[str, ...] = ()
    unknown: tuple[str, ...] = ()
    lot_number: str = ""
    lot_holds: tuple[str, ...] = ()
    lot_to_write: bool = False
    single_or_double: str = ""
    void: str = ""
    symbol: str = "data matrix"
    gs1_prefix: str = ""
    small_code: bool = False
    required: tuple[str, ...] = MINIMUM

    def __post_init__(self) -> None:
        elements = self.elements
        unknown = [name for name in self.required if name not in elements]
        if unknown:
            raise PrintError(f"Not printed. No label states {', '.join(unknown)}.")
        stated = (name for name in self.required if name not in WRITTEN_IN)
        refuse_blank("label", dict(elements[name] for name in stated))

    @property
    def elements(self) -> dict[str, tuple[str, str]]:
        """What a policy may require, by its name there: in words, and what is stated of it."""
        shelf = "given" if self.expires_on else self.statement
        return {
            "contents": ("the contents", self.what),
            "destination": ("where it goes", self.department),
            "hospital": ("the hospital or department that packs", self.hospital),
            "packer": ("who packed it", self.packed_by),
            "packed on": ("the date it was packed", "given" if self.packed_on else ""),
            "package code": ("the package code", self.barcode_text),
            "package": ("what it is packed in", self.package),
            "method": ("the method", self.method),
            "single or double": ("whether it is single or double", self.single_or_double),
            "sterilizer": ("the sterilizer", self.sterilizer),
            "cycle": ("the cycle", self.cycle),
            "load": ("the load", self.load),
            "sterilized on": ("the date of sterilization", "given" if self.sterilized_on else ""),
            "lot number": ("the lot number", self.lot_number),
            "shelf life": ("an expiry date or an event-related statement", shelf),
            "use-by date": ("a use-by date", "given" if self.expires_on else ""),
        }

    @property
    def load_fields(self) -> list[tuple[str, str]]:
        """Sterilizer, cycle, load and date with what is stated; blank: a line to write on."""
        stated = {
            "sterilizer": self.sterilizer.strip(),
            "cycle": self.cycle.strip(),
            "load": self.load.strip(),
            "sterilized on": day_words(self.sterilized_on) if self.sterilized_on else "",
        }
        fields = [(WRITTEN_IN[name], words) for name, words in stated.items()
                  if words or name in self.required]  # fmt: skip
        return [("Lot", ""), *fields] if self.lot_to_write else fields

    @property
    def marks(self) -> tuple[str, ...]:
        """All that stands white on black, in its order."""
        return (*self.flags, *self.missing, *self.instead, *self.unknown)

    @property
    def count_words(self) -> tuple[str, ...]:
        """Which of several trays it is, how many pieces, the number of what it is, its weight."""
        tray = f"Tray {self.tray}" if self.tray else ""
        return tuple(filter(None, (tray, self.quantity, self.item_number, self.weight)))

    @property
    def packed_words(self) -> str:
        """Who packed it, when and where, as printed."""
        day = day_words(self.packed_on) if self.packed_on else ""
        by = f"by {self.packed_by}" if self.packed_by else ""
        packed = " ".join(part for part in ("Packed", day, by) if part) if day or by else ""
        return ", ".join(filter(None, (packed, self.hospital)))

    @property
    def shelf_words(self) -> str:
        """The expiry date and the event-related statement, whichever there are."""
        use_by = f"Use by {day_words(self.expires_on)}." if self.expires_on else ""
        return f"{use_by} {self.statement}".strip()


@dataclass(frozen=True, slots=True)
class ShelfLabelDocument:
    """The label of a shelf, a bin or a place, in another design than that of a package.

    ``number`` is what stands in large letters, ``code`` what is scanned, ``note`` what it is
    usually packed in or what to do. It says nothing of a packer, a day or of being sterile,
    because nothing was packed. MissingElement without a number or a code.
    """

    number: str
    name: str
    code: str
    note: str = ""
    symbol: str = "data matrix"

    def __post_init__(self) -> None:
        refuse_blank("shelf label", {"the number": self.number, "the code": self.code})


AnyLabel = LabelDocument | ShelfLabelDocument
