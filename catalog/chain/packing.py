"""A seal's entries as bytes, and the text of which its digest is made.

Entries stand in groups of one form; in a group by their ids. A seal as they came keeps four bytes
of each entry's digest, enough to say which entry was changed: the seal's own digest is made of
all 32. Of what was let go or written anew it keeps both digests, before and after (zeros: it is
gone).

The digest of a seal is the SHA-256 of lines, each ended by a line feed: the digest of the seal
before (64 zeros before the first), ``[number,"moment","why"]`` as in
:mod:`catalog.chain.entries`, then one for each entry: its digest; or ``TABLE ID BEFORE AFTER``
where some were let go or written anew. Digests are written in 64 small hexadecimal digits."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from datetime import datetime
from hashlib import sha256

from catalog.chain.entries import value_text

KEPT, BOTH = 4, 64
"""Bytes kept of an entry: of its digest, or of both digests of what was let go or written anew."""
NOTHING = bytes(32)
"""The digest before the first seal, and that of what is gone."""
Groups = Mapping[int, Iterable[tuple[int, bytes]]]


def packed(groups: Groups) -> bytes:
    """Forms with their entries, each its id and its bytes, all equally long; ids in order.

    >>> packed({3: [(5, b"abcd"), (300, b"efgh")]})
    b'\\x03\\x02\\x05abcd\\xa7\\x02efgh'
    """
    out = bytearray()
    for form, entries in groups.items():
        rows, last = list(entries), 0
        _write(out, form)
        _write(out, len(rows))
        for pk, kept in rows:
            _write(out, pk - last)
            out += kept
            last = pk
    return bytes(out)


def unpacked(found: bytes, width: int) -> Iterator[tuple[int, int, bytes]]:
    """Form, id and bytes of each entry. ValueError where it cannot be read.

    >>> list(unpacked(packed({3: [(5, b"abcd"), (300, b"efgh")]}), 4))
    [(3, 5, b'abcd'), (3, 300, b'efgh')]
    """
    at = 0
    try:
        while at < len(found):
            form, at = _read(found, at)
            count, at = _read(found, at)
            pk = 0
            for _ in range(count):
                more, at = _read(found, at)
                pk += more
                yield form, pk, found[at : at + width]
                at += width
    except IndexError:
        at = -1
    if at != len(found):
        raise ValueError("a seal whose entries cannot be read")


def digest_of(before: bytes, number: int, at: datetime, why: str, entries: Iterable[str]) -> bytes:
    """The digest of a seal; ``entries`` are its lines."""
    head = f"[{number},{value_text(at)},{value_text(why)}]"
    text = "\n".join([before.hex(), head, *entries, ""])
    return sha256(text.encode()).digest()


def _write(out: bytearray, number: int) -> None:
    """Seven bits a byte, the lowest first; the eighth says that more follow."""
    while number > 127:
        out.append(number & 127 | 128)
        number >>= 7
    out.append(number)


def _read(found: bytes, at: int) -> tuple[int, int]:
    number = shift = 0
    while (byte := found[at]) > 127:
        number |= (byte & 127) << shift
        shift += 7
        at += 1
    return number | byte << shift, at + 1
