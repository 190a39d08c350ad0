"""The shift's board as plain data: one page for the wall, a part for each thing there is to do."""

from __future__ import annotations

from dataclasses import dataclass

from reports.documents.lists import ListColumn, Row


@dataclass(frozen=True, slots=True)
class BoardPart:
    """A heading with its rows, the most pressing first."""

    title: str
    columns: tuple[ListColumn, ...]
    rows: tuple[Row, ...]


@dataclass(frozen=True, slots=True)
class BoardDocument:
    """A title, parts that hold something, and what stands at the foot."""

    title: str
    parts: tuple[BoardPart, ...]
    foot: str
    nothing: str = "Nothing waits."
