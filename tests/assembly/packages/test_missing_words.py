"""What packages from before said of their shortages is worded as today."""

from __future__ import annotations

from importlib import import_module

import pytest

reworded = import_module("assembly.migrations.0030_missing_means_missing").reworded
INSTEAD = [{"item_number": "T-2", "quantity": 1, "instead_of": "BT-10"}]


@pytest.mark.parametrize(("old", "contents", "new"), [
    ("Short: 1 of 1 Péan, BT-10", [], "MISSING 1 Péan (0 of 1 in the set)"),
    ("Short: 1 of 3 Forceps, curved, BT-10", [], "MISSING 1 Forceps, curved (2 of 3 in the set)"),
    ("Short: 1 of 3 Péan, BT-10", INSTEAD, "MISSING 1 Péan (1 + 1 substitute of 3 in the set)"),
    ("Something else, BT-10", [], "Something else, BT-10"),
])  # fmt: skip
def test_an_old_sentence_says_what_is_missing(
    old: str, contents: list[dict[str, object]], new: str
) -> None:
    assert reworded(old, contents) == new
