"""The index of names answers as the reading of all of them does, for whatever is typed."""

from __future__ import annotations

from decimal import Decimal
from functools import cache
from pathlib import Path
from random import Random

import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalog.lookup.words.index import Block, Names
from catalog.lookup.words.query import read_query
from catalog.lookup.words.ranking import Entry, Known, alike
from tests.catalog.lookup import full_reading

LIST = Path(__file__).parents[3] / "fixtures" / "demo" / "instrument_master_list.xlsx"
TRADE = ("hemostat", "artery forceps", "clamp", "needle driver", "sucker", "scissors 14 cm",
         "tube 5 mm 33 cm", "18", "3", "HF1042", "hf-10", "Ravelstone", "a0100-125")  # fmt: skip


@cache
def demo() -> tuple[Entry, ...]:
    """The demo's instruments, some out of use, some with a length; keys in no order."""
    book = openpyxl.load_workbook(LIST, read_only=True)
    lines = [row for row in book["Master list"].iter_rows(values_only=True) if row[3]][1:]
    keys = [*range(len(lines))]
    Random(16).shuffle(keys)
    return tuple(
        Entry(
            Known(key, [number, name or "", called or "", "", maker or ""],
                  Decimal(length) if isinstance(length, int) else None),
            maker_number or "", retired=key % 7 == 0,
        )
        for key, (number, name, called, maker, maker_number, length, *_) in zip(
            keys, lines, strict=True
        )
    )  # fmt: skip


@cache
def names() -> Names:
    """Of three blocks, the keys in order as the database gives them."""
    entries = sorted(demo(), key=lambda one: one.known.pk)
    return Names([Block(entries[at : at + 30]) for at in range(0, len(entries), 30)])


@st.composite
def asked(draw: st.DrawFn) -> str:
    """A few words out of two names or the trade, with slips in them."""
    one, other = draw(st.sampled_from(demo())), draw(st.sampled_from(demo()))
    texts = [*one.known.texts, *other.known.texts[:2], *TRADE]
    words = draw(st.lists(st.sampled_from(" ".join(texts).split()), min_size=1, max_size=4))
    for _ in range(draw(st.integers(0, 2))):
        which = draw(st.integers(0, len(words) - 1))
        words[which] = draw(slip(words[which]))
    return " ".join(words)


@st.composite
def slip(draw: st.DrawFn, word: str) -> str:
    """The word with a sign too many, too few, another one, or two that changed places."""
    at, sign = draw(st.integers(0, len(word))), draw(st.sampled_from("aeilnrst"))
    before, after = word[:at], word[at:]
    return draw(st.sampled_from([
        before + sign + after, before + after[1:], before + sign + after[1:],
        before + after[1:2] + after[:1] + after[2:],
    ]))  # fmt: skip


@given(asked(), st.booleans(), st.sampled_from([3, 1000]))
def test_what_is_most_like_it_is_what_reading_all_names_finds(
    words: str, retired: bool, limit: int
) -> None:
    query = read_query(words)
    all_names = sorted((one for one in demo() if retired or not one.retired),
                       key=lambda one: one.known.texts[0])  # fmt: skip
    whole = full_reading.ranked(query, [one.known for one in all_names])
    found = names().ranked(query, limit, retired=retired)
    assert [key for _, key in found] == [key for _, key in whole[:limit]]
    assert [round(share, 9) for share, _ in found] == [
        round(share, 9) for share, _ in whole[:limit]
    ]


@given(asked())
def test_every_name_that_has_all_words_is_among_the_candidates(words: str) -> None:
    query = read_query(words)
    candidates, are_all = names().candidates(query, len(demo()))
    holding = {one.known.pk for one in demo() if has_all(one, query.words)}
    assert are_all and holding <= set(candidates)


def has_all(one: Entry, words: tuple[str, ...]) -> bool:
    """As the database is asked: in any column, inside of words too, or the maker's number."""
    texts = [text.casefold() for text in one.known.texts]
    return all(
        any(word in text for text in texts) or word == one.maker_number.casefold()
        for word in words
    )  # fmt: skip


def test_few_are_left_of_what_is_spelled_right_and_none_of_what_is_not() -> None:
    assert names().candidates(read_query("zygomatic retractor xyz"), 1000) == ([], True)
    right, are_all = names().candidates(read_query("needle holder"), 1000)
    assert are_all and 0 < len(right) < len(demo()) / 2


def test_of_names_equally_alike_the_nearest_in_size_comes_first() -> None:
    texts = ["T", "Needle holder", "", "", ""]
    sizes = (Decimal(100), None, Decimal(200), Decimal(185))
    some = [Entry(Known(key, texts, size), "", retired=False) for key, size in enumerate(sizes)]
    found = Names([Block(some)]).ranked(read_query("needle holder 195 mm"), 9, retired=False)
    assert [key for _, key in found] == [2, 3, 0, 1]


def test_a_figure_inside_any_word_of_a_name_makes_it_a_candidate() -> None:
    some = [Entry(Known(7, ["T", "Bur a12b", "", "", ""], None), "", retired=False)]
    assert Names([Block(some)]).candidates(read_query("12"), 9) == ([7], True)


@pytest.mark.parametrize(
    ("typed", "likeness"), [("metz", 95), ("mezt", 71.25), ("me", 100 * 4 / 12)]
)
def test_a_beginning_of_three_letters_or_more_is_as_good_as_a_word(
    typed: str, likeness: float
) -> None:
    """Less a twentieth; with a slip, three quarters of that; of two letters it is no sign (by
    hand: twice the letters in common by all letters)."""
    assert alike(typed, "metzenbaum") == pytest.approx(likeness)
