"""The file of synonyms is read strictly, and its words are told apart as typed."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from catalog.data_files import DataError
from catalog.lookup.words.query import read_query
from catalog.lookup.words.synonyms import groups, read_groups

GOOD = {"words": '["towel clamp", "towel clip"]', "source": '"common practice, no source"'}


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"word": '["x"]'}, "towels.word: is not a key"),
        ({"source": '" "'}, "towels.source: must not be blank"),
        ({"words": '["towel clamp"]'}, "towels.words: must be two or more"),
        ({"words": '"towel clamp"'}, "towels.words: must be of kind list"),
        ({"kinds": "[3]"}, "towels.kinds: must hold texts only"),
    ],
)
def test_a_wrong_file_names_the_group_and_the_key(
    tmp_path: Path, change: dict[str, str], said: str
) -> None:
    file = tmp_path / "synonyms.toml"
    lines = [f"{key} = {value}" for key, value in (GOOD | change).items()]
    file.write_text("\n".join(["[towels]", *lines]), encoding="utf-8")
    with pytest.raises(DataError, match=re.escape(said)):
        read_groups(file)


def test_no_phrase_stands_in_two_groups() -> None:
    phrases = [phrase for group in groups() for phrase in group.words]
    assert len(phrases) == len(set(phrases))


def test_the_longest_phrase_is_taken() -> None:
    assert [phrase.words for phrase in read_query("towel clamp").phrases] == [("towel", "clamp")]


def test_a_word_outside_a_phrase_stays_alone() -> None:
    assert read_query("long needle driver").singles == ("long",)
