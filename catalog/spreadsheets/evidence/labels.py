"""Labels such as "Sieb-Nr.:" above a count sheet, by the stems of their words and by their shape.

A label is made of words that mean a set, a number, a name, or a list of contents, and of no
others; the value beside it tells whether a bare "Set:" gives its number or its name.
"""

from __future__ import annotations

import re

from catalog.spreadsheets.columns.column import MAX_HEADING, fold_heading
from catalog.spreadsheets.columns.sets import SET_LABELS
from catalog.spreadsheets.evidence.headings import A_WORD, SET_WORDS, STEMS, word_score, words_of

_OF_SETS = STEMS["set_code"] & STEMS["set_name"]
_NUMBER = STEMS["set_code"] - _OF_SETS
_NAME = STEMS["set_name"] - _OF_SETS
_CONTENTS = frozenset({
    "contents", "content", "count", "sheet", "list", "checklist", "instrument", "instruments",
    "inhalt", "liste", "packliste", "contenu", "composition", "inhoud", "lijst", "contenido",
    "lista", "contenuto", "elenco", "conteudo", "innehall", "zawartosc", "spis",
})  # fmt: skip
"""Words of a label that say nothing more: what stands there is a list of a set's contents."""
_CODE = re.compile(r"(?=[^\s]*[0-9])[^\W_][\w./-]{0,19}$")
_LETTERS_AND_DIGITS = r"[A-Z]{1,6}(?:[-./][0-9]{1,6}|[0-9]{2,6})[A-Z]?"
_NUMBER_AT_THE_END = re.compile(rf"(.*[^\W_].*?)\s*[(\[]\s*({_LETTERS_AND_DIGITS})\s*[)\]]")
_NUMBER_FIRST = re.compile(rf"({_LETTERS_AND_DIGITS})\s*[-:,]?\s+([^\W\d_].*)")


def label_of(text: str, value: str) -> str | None:
    """Which label a text is, beside ``value``; None when it is none.

    >>> label_of("Siebnummer", "S-11"), label_of("Netnaam:", "Buik"), label_of("Sieb", "Grundsieb")
    ('set_code', 'set_name', 'set_name')
    >>> label_of("Tray", "T-01"), label_of("Set weight", "4 kg"), label_of("Packed by", "Kim")
    ('set_code', None, None)
    """
    folded = fold_heading(text)
    if not folded or len(text) > MAX_HEADING or not value.strip():
        return None
    words = words_of(text)
    of_a_set = [word for word in words if not _among(word, _CONTENTS)]
    if all(_among(word, SET_WORDS | _NUMBER | _NAME) for word in of_a_set) and of_a_set:
        return _of_the_set(of_a_set, value)
    for key, declared in SET_LABELS.items():
        if folded in declared or all(_among(word, STEMS[key]) for word in words):
            return key
    return None


def _of_the_set(words: list[str], value: str) -> str | None:
    named = any(_among(word, SET_WORDS) for word in words)
    if any(_among(word, _NUMBER) for word in words):
        return "set_code" if named or is_code(value) else None
    if any(_among(word, _NAME) for word in words):
        return "set_name"
    if re.fullmatch("[0-9]{1,2}", value.strip()):
        return None  # A line, such as one tray.
    return "set_code" if is_code(value) else "set_name"


def _among(word: str, stems: frozenset[str]) -> bool:
    return word_score(word, stems) >= A_WORD


def is_code(text: str) -> bool:
    """Whether a text is a number such as T-01: one word with a digit in it.

    >>> is_code("S-11"), is_code("Major set 2")
    (True, False)
    """
    return _CODE.match(text.strip()) is not None


def only_says_contents(text: str) -> bool:
    """Whether a title says no more than that it heads a list, as "COUNT SHEET" does."""
    return all(_among(word, _CONTENTS) for word in words_of(text))


def name_and_number(text: str, labelled: bool) -> tuple[str, str]:
    """The name and the number of a set that stand in one text; no number where none is sure.

    >>> name_and_number("Major laparotomy (T-01)", False), name_and_number("T-01 Major", True)
    (('Major laparotomy', 'T-01'), ('Major', 'T-01'))
    >>> name_and_number("T-01 Major", False)
    ('T-01 Major', '')
    """
    text = " ".join(text.split())
    if found := _NUMBER_AT_THE_END.fullmatch(text):
        return found[1], found[2]
    if labelled and (found := _NUMBER_FIRST.fullmatch(text)):
        return found[2], found[1]
    return text, ""


def name_in_file_name(stem: str) -> str:
    """The set's name in a file's name: without numbers before it and words for "contents".

    >>> name_in_file_name("L01 Contents - Hernia set"), name_in_file_name("major_set (2)")
    ('Hernia set', 'major set')
    """
    text = re.sub(r"\s*\([0-9]+\)$", "", stem.replace("_", " "))
    words = text.split()
    while words and (not re.search(r"[^\W\d_]", words[0]) or is_code(words[0])
                     or only_says_contents(words[0])):  # fmt: skip
        words.pop(0)
    return " ".join(words) or text.strip()
