"""Is this text that people write? Asked of a text table read in one encoding after another.

Each byte is some character in every encoding of one byte a character. Read in the wrong one, a
letter becomes a sign in the middle of a word (“no¿yczki”), a capital among small letters, or a
letter that no language has beside the others. What is asked here is therefore whether each word
can be one of the nine languages, and whether signs stand where signs stand. The rules are wide:
a reading that people write is never turned down, one that they do not may pass, and then the
person is asked. The alphabets are those of the languages' own spelling rules; where a letter may
stand is spelling, too (Polish writes ń only where no vowel follows, Spanish ñ only before one).
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Mapping

ALPHABETS: Mapping[str, frozenset[str]] = {
    language: frozenset(letters)
    for language, letters in {
        "English": "éèêëïöñçâôü",
        "German": "äöüß",
        "French": "àâæçéèêëîïôœùûÿ",
        "Dutch": "áçéèêëíïóöúü",
        "Spanish": "áéíóúüñ",
        "Italian": "àéèìòù",
        "Portuguese": "áàâãçéêíóôõúü",
        "Swedish": "åäöéà",
        "Polish": "ąćęłńóśźż",
    }.items()
}
"""The letters of each language beyond a to z."""
DANISH = frozenset("æøå")
"""Of a neighbor who writes with the Western alphabet of Windows: asked about, never Polish."""
STAND_ALONE = frozenset("àáåäèéíóöú")
"""Letters beyond a to z that are a word by themselves."""
DIAMETER = "øØ"
VOWELS = "aeiouyàáâãäåæèéêëìíîïòóôõöøùúûüąęœ"

_CONTEXT: Mapping[str, re.Pattern[str]] = {
    letter: re.compile(pattern)
    for letters, pattern in {
        "ñ": f".*ñ[{VOWELS}]",
        "õ": ".*õe",
        "ç": f".*ç(?:[{VOWELS}]|$)",
        "ćńśź": f"(?!.*(?:[ćńś]|(?<!d)ź)[{VOWELS}])",
        "ąę": f"(?![ąę])(?!.*[ąę][{VOWELS}])",
        "àìòù": "[àìòù]|.*[àìòù]s?$",
        "è": f"(?!.*è[{VOWELS}])",
        "îû": f"(?!.*[îû][{VOWELS}])",
        "ï": f".*[{VOWELS}]ï",
        "ÿ": f".*[{VOWELS}]ÿ",
        "œ": ".*œ[uidsntcl]",
        "ß": f".*[{VOWELS}]ß",
    }.items()
    for letter in letters
}
"""A letter to where it stands in a word in small letters."""

_ANYWHERE = "–—\u00ad"
_APOSTROPHES = "’"
_OPENING = "«„¿¡‘"
_CLOSING = "»”"
_FOOTNOTES, _TYPED_APOSTROPHE = "†‡", "´"
_WINDOWS_ONLY = _FOOTNOTES + _TYPED_APOSTROPHE
"""Signs that are letters of the old machines' alphabets, and rare in their texts."""
_SIGNS: Mapping[str, re.Pattern[str]] = {
    sign: re.compile(pattern)
    for signs, pattern in {
        _ANYWHERE: "",
        _APOSTROPHES + _TYPED_APOSTROPHE: "[ld]|..[ld]",
        _OPENING: "[^ld].[ld ]",
        _CLOSING: "(?!l.l)(?! .[ld])",
        "“": "(?!l.l)",
        "°": "[^l].[^d]",
        "½¼¾": "[^l]",
        "ºª": "[^l]|l.[^l]",
        "™®©": "..[^l]",
        "²³¹": "[ld].[^l]",
        "•·§": "[^l]",
        "…": "..[^l]",
        "×": "[^l]|..[^l]",
        "±÷": "[^l].[^l]",
        "≥≤≈": "..[^l]",
        "µ": "[^l].l",
        "€£": "[^l].[^l]",
        _FOOTNOTES: "..[^l]",
    }.items()
    for sign in signs
}
"""A sign to what stands before and after it: l a letter, d a digit, space nothing, - another
sign; the sign itself is the dot between them."""
_NO_LETTERS = "ªºµ"
ACCENTS = ("\u0300", "\u036f")
"""Marks that stand over the letter before them (Unicode: combining diacritical marks)."""
_TOKEN = re.compile(r'[^\s,;|"]*[^\x00-\x7f\s][^\s,;|"]*')


def tokens_of(text: str) -> set[str]:
    """The different words, with the signs at them, that have characters beyond ASCII."""
    return set(_TOKEN.findall(text))


def is_natural(tokens: Iterable[str], encoding: str) -> bool:
    """Whether each of :func:`tokens_of` a text can be written so.

    >>> is_natural({"nożyczki"}, "cp1250"), is_natural({"no¿yczki"}, "cp1252")
    (True, False)
    """
    western, windows = encoding == "cp1252", encoding.startswith("cp125")
    return all(_is_natural(token, western, windows) for token in tokens)


def _is_natural(token: str, western: bool, windows: bool) -> bool:
    for place, mark in enumerate(token):
        if mark.isascii() or _is_letter(mark):
            continue
        around = f"{_kind(token[:place][-1:])}.{_kind(token[place + 1 : place + 2])}"
        rule = _SIGNS.get(mark)
        if rule is None or not rule.match(around) or (mark in _WINDOWS_ONLY and not windows):
            return False
    return all(_is_word(token, found, western) for found in _runs(token))


def _runs(token: str) -> list[tuple[int, int]]:
    """Where runs of letters begin and end that have a letter beyond a to z."""
    runs, start = [], None
    for place, mark in enumerate([*token, " "]):
        if _is_letter(mark):
            start = place if start is None else start
        elif start is not None:
            if not token[start:place].isascii():
                runs.append((start, place))
            start = None
    return runs


def _is_word(token: str, run: tuple[int, int], western: bool) -> bool:
    word = token[run[0] : run[1]]
    before, after = token[: run[0]][-1:], token[run[1] :][:1]
    small = word.lower()
    if word in DIAMETER:
        return not before.isdigit()
    if (before.isdigit() and not word[0].isascii()) or (after.isdigit() and not word[-1].isascii()):
        return False
    if len(word) == 1:
        return small in STAND_ALONE
    beyond = {letter for letter in small if not letter.isascii()}
    alphabets = [*ALPHABETS.values(), *([DANISH] if western else [])]
    return (
        any(beyond <= alphabet for alphabet in alphabets)
        and all(_CONTEXT[letter].match(small) for letter in beyond if letter in _CONTEXT)
        and _has_its_case(word)
    )


def _has_its_case(word: str) -> bool:
    """No letter beyond a to z is a capital after a small one, or small between capitals."""
    for place, letter in enumerate(word):
        if letter.isascii() or letter == "ß":
            continue
        before, after = word[:place], word[place + 1 : place + 2]
        if letter.isupper():
            if before and (before[-1].islower() or (after.islower() and after != "ß")):
                return False
        elif after.isupper() or (len(before) > 1 and before[-2:].isupper()):
            return False
    return True


def _kind(mark: str) -> str:
    if not mark:
        return " "
    return "d" if mark.isdigit() else "l" if _is_letter(mark) else "-"


def _is_letter(mark: str) -> bool:
    return mark.isalpha() and mark not in _NO_LETTERS


def mixes_alphabets(text: str) -> bool:
    """Whether a word has a Latin letter beside one of another alphabet, or what is no sign at all.

    >>> mixes_alphabets("Größe Ножницы"), mixes_alphabets("PR\u04efNIA")
    (False, True)
    """
    return any(
        not _is_latin(one) and (_is_latin(before) or _is_latin(after))
        for token in tokens_of(text)
        for before, one, after in zip(" " + token[:-1], token, token[1:] + " ", strict=True)
        if unicodedata.category(one)[0] in "LMC" and not ACCENTS[0] <= one <= ACCENTS[1]
    )


def _is_latin(mark: str) -> bool:
    plain = mark <= "\u017f" or "\u0218" <= mark <= "\u021b" or "\u1e00" <= mark <= "\u1eff"
    return plain and _is_letter(mark)
