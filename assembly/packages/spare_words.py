"""What the pages say about loose spares that are packed or put into sets."""

from __future__ import annotations


def spares_wrong(on_record: int, taken: int, verb: str) -> str:
    """Fewer were on record than were taken: the record is wrong, and what to do.

    >>> spares_wrong(1, 2, "packed")
    'The record had 1 loose spare, you packed 2: count the spares.'
    """
    spares = "1 loose spare" if on_record == 1 else f"{on_record} loose spares"
    return f"The record had {spares}, you {verb} {taken}: count the spares."
