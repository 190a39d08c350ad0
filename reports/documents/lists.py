"""A list as plain data: the same rows for the page, the PDF, the spreadsheet and the text file.

A kind of list is declared once, with its columns and a function that finds its rows. Another
part of the program adds one with :func:`register`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from functools import cached_property
from itertools import islice
from typing import Any, Literal

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


@dataclass(frozen=True)
class Found:
    """Rows of a list that grows, read where they are shown: a page reads its own alone.

    ``query`` is what the database is asked, with ``count()``, ``order_by()`` and slices; ``words``
    makes rows of what a slice has, as many and in the same order. ``orders`` names for each column
    what the database sorts it by; empty where it cannot.
    """

    query: Any
    words: Callable[[Sequence[Any]], Iterable[Row]]
    orders: tuple[tuple[str, ...], ...]

    @cached_property
    def count(self) -> int:
        """How many there are: one query."""
        return int(self.query.count())

    def __len__(self) -> int:
        return self.count

    def __getitem__(self, part: slice) -> list[Row]:
        return list(self.words(list(self.query[part])))

    def __iter__(self) -> Iterator[Row]:
        rows = iter(self.query.iterator(chunk_size=AT_ONCE))
        while some := list(islice(rows, AT_ONCE)):
            yield from self.words(some)

    def ordered(self, column: int, down: bool) -> Found:
        """The same rows by one column, equal ones as they were."""
        by = [f"-{name}" if down else name for name in self.orders[column]]
        return replace(self, query=self.query.order_by(*by, *self.query.query.order_by))


AT_ONCE = 2000
"""Rows of a file that are read together."""


@dataclass(frozen=True, slots=True)
class ListKind:
    """A list that can be asked for: ``rows()`` finds them as words, in order; of what grows, as
    :class:`Found`.

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
