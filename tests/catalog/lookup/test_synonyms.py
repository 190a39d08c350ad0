"""The file of synonyms is read strictly, and its words are told apart as typed."""

from __future__ import annotations

from typing import Any

import pytest

from catalog.lookup.words.query import read_query
from catalog.lookup.words.synonyms import SynonymsError, groups, read_groups

GOOD = {"words": ["towel clamp", "towel clip"], "source": "common practice, no source"}


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"word": ["x"]}, "group 1: 'word' is no key"),
        ({"source": " "}, "group 1: source is missing"),
        ({"words": ["towel clamp"]}, "group 1, words: 1 read"),
        ({"words": "towel clamp"}, "group 1, words: 'towel clamp' was read"),
        ({"kinds": [3]}, "group 1, kinds: [3] was read"),
    ],
)
def test_a_wrong_file_names_the_group_and_the_key(change: dict[str, Any], said: str) -> None:
    with pytest.raises(SynonymsError) as refused:
        read_groups({"groups": [GOOD | change]})
    assert said in str(refused.value)


def test_no_phrase_stands_in_two_groups() -> None:
    phrases = [phrase for group in groups() for phrase in group.words]
    assert len(phrases) == len(set(phrases))


def test_the_longest_phrase_is_taken() -> None:
    assert [phrase.words for phrase in read_query("towel clamp").phrases] == [("towel", "clamp")]


def test_a_word_outside_a_phrase_stays_alone() -> None:
    assert read_query("long needle driver").singles == ("long",)
