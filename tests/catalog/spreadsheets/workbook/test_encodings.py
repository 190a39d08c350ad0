"""A text table in whatever encoding: it comes back as it was written, or somebody is asked.

The words are those of lists of instruments in nine languages; the encodings are Python's own.
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalog.spreadsheets.workbook.encodings import ENCODINGS
from catalog.spreadsheets.workbook.reading import Workbook, read_workbook

WORDS = {
    "English": "naïve café Mayo’s Babcock–Hegar façade 5½ 25° Noël",
    "German": "Länge Größe Höhe Gefäß Knochensäge Öse Löffel groß Führungsdraht Schädel Nähen "
    "Türkis fünf Bügel Ösen Maß für Stück Zähnchen Ährenform Überwurf stumpfspitz-größer",
    "French": "Écarteur pièce tête à disséquer Désignation Référence Épaisseur forêt aiguë sœur "
    "crânien ôter naïf où maïs reçu leçon côté mèche cœlio œil droit-coudé Élévateur bêche clé",
    "Dutch": "geïsoleerd coëfficiënt één patiënt crème ruïne reünie zoölogie België scène één-weg",
    "Spanish": "tijera señal pequeña país niño fría cuchilla sección ángulo además según París "
    "longitud máxima ancho línea código número peña Español inglés jeringuilla gancho pingüino",
    "Italian": "lunghezza qualità quantità più perché però città larghezza capacità è così unità",
    "Portuguese": "tesoura pinça ação não põe limões coração mão irmã avô três último médio à "
    "código descrição comprimento máximo órgão maçã àquele júri público açúcar",
    "Swedish": "längd höjd bredd tång sax nål på böjd rak öppen ände Ål år spårad båge käke få",
    "Polish": "nożyczki łyżka igła ręczny ciężar próżniowy ostrość kość śruba ściągacz ćma koń "
    "zęby źrenica długość szerokość wysokość masa tępe kleszcze szczypce haczyk nić są prostą",
}
ONE_BYTE = ("cp1252", "cp1250", "cp850", "mac-roman")
UNICODE = ("utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be")


def table(words: list[str]) -> str:
    return "Item #;Name\r\n" + "".join(f"T-{n};{word}\r\n" for n, word in enumerate(words))


def names_in(workbook: Workbook) -> list[object]:
    return [row.at("B").value for row in workbook.sheets[0].rows[1:]]


def is_asked(workbook: Workbook) -> bool:
    return [problem.code for problem in workbook.problems] == ["which_encoding"]


def writable(words: list[str], encoding: str) -> bool:
    try:
        "".join(words).encode(encoding)
    except UnicodeEncodeError:
        return False
    return True


def words_of(language: str) -> st.SearchStrategy[list[str]]:
    every = WORDS[language].split()
    each = st.sampled_from([*every, *map(str.upper, every), *map(str.title, every)])
    return st.lists(each, min_size=1, max_size=6)


@given(
    words=st.sampled_from(sorted(WORDS)).flatmap(words_of),
    encoding=st.sampled_from([*ONE_BYTE, *UNICODE]),
)
def test_a_text_comes_back_as_it_was_or_is_asked_about(words: list[str], encoding: str) -> None:
    words = [word.replace("ẞ", "SS") for word in words]
    if not writable(words, encoding):
        return
    data = table(words).encode(encoding)
    workbook = read_workbook(data, "list.csv")
    if not is_asked(workbook):
        assert names_in(workbook) == words
        return
    offered = [each.encoding for each in workbook.readings]
    as_said = [names_in(read_workbook(data, "list.csv", name)) for name in offered]
    assert as_said.count(words) == 1


@pytest.mark.parametrize("language", sorted(WORDS))
@pytest.mark.parametrize("encoding", ["utf-8", "utf-16-le", "utf-16-be", *ONE_BYTE])
def test_a_list_of_many_words_is_not_asked_about(language: str, encoding: str) -> None:
    words = WORDS[language].split()
    if not writable(words, encoding):
        words = [word for word in words if writable([word], encoding)]
    workbook = read_workbook(table(words).encode(encoding), "list.csv")
    assert not is_asked(workbook), workbook.problems
    assert names_in(workbook) == words


def test_polish_letters_are_not_read_as_signs() -> None:
    data = table(["nożyczki łyżka"]).encode("cp1250")
    assert names_in(read_workbook(data, "list.csv")) == ["nożyczki łyżka"]


def test_what_fits_two_alphabets_is_asked_with_how_it_reads_in_each() -> None:
    workbook = read_workbook(table(["tępe"]).encode("cp1250"), "list.csv")
    shown = {each.encoding: each.shown for each in workbook.readings}
    assert (shown["cp1252"], shown["cp1250"]) == (("têpe",), ("tępe",))
    assert "têpe" in workbook.problems[0].message and "tępe" in workbook.problems[0].message


def test_the_row_of_what_is_shown_is_the_one_of_the_file() -> None:
    workbook = read_workbook(table(["plain", "tępe"]).encode("cp1250"), "list.csv")
    assert workbook.readings[0].row == 3


def test_readings_that_no_one_cell_tells_apart_show_more_cells() -> None:
    # In cp1252 and cp1250 the first differs, in cp1252 and cp850 the second.
    workbook = read_workbook(table(["groß", "tępe"]).encode("cp1250"), "list.csv")
    shown = [each.shown for each in workbook.readings]
    assert len(set(shown)) == len(shown)


def test_what_nobody_writes_in_any_of_them_is_asked() -> None:
    assert is_asked(read_workbook(table(["Ножницы"]).encode("cp1251"), "list.csv"))


def test_another_alphabet_is_offered_too() -> None:
    words = ["Ножницы прямые", "Зажим изогнутый", "Пинцет анатомический"] * 4
    workbook = read_workbook(table(words).encode("cp1251"), "list.csv")
    assert any("Ножницы" in " ".join(each.shown) or "Пинцет" in " ".join(each.shown)
               for each in workbook.readings)  # fmt: skip


def test_a_persons_word_is_taken() -> None:
    data = table(["tępe"]).encode("cp1250")
    workbook = read_workbook(data, "list.csv", "cp1250")
    assert names_in(workbook) == ["tępe"]
    assert workbook.readings[0].encoding == "cp1250"


@pytest.mark.parametrize("encoding", ["utf-8", "no-such-thing", "rot13"])
def test_an_encoding_that_cannot_be_is_said(encoding: str) -> None:
    workbook = read_workbook(table(["tępe"]).encode("cp1250"), "list.csv", encoding)
    assert [problem.code for problem in workbook.problems] == ["wrong_encoding"]


def test_the_encoding_taken_is_told_with_a_word_that_shows_it() -> None:
    workbook = read_workbook(table(["Länge", "Größe"]).encode("cp1252"), "list.csv")
    assert "cp1252" in workbook.remarks[0] and "Länge" in workbook.remarks[0]


def test_plain_letters_need_no_remark() -> None:
    assert read_workbook(b"Item #;Name\nT-1;Probe\n", "list.csv").remarks == ()


def test_capitals_that_look_like_utf8_are_not_taken_for_another_alphabet() -> None:
    # ÓŻ of cp1250 is one Cyrillic letter in UTF-8.
    workbook = read_workbook(table(["PRÓŻNIA"]).encode("cp1250"), "list.csv")
    assert is_asked(workbook) or names_in(workbook) == ["PRÓŻNIA"]


@pytest.mark.parametrize("word", ["5 ø", "Ø 5 mm", "ø5"])
@pytest.mark.parametrize("encoding", ["cp1252", "cp850", "mac-roman"])
def test_a_diameter_is_never_another_sign(word: str, encoding: str) -> None:
    workbook = read_workbook(table([word]).encode(encoding), "list.csv")
    assert is_asked(workbook) or names_in(workbook) == [word]


def test_danish_is_not_taken_for_polish() -> None:
    workbook = read_workbook(table(["næse"]).encode("cp1252"), "list.csv")
    assert is_asked(workbook) or names_in(workbook) == ["næse"]


def test_cyrillic_in_utf8_is_not_asked_about() -> None:
    words = ["Ножницы", "Größe", "μm"]
    assert names_in(read_workbook(table(words).encode(), "list.csv")) == words


def test_every_named_encoding_is_one() -> None:
    assert ["a".encode(name).decode(name) for name in ENCODINGS] == ["a"] * len(ENCODINGS)


@given(data=st.binary(min_size=1, max_size=200))
def test_any_bytes_are_text_or_a_problem(data: bytes) -> None:
    workbook = read_workbook(data, "list.csv")
    assert bool(workbook.problems) != bool(workbook.sheets)
