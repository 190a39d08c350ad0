"""The reasons for a repair that are offered are those that an instrument can have."""

from __future__ import annotations

from typing import Any

import pytest

from assembly.judging.inspection import damages_of
from catalog.models import Instrument

RIGID = {"name": "Bone hook", "hinged": False, "ratchet": False, "hollow": False,
         "parts_apart": "", "tip": "blunt"}  # fmt: skip


@pytest.mark.parametrize(
    ("words", "has"),
    [
        ("Does not close: tips do not meet", {"hinged": True}),
        ("Ratchet does not hold", {"ratchet": True}),
        ("Blunt, or does not cut", {"tip": "sharp"}),
        ("Blunt, or does not cut", {"name": "Mayo scissors"}),
        ("Insulation damaged", {"name": "Bipolar forceps"}),
        ("Lumen blocked", {"hollow": True}),
        ("Part or screw missing", {"parts_apart": "3 parts"}),
    ],
)
def test_a_reason_shows_for_what_can_have_it(words: str, has: dict[str, Any]) -> None:
    with_it, without = Instrument(**RIGID | has), Instrument(**RIGID)
    assert (words in damages_of(with_it), words in damages_of(without)) == (True, False)


@pytest.mark.parametrize("name", ["hinged", "ratchet", "hollow", "parts_apart"])
def test_what_is_not_on_record_leaves_none_out(name: str) -> None:
    unknown = {"hinged": "Does not close: tips do not meet", "ratchet": "Ratchet does not hold",
               "hollow": "Lumen blocked", "parts_apart": "Part or screw missing"}  # fmt: skip
    facts = RIGID | {name: None} | ({"hinged": None} if name == "ratchet" else {})
    assert unknown[name] in damages_of(Instrument(**facts))
