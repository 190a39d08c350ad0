"""A list as plain data: the same rows for the page, the PDF, the spreadsheet and the text file.

A kind of list is declared once, with its columns and a function that finds its rows. Another
part of the program adds one with :func:`register`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from datetime import datetime
from typing import Literal

from assembly.rules.drawing.shapes import Scene

Align = Literal["left", "right"]
Row = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ListColumn:
    """A column: its heading, its share of the page's width, and on which side it is set.

    ``whole``: the screen keeps it on one line, as a date.
    """

    title: str
    share: float = 1.0
    align: Align = "left"
    whole: bool = False


@dataclass(frozen=True, slots=True)
class ListKind:
    """A list that can be asked for: ``rows()`` finds them as words, in order.

    ``link`` names an address with one argument and the column that holds it. ``permission``
    is what a reader needs. ``note`` says in a sentence what the list is made from.
    ``costly`` rows are decisions of the catalog: they are kept until something in it changes.
    ``plots()`` are drawn above the rows.
    """

    key: str
    title: str
    columns: tuple[ListColumn, ...]
    rows: Callable[[], Iterable[Row]] = field(compare=False)
    note: str = ""
    link: tuple[str, int] | None = None
    permission: str = "catalog.view_instrumentset"
    nothing: str = "Nothing to list."
    costly: bool = False
    plots: Callable[[], tuple[Scene, ...]] = field(default=tuple, compare=False)


@dataclass(frozen=True, slots=True)
class ListDocument:
    """The rows found at one moment, ready to be written in any form."""

    kind: ListKind
    rows: tuple[Row, ...]
    made_at: datetime
    made_by: str
    plots: tuple[Scene, ...] = ()

    def __post_init__(self) -> None:
        for number, row in enumerate(self.rows, start=1):
            if len(row) != len(self.kind.columns):
                raise ValueError(f"{self.kind.key}: row {number} has {len(row)} cells, "
                                 f"the list {len(self.kind.columns)} columns")  # fmt: skip

    @property
    def headings(self) -> Row:
        """The columns' headings, in order."""
        return tuple(column.title for column in self.kind.columns)


KINDS: dict[str, ListKind] = {}
"""Every kind of list by its key, in the order in which they were added."""


def register(kind: ListKind) -> ListKind:
    """Add a kind of list to the page of lists; ValueError when its key is taken."""
    if kind.key in KINDS:
        raise ValueError(f"a list {kind.key} is there already")
    KINDS[kind.key] = kind
    return kind
