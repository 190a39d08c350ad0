"""Cards as plain data: one page to work by, to hang on the wall, or to sign."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from assembly.rules.days import time_words
from assembly.rules.drawing.shapes import Scene
from reports.documents.papers import MissingElement

Mark = Literal["number", "box", "dash"]


@dataclass(frozen=True, slots=True)
class Item:
    """One step or check; ``word`` stands bold before it, ``then`` under it (what to do if not)."""

    words: str
    then: str = ""
    word: str = ""


@dataclass(frozen=True, slots=True)
class CardSection:
    """Items under a heading, each numbered, with a box to tick, or after a dash.

    ``columns`` are the headings of ruled cells after each item, such as "seen" or "not yet".
    """

    heading: str
    items: tuple[Item, ...]
    mark: Mark = "dash"
    columns: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Card:
    """A page, ready to be drawn. MissingElement unless it has a title and something to say.

    ``headline`` is printed large under the title, ``loud`` white on black. ``sources`` are
    printed small, each once; those of ``on_screen`` stand on the page beside it and not on the
    paper. ``fields`` are ruled lines to fill in or sign. ``control`` is whose document it is,
    which one and until when, on what hangs on a wall.
    """

    title: str
    sections: tuple[CardSection, ...]
    foot: str
    code: str = ""
    headline: str = ""
    loud: str = ""
    scenes: tuple[Scene, ...] = ()
    scene_note: str = ""
    sources: tuple[str, ...] = ()
    on_screen: tuple[str, ...] = ()
    fields: tuple[str, ...] = ()
    control: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        said = any(section.items for section in self.sections)
        needed = {"its title": bool(self.title.strip()), "at least one step or check": said}
        if missing := [name for name, given in needed.items() if not given]:
            raise MissingElement("card", missing)


def each_once(sources: Iterable[str]) -> tuple[str, ...]:
    """Sources in order, each once; several in one text are told apart by a semicolon.

    >>> each_once(["ISO 16775; common practice", "common practice", ""])
    ('ISO 16775', 'common practice')
    """
    parts = (part.strip() for source in sources for part in source.split(";"))
    return tuple(dict.fromkeys(part for part in parts if part))


def made_words(what: str, moment: datetime, by: str) -> str:
    """The foot of a card: from what it was made, when and by whom.

    >>> made_words("Policy 4af1", datetime(2026, 3, 6, 14, 5), "T. Birkett")
    'Policy 4af1. Printed 6 Mar 2026, 14:05 by T. Birkett.'
    """
    return f"{what}. Printed {time_words(moment)} by {by}."
