"""Data files are read strictly: what cannot be used stops the program and names its place."""

from __future__ import annotations

from pathlib import Path

import pytest

from catalog.data_files import DataError, read_tables, read_words
from catalog.spreadsheets.columns.declared import read_columns

KINDS = {"title": str, "most": int, "words": list}


def written(folder: Path, text: str) -> Path:
    path = folder / "some.toml"
    path.write_text(text, encoding="utf-8")
    return path


@pytest.mark.parametrize(
    ("text", "place"),
    [
        pytest.param("[one\n", "(whole file)", id="no TOML"),
        pytest.param('one = "text"', "one", id="no table"),
        pytest.param("[one]\nmost = 3", "one.title", id="a key is missing"),
        pytest.param('[one]\ntitle = "x"\ntitel = "y"', "one.titel", id="an unknown key"),
        pytest.param('[one]\ntitle = "x"\nmost = "3"', "one.most", id="another kind of value"),
        pytest.param('[one]\ntitle = "x"\nmost = true', "one.most", id="yes is no number"),
        pytest.param('[one]\ntitle = " "', "one.title", id="blank"),
        pytest.param('[one]\ntitle = "x"\nwords = [1]', "one.words", id="a list of numbers"),
        pytest.param('[one]\ntitle = "x"\nwords = [""]', "one.words", id="a blank word"),
    ],
)
def test_a_table_that_cannot_be_used_names_its_place(tmp_path, text, place):
    with pytest.raises(DataError) as refusal:
        read_tables(written(tmp_path, text), KINDS, ("title",))
    assert (refusal.value.file, refusal.value.place) == ("some.toml", place)


def test_a_word_that_means_two_things_is_refused(tmp_path):
    path = written(tmp_path, '[tip]\nfine = ["fin"]\nsharp = ["fin"]')
    with pytest.raises(DataError, match="'fin' means 'fine' too"):
        read_words(path)


def test_a_reader_that_is_none_is_refused(tmp_path):
    text = '[tip]\ntitle = "Tip"\nhelp = "h"\nreader = "guess"\nheadings = ["point"]'
    with pytest.raises(DataError, match="'guess' is no reader"):
        read_columns(written(tmp_path, text))


def test_a_text_in_place_of_a_list_of_words_is_refused(tmp_path):
    with pytest.raises(DataError, match="must be of kind list"):
        read_words(written(tmp_path, '[tip]\nfine = "fin"'))
