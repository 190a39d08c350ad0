"""A load takes no more pieces with a lumen than its cycle is claimed for."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest

from assembly.ledger import Refused
from assembly.rules.deciding.carried import Carried, as_json
from assembly.rules.facts.instruments import Instrument
from assembly.sterilizing.serving import check_lumens
from catalog.vocabulary import LumenMaterial

CLAIM = {"material": "steel", "channels": 1, "bore_mm": 0.7, "length_mm": 500, "most_in_load": 10}


def package(code: str, pieces: int, **more: Any) -> Any:
    facts = {"lumen_mm": 1, "lumen_length_mm": 300, "lumen_material": LumenMaterial.STEEL,
             "channels": 1} | more  # fmt: skip
    tube = Instrument(name="tube", pieces=pieces, **facts)
    return SimpleNamespace(code=code, serves=as_json(Carried(inside=(tube,), around=())))


def load(*claims: dict[str, Any]) -> Any:
    return SimpleNamespace(
        runs={"code": "V", "method": "h2o2", "cycle_name": "P1", "claims": list(claims)}
    )


def test_the_most_that_is_claimed_goes_in() -> None:
    check_lumens(package("B", 5), load(CLAIM), [package("A", 5)])


def test_one_more_is_refused_with_the_count() -> None:
    with pytest.raises(Refused, match="11 with a lumen in one load, 10 are claimed"):
        check_lumens(package("B", 6), load(CLAIM), [package("A", 5)])


def test_what_has_no_lumen_is_not_counted() -> None:
    solid = package("B", 6, lumen_mm=None, lumen_length_mm=None)
    check_lumens(solid, load(CLAIM), [package("A", 11)])


def test_a_cycle_without_claims_counts_nothing() -> None:
    check_lumens(package("B", 6), load(), [package("A", 11)])
