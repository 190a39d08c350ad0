"""Which way a line runs: its stretches as they stand from left to right.

A line runs from left to right, and each stretch of Arabic or Hebrew in it from right to left. A
line that begins with such a letter, or has no letters but such, runs from right to left as a
whole. Either way a stretch of figures and Latin words stays as it is ("0 of 1", "30 x 11 mm"): no
count is ever turned.
"""

from __future__ import annotations

import re

RIGHT = "\u0590-\u08ff\ufb1d-\ufdff\ufe70-\ufefc"
"""The blocks of Hebrew, Arabic and their neighbors, as a class of a regular expression."""
_OF_FIGURES = r"\d\u0609-\u060d\u061b\u061f\u066a-\u066d\u06d4"
"""What stands among those letters and turns no figure: Arabic figures, their points, marks."""
_R = rf"(?:(?![{_OF_FIGURES}])[{RIGHT}])"
_L = rf"(?:(?![{RIGHT}])\w|\d)"
_NO_R = rf"(?:(?![{RIGHT}])[\s\S]|[{_OF_FIGURES}])"
_NO_LATIN = rf"(?:[{RIGHT}]|\d|\W)"
_FROM_THE_RIGHT = re.compile(_R)
_LEFTWARD = re.compile(rf"{_R}(?:{_NO_LATIN}*{_R})?")
_RIGHTWARD = re.compile(rf"{_L}(?:{_NO_R}*{_L})?[%‰°]*")
_BEGINS = re.compile(rf"[\W_]*{_R}|(?:[{RIGHT}]|[\W\d_])*$")


def stretches(line: str) -> list[tuple[str, bool]]:
    """What stands on a line from left to right: each stretch as it is read, and whether it runs
    from right to left.

    >>> stretches("Kocher 18 cm")
    [('Kocher 18 cm', False)]
    >>> stretches("MISSING 1 אב (0 of 1)")
    [('MISSING 1 ', False), ('אב', True), (' (0 of 1)', False)]
    >>> stretches("אב 0 of 1")
    [('0 of 1', False), ('אב ', True)]
    >>> stretches("אב ٣٫٥")
    [('٣٫٥', False), ('אב ', True)]
    >>> stretches("14 אב")
    [(' אב', True), ('14', False)]
    """
    if not _FROM_THE_RIGHT.search(line):
        return [(line, False)]
    if _BEGINS.match(line):
        return _leftward(line)
    found: list[tuple[str, bool]] = []
    end = 0
    for match in _LEFTWARD.finditer(line):
        found += [(line[end : match.start()], False), *_leftward(match[0])]
        end = match.end()
    return [pair for pair in (*found, (line[end:], False)) if pair[0]]


def _leftward(words: str) -> list[tuple[str, bool]]:
    """Words that run from right to left, but for the figures and Latin words in them."""
    found: list[tuple[str, bool]] = []
    end = 0
    for match in _RIGHTWARD.finditer(words):
        start, before, end = match.start(), end, match.end()
        if words[end : end + 1] == ")" and match[0].count("(") > match[0].count(")"):
            end += 1
        found += [(words[before:start], True), (words[start:end], False)]
    return [pair for pair in reversed((*found, (words[end:], True))) if pair[0]]
