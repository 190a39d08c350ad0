"""Photographs of instruments for paper: read from where they are kept, made small.

A photograph is a help, never a condition: one that is missing on disk or cannot be read
leaves its line without a picture, and the paper says so.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import lru_cache

from django.core.exceptions import SuspiciousFileOperation
from django.core.files.storage import default_storage

from catalog.models import Instrument
from reports.drawing.pictures import NoPicture, made_small
from reports.drawing.sheets.parts import PHOTO_HEIGHT, PHOTO_WIDTH

KEPT = 512
"""Small pictures kept during a run, some ten kilobytes each: the same instruments come again."""
MOST_NAMED = 12


class Photos:
    """The photographs for one print run. ``unread`` holds the item numbers it failed on."""

    def __init__(self) -> None:
        self.unread: list[str] = []
        self._small = lru_cache(maxsize=KEPT)(_small)

    def of(self, instruments: Iterable[Instrument]) -> tuple[dict[str, bytes], list[str]]:
        """Small JPEG files by item number, and the item numbers whose file cannot be read.

        An instrument without a photograph on record is in neither.
        """
        files: dict[str, bytes] = {}
        unread: list[str] = []
        for instrument in instruments:
            number = instrument.item_number
            if not instrument.photo or number in files or number in unread:
                continue
            if small := self._small(instrument.photo):
                files[number] = small
            else:
                unread.append(number)
        self.unread += [number for number in unread if number not in self.unread]
        return files, unread


def unread_words(item_numbers: Sequence[str]) -> str:
    """Which photographs could not be read, for the paper and the page; blank for none.

    >>> unread_words(["HF-1042"])
    '1 photo could not be read, and its line is printed without: HF-1042.'
    """
    if not item_numbers:
        return ""
    named = ", ".join(item_numbers[:MOST_NAMED])
    more = len(item_numbers) - MOST_NAMED
    rest = f" and {more} more" if more > 0 else ""
    one = len(item_numbers) == 1
    photos, lines = ("photo", "its line is") if one else ("photos", "their lines are")
    return (
        f"{len(item_numbers)} {photos} could not be read, and {lines} printed without: "
        f"{named}{rest}."
    )


def _small(name: str) -> bytes:
    """The stored photograph ``name`` at the size of a count sheet; empty when it cannot be read."""
    try:
        with default_storage.open(name) as file:
            return made_small(file.read(), PHOTO_WIDTH, PHOTO_HEIGHT)
    except (OSError, NoPicture, SuspiciousFileOperation):
        return b""
