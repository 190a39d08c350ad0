"""Why a paper is not printed: what all papers share.

A document holds words and dates that somebody else has already decided on. It does not
look anything up, compute a weight or read a clock; ``reports.drawing`` turns it into a
PDF. Two equal documents give equal bytes.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


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


class NothingToPrint(Exception):  # noqa: N818
    """There is nothing that may be put on paper. Says why, for the person at the bench."""


@dataclass(frozen=True, slots=True)
class NotPrinted:
    """One of several papers that cannot be printed: its code, what it is of, and why."""

    code: str
    what: str
    why: str

    def __str__(self) -> str:
        return f"{self.code} {self.what}: {self.why.removeprefix('Not printed. ')}"


def refuse_blank(paper: str, needed: dict[str, str]) -> None:
    """MissingElement naming each element of ``needed`` that has no words."""
    missing = [element for element, words in needed.items() if not words.strip()]
    if missing:
        raise MissingElement(paper, missing)
