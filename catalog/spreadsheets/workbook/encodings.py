"""From the bytes of a text table to its text: the encoding told by its form, by the words that it
makes of the bytes, or asked.

UTF-8 and UTF-16 are told by their form. Of the encodings with one byte a character, one is taken
where it alone makes text that people write (``alphabets``); where several do, or none, the person
is asked, and shown how one cell reads in each. charset-normalizer says which is likeliest, and
knows alphabets that are none of the nine languages'.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import islice

import charset_normalizer

from catalog.spreadsheets.workbook.alphabets import is_natural, mixes_alphabets, tokens_of
from catalog.spreadsheets.workbook.safety import UnsafeFileError

ENCODINGS = {
    "utf-8": "UTF-8",
    "cp1252": "Western European, Windows",
    "cp1250": "Central European, Windows",
    "cp850": "Western European, DOS",
    "mac-roman": "Western European, old Mac",
    "cp852": "Central European, DOS",
    "iso8859-2": "Central European, ISO 8859-2",
    "utf-16-le": "UTF-16",
    "utf-16-be": "UTF-16, big-endian",
}
"""The encodings by the name that the command takes, and what people call them."""
ONE_BYTE = ("cp1252", "cp1250", "cp850", "mac-roman")
"""Those that are tried where a file is neither UTF-8 nor UTF-16."""
ALSO_OFFERED = ("cp852", "iso8859-2")
"""Those that a person may choose, too, where none of the former makes text."""
LOOKED_AT = 300
"""Cells with characters beyond ASCII among which the one to show is found."""
MOST_SHOWN = 3
LONGEST_SHOWN = 40
GUESSED_FROM = 32_768
"""Bytes of such cells that charset-normalizer is given."""
LEAST_ASCII = 0.25
"""Share of characters below 256 by which UTF-16 without its mark is told (ours)."""

_CELL = re.compile(rb'[^,;|\t\r\n"]*[\x80-\xff][^,;|\t\r\n"]*')
_LINE_END = re.compile(b"\r\n|\r|\n")
_NO_TEXT = re.compile("[\x00-\x08\x0e-\x1f]")


@dataclass(frozen=True, slots=True)
class Reading:
    """How a text table reads in one encoding: what up to three cells say, the first in ``row``."""

    encoding: str
    title: str
    shown: tuple[str, ...]
    row: int


@dataclass(frozen=True, slots=True)
class Decoded:
    """The text; or "" where nobody can tell and ``readings`` has more than one to choose from.

    ``readings`` begins with the encoding taken, or with the likeliest. It is empty for ASCII,
    UTF-16 and where UTF-8 is sure.
    """

    text: str
    readings: tuple[Reading, ...] = ()


def decoded(data: bytes, said: str = "") -> Decoded:
    """The text of ``data``, in the encoding that a person ``said``, if any.

    UnsafeFileError where the bytes are no text in it, or in none.

    >>> decoded("Länge;Größe".encode("cp1252")).text
    'Länge;Größe'
    """
    if said:
        return _as_said(data, said)
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return Decoded(_text_or_refused(data, "utf-16"))
    if b"\x00" in data:
        return Decoded(_wide(data))
    if data.isascii():
        return Decoded(data.decode("ascii"))
    utf8 = _read(data, "utf-8-sig")
    if utf8 is not None and not mixes_alphabets(utf8):
        return Decoded(utf8)
    texts = {name: text for name in ONE_BYTE if (text := _read(data, name)) is not None}
    natural = [name for name, text in texts.items() if is_natural(tokens_of(text), name)]
    if utf8 is not None and not natural:
        return Decoded(utf8)
    if utf8 is None and len({texts[name] for name in natural}) == 1:
        return Decoded(texts[natural[0]], tuple(_readings(data, natural[0])))
    likeliest = _likeliest(data, natural or texts)
    likeliest = next((n for n in natural if texts[n] == texts.get(likeliest)), likeliest)
    first = ["utf-8"] if utf8 is not None else []
    return Decoded("", tuple(_readings(data, *first, likeliest, *natural)))


def _as_said(data: bytes, said: str) -> Decoded:
    try:
        text = data.decode(said).removeprefix("\ufeff")
    except (UnicodeError, LookupError) as error:
        title = ENCODINGS.get(said, said)
        raise UnsafeFileError(
            "wrong_encoding", f"The file is not written in {title} ({said}). Choose another."
        ) from error
    if "\x00" in text:
        raise _no_text()
    one_byte = b"\x00" not in data and not data.isascii()
    return Decoded(text, tuple(_readings(data, said)) if one_byte else ())


def _read(data: bytes, encoding: str) -> str | None:
    try:
        return data.decode(encoding)
    except UnicodeDecodeError:
        return None


def _text_or_refused(data: bytes, encoding: str) -> str:
    text = _read(data, encoding)
    if text is None or "\x00" in text:
        raise _no_text()
    return text


def _wide(data: bytes) -> str:
    """UTF-16 without its mark: every second byte of its plain letters is zero."""
    even, odd = data[0::2].count(0), data[1::2].count(0)
    encoding, zeros = ("utf-16-le", odd) if odd > even else ("utf-16-be", even)
    text = _read(data, encoding)
    if text is None or zeros < LEAST_ASCII * len(text) or _NO_TEXT.search(text):
        raise _no_text()
    return text


def _no_text() -> UnsafeFileError:
    return UnsafeFileError(
        "not_a_spreadsheet", "This is neither a workbook nor a text table. Save it as .xlsx."
    )


def _likeliest(data: bytes, among: Sequence[str] | dict[str, str]) -> str:
    """The likeliest of them; where none makes text, of all that charset-normalizer knows."""
    sample = b"\n".join(islice(_cells(data), GUESSED_FROM // LONGEST_SHOWN))[:GUESSED_FROM]
    only = list(among) if isinstance(among, list) and among else None
    match = charset_normalizer.from_bytes(sample, cp_isolation=only).best()
    found = "" if match is None else match.encoding.replace("mac_roman", "mac-roman")
    return found if found and _read(data, found) is not None else next(iter(among))


def _cells(data: bytes) -> Iterator[bytes]:
    return (found[0].strip() for found in _CELL.finditer(data))


def _readings(data: bytes, *first: str) -> Iterator[Reading]:
    """How the cells that tell most read in ``first`` and then in all others; each text once."""
    texts: dict[int, str] = {}
    for name in dict.fromkeys([*first, *ONE_BYTE, *ALSO_OFFERED]):
        text = _read(data, name)
        if text is not None:
            texts.setdefault(hash(text), name)
    names = list(texts.values())
    cells = _telling(list(islice(_CELL.finditer(data), LOOKED_AT)), names, len(first))
    row = len(_LINE_END.findall(data, 0, cells[0].start())) + 1
    for name in names:
        shown = tuple(_cut(cell[0].decode(name, "replace").strip()) for cell in cells)
        yield Reading(name, ENCODINGS.get(name, name), shown, row)


def _telling(
    cells: list[re.Match[bytes]], names: Sequence[str], first: int
) -> list[re.Match[bytes]]:
    """Up to three cells by which the ``first`` encodings, then all, are told apart best."""
    taken: list[re.Match[bytes]] = []

    def differences(cell: re.Match[bytes]) -> tuple[int, int]:
        told = [tuple(each[0].decode(name, "replace") for each in [*taken, cell]) for name in names]
        return len(set(told[:first])), len(set(told))

    most = (0, 0)
    while len(taken) < MOST_SHOWN:
        best = max(cells, key=differences)
        if differences(best) <= most:
            break
        most = differences(best)
        taken.append(best)
    return taken


def _cut(text: str) -> str:
    """The part of a long cell that has the first character beyond ASCII."""
    at = next((place for place, mark in enumerate(text) if not mark.isascii()), 0)
    start = max(0, min(at - LONGEST_SHOWN // 2, len(text) - LONGEST_SHOWN))
    return text[start : start + LONGEST_SHOWN]
