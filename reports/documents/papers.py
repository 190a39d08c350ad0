"""What goes on paper, as plain data: the package label, and why a paper is not printed.

A document holds words and dates that somebody else has already decided on. It does not
look anything up, compute a weight or read a clock; ``reports.drawing`` turns it into a
PDF. Two equal documents give equal bytes.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from assembly.rules.telling.days import day_words


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
        refuse_blank("label", dict(elements[name] for name in stated))

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


@dataclass(frozen=True, slots=True)
class NotPrinted:
    """One of several papers that cannot be printed: its code, what it is of, and why."""

    code: str
    what: str
    why: str

    def __str__(self) -> str:
        return f"{self.code} {self.what}: {self.why}"


def refuse_blank(paper: str, needed: dict[str, str]) -> None:
    """MissingElement naming each element of ``needed`` that has no words."""
    missing = [element for element, words in needed.items() if not words.strip()]
    if missing:
        raise MissingElement(paper, missing)
