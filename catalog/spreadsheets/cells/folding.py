"""Numbers and names as they are compared: without what makes no difference."""

from __future__ import annotations

import unicodedata

from catalog.units import tidy


def folded_number(number: str) -> str:
    """An item number without what nobody sees: case, spaces, width, kinds of dashes, a last point.
    Two that differ in these only are the same.

    >>> folded_number("hf 1000 ") == folded_number("ＨＦ\u200b1000.")
    True
    """
    if not number.isascii():
        number = tidy("".join(mark for mark in number if unicodedata.category(mark) != "Cf"))
    return "".join(number.split()).casefold().rstrip(".")


def folded_words(text: str) -> str:
    """A name for comparing: one space between words, no capitals."""
    return " ".join(text.casefold().split())
