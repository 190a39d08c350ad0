"""The words of the bench are read strictly: an entry that cannot be used stops the program."""

from __future__ import annotations

from pathlib import Path

import pytest

from assembly.rules.telling import words
from catalog.data_files import DataError

SHIPPED = Path(words.__file__).with_name("words.toml").read_text(encoding="utf-8")
AIR = "[package.air]\n"


@pytest.mark.parametrize(
    ("old", "new", "key"),
    [
        pytest.param(AIR, f'{AIR}note = "x"\n', "package.air.note", id="an unknown key"),
        pytest.param('if_no = "Press it out before it is closed."\n', "", "package.air.if_no",
                     id="a key is missing"),
        pytest.param('"Is the air pressed out?"', '" "', "package.air.question", id="blank"),
        pytest.param('source = "trade notes"\n', "", "loading.edge.source", id="no source"),
        pytest.param("[loading.", "[laoding.", "(top).laoding", id="an unknown group"),
    ],
)  # fmt: skip
def test_what_cannot_be_used_names_its_key(tmp_path, old, new, key):
    path = tmp_path / "words.toml"
    path.write_text(SHIPPED.replace(old, new), encoding="utf-8")
    with pytest.raises(DataError) as refusal:
        words.load(path)
    assert (refusal.value.file, refusal.value.place) == ("words.toml", key)
