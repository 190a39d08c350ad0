"""The record of one package as plain data: the same for its page and its paper."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from reports.documents.lists import ListColumn, Row

FACTS = (ListColumn("", 1.0), ListColumn("", 3.4))
EVENTS = (ListColumn("When", 1.0), ListColumn("What", 2.0), ListColumn("Who", 1.0),
          ListColumn("Why", 1.6))  # fmt: skip
NOTHING = (ListColumn(""),)
NONE: tuple[Row, ...] = (("None on record.",),)


@dataclass(frozen=True, slots=True)
class RecordSection:
    """Rows under a heading; without a title its columns have no heading row."""

    heading: str
    columns: tuple[ListColumn, ...]
    rows: tuple[Row, ...]

    @property
    def titles(self) -> Row:
        """The headings of its columns; empty where they have none."""
        return tuple(one.title for one in self.columns) if self.columns[0].title else ()


@dataclass(frozen=True, slots=True)
class PackageRecord:
    """All that is on record of a package. ``loud`` says why it is not to be used, if it is not."""

    code: str
    title: str
    loud: str
    sections: tuple[RecordSection, ...]


def section(heading: str, columns: tuple[ListColumn, ...], rows: Iterable[Row]) -> RecordSection:
    """The rows under their heading; where there are none it says so."""
    found = tuple(rows)
    return (
        RecordSection(heading, columns, found) if found else RecordSection(heading, NOTHING, NONE)
    )
