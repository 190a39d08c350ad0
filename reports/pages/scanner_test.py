"""The test of a department's scanners: two codes whose content is known, and the verdict.

The GS1 code holds a separator and the characters that keyboard layouts move; the plain
code holds the ones that HIBC needs and a GS1 code may not hold. What to change in a
scanner is common practice; the separator's ways of arriving are from public reports of
keyboard scanners, and none was tried on a real one here.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial

from assembly.rules.findings import Status
from catalog.scans.gs1 import GS
from catalog.scans.scanning import stand_in_problem

HEAD = "0109501101530003" + "10" + "AZ-qwym/+_"
TAIL = "21" + "Test;7"
GS1_ELEMENTS = "[01]09501101530003[10]AZ-qwym/+_[21]Test;7"
PLAIN = "Test AZqwym +$/%.-]"
MARK_LENGTH = 3
LONGEST_STAND_IN = 8
ENOUGH_ALIKE = 0.5


@dataclass(frozen=True, slots=True)
class Point:
    """One question about a scanner: its state, the answer in words, what to change."""

    title: str
    status: Status
    words: str
    change: str = ""


@dataclass(frozen=True, slots=True)
class _Fit:
    """One way to lay what arrived over what the code holds."""

    mark: str
    separator: str | None
    pairs: tuple[tuple[str, str], ...]

    @property
    def alike(self) -> float:
        return sum(a.lower() == b.lower() for a, b in self.pairs) / len(self.pairs)


def judge(raw: str, ended: str, stand_in: str | None) -> tuple[Point, ...]:
    """The verdict on one scan of either code; ``ended`` as ``scan.js`` reports it.

    Empty when what arrived is neither code: another code, or half of one.
    """
    text = raw.strip("\r\n\t")
    fit = max(_fits(text), key=lambda fit: fit.alike, default=None)
    if fit is None or fit.alike < ENOUGH_ALIKE:
        return ()
    layout = _layout(fit)
    return (_mark(fit, layout), _separator(fit, stand_in), layout, _end(ended))


def _fits(text: str) -> Iterator[_Fit]:
    for length in (0, MARK_LENGTH):
        mark, rest = text[:length], text[length:]
        between = len(rest) - len(HEAD) - len(TAIL)
        if 0 <= between <= LONGEST_STAND_IN:
            head, tail = rest[: len(HEAD)], rest[len(HEAD) + between :]
            pairs = zip(HEAD + TAIL, head + tail, strict=True)
            yield _Fit(mark, rest[len(HEAD) : len(HEAD) + between], tuple(pairs))
        if len(rest) == len(PLAIN):
            yield _Fit(mark, None, tuple(zip(PLAIN, rest, strict=True)))


def _mark(fit: _Fit, layout: Point) -> Point:
    title, expected = "Mark of the kind of code", "]d1" if fit.separator is None else "]d2"
    wrong = partial(Point, title, Status.NOT_MET)
    if fit.mark == expected:
        return Point(title, Status.MET, f"It arrived: {fit.mark}.")
    if not fit.mark:
        return wrong(
            "It was not sent.",
            "Switch on “transmit AIM code identifier” (symbology identifier) for all codes.",
        )
    if layout.status is Status.MET and fit.mark[0] == "]":
        change = "Scan the code on this page, not a copy made elsewhere."
    else:
        change = "Set the keyboard layout first; if it stays wrong, take other prefixes away."
    return wrong(f"{fit.mark} arrived and should be {expected}.", change)


def _separator(fit: _Fit, stand_in: str | None) -> Point:
    title, between = "Separator", fit.separator
    wrong = partial(Point, title, Status.NOT_MET)
    if between is None:
        return Point(title, Status.DOES_NOT_APPLY, "The plain code has none.")
    if between == GS:
        return Point(title, Status.MET, "It arrived as itself (GS).")
    if not between:
        return wrong(
            "It was lost: the lot and the serial run together, and nobody can part them.",
            "Let the scanner send GS as Ctrl+], or replace GS (ASCII 29) by | and set "
            "SCANNER_SEPARATOR=| on the server.",
        )
    if between == stand_in:
        return Point(title, Status.MET, f"{between} stood in for it, as the server expects.")
    if problem := stand_in_problem(between):
        return wrong(f"“{between}” stood in for it.", problem)
    return wrong(
        f"{between} stood in for it, and the server does not expect that.",
        f"Set SCANNER_SEPARATOR={between} on the server, or let the scanner send Ctrl+].",
    )


def _layout(fit: _Fit) -> Point:
    title = "Keyboard layout"
    wrong = partial(Point, title, Status.NOT_MET)
    others = dict.fromkeys(pair for pair in fit.pairs if pair[0] != pair[1])
    if not others:
        return Point(title, Status.MET, "Every character arrived as it is in the code.")
    if all(a.swapcase() == b for a, b in others):
        return wrong("Capital and small letters changed places.",
                     "Switch Caps Lock off, or set the scanner to ignore it.")  # fmt: skip
    said = ", ".join(f"{a} arrived as {b}" for a, b in others)
    return wrong(
        f"{said}.",
        "Set the scanner's keyboard layout (country) to the one of this computer.",
    )


def _end(ended: str) -> Point:
    title = "Enter at the end"
    if ended == "enter":
        return Point(title, Status.MET, "It was sent.")
    change = "Set the scanner's suffix to Enter (carriage return, CR)."
    if ended == "tab":
        return Point(title, Status.NOT_MET, "Tab was sent in its place.", change)
    if ended == "nothing":
        return Point(title, Status.NOT_MET, "Nothing was sent.", change)
    return Point(
        title,
        Status.CANNOT_TELL,
        "This was typed or pasted, or the page's script did not run.",
        "Scan with the scanner, without touching the keyboard.",
    )
