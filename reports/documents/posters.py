"""Posters for the wall as plain data: a title, a few drawings, a handful of words for each."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Literal

from assembly.rules.days import day_words
from assembly.rules.drawing.shapes import Scene

SOON = timedelta(days=30)
NOT_SET = "not set"


@dataclass(frozen=True, slots=True)
class Panel:
    """One drawing with its words. ``mark``: right, a fault, or the number of a step."""

    words: str
    scene: Scene
    mark: Literal["good", "fault"] | int


@dataclass(frozen=True, slots=True)
class Figure:
    """An amount in very large type, and what it is the limit of."""

    amount: str
    words: str


@dataclass(frozen=True, slots=True)
class Fact:
    """What a poster rests on, and where it comes from; read on the screen."""

    words: str
    source: str


@dataclass(frozen=True, slots=True)
class Control:
    """What makes a poster a document of the department: whose, which, until when."""

    owner: str = ""
    number: str = ""
    valid_until: date | None = None

    @property
    def not_set(self) -> tuple[str, ...]:
        """Which of the three the department has not set."""
        values = {"owner": self.owner, "number": self.number, "valid until": self.valid_until}
        return tuple(name for name, value in values.items() if not value)

    @property
    def words(self) -> tuple[str, str, str]:
        """The three as they stand on the poster.

        >>> Control("Sterile Processing", "SP-W-1", date(2026, 3, 6)).words
        ('Owner: Sterile Processing', 'No. SP-W-1', 'Valid until 6 Mar 2026')
        >>> Control().words[2]
        'Valid until: not set'
        """
        until = day_words(self.valid_until) if self.valid_until else ""
        return (
            f"Owner: {self.owner or NOT_SET}",
            f"No. {self.number}" if self.number else f"No.: {NOT_SET}",
            f"Valid until {until}" if until else f"Valid until: {NOT_SET}",
        )

    def overdue(self, today: date) -> bool:
        """Whether it has run out: its last day counts as valid."""
        return self.valid_until is not None and self.valid_until < today

    def state(self, today: date) -> str:
        """How it stands, in words.

        >>> Control("A", "1", date(2026, 3, 6)).state(date(2026, 3, 7))
        'overdue since 6 Mar 2026'
        >>> Control("A", "", date(2026, 3, 6)).state(date(2026, 3, 6))
        'number not set'
        """
        if self.valid_until and self.overdue(today):
            return f"overdue since {day_words(self.valid_until)}"
        if self.not_set:
            return f"{', '.join(self.not_set)} not set"
        assert self.valid_until
        soon = self.valid_until - today <= SOON
        return f"runs out on {day_words(self.valid_until)}" if soon else "in date"


@dataclass(frozen=True, slots=True)
class Poster:
    """One page for the wall. ``upright``: portrait, else landscape; ``columns`` of its drawings.

    ``notice`` is printed white on black: that it has run out. ``foot`` is small, for who
    stands before it.
    """

    key: str
    title: str
    panels: tuple[Panel, ...]
    columns: int
    facts: tuple[Fact, ...]
    upright: bool = False
    headline: str = ""
    figures: tuple[Figure, ...] = ()
    control: Control = Control()
    notice: str = ""
    foot: str = ""
