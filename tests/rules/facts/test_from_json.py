"""Facts as JSON: each under its own name, and what is missing or strange is named."""

from __future__ import annotations

from dataclasses import asdict

import pytest

from assembly.rules.facts.checks import FactsError
from assembly.rules.facts.cycles import LumenClaim
from assembly.rules.facts.from_json import read_programme, read_supply
from catalog.vocabulary import Filter, LumenMaterial, Method

CLAIM = {"material": "steel", "channels": 2, "bore_mm": 0.7, "length_mm": 500.0}


def test_a_claim_for_lumens_is_read_with_its_sizes() -> None:
    read = read_programme({"code": "V", "method": "h2o2", "claims": [CLAIM]})
    assert read.method is Method.H2O2 and read.claims
    assert asdict(read.claims[0]) | CLAIM == asdict(read.claims[0])
    assert isinstance(read.claims[0], LumenClaim)
    assert read.claims[0].material is LumenMaterial.STEEL


@pytest.mark.parametrize("name", ["channels", "bore_mm", "length_mm"])
def test_a_size_that_a_claim_needs_is_asked_for_by_its_name(name: str) -> None:
    claim = {key: value for key, value in CLAIM.items() if key != name}
    with pytest.raises(FactsError, match=rf"{name}.*missing"):
        read_programme({"code": "V", "method": "h2o2", "claims": [claim]})


def test_what_the_filter_of_a_container_is_made_of_is_read_from_its_words() -> None:
    read = read_supply({"kind": "container", "code": "C", "filter": "round paper filter"})
    assert read.filter_material is Filter.PAPER  # type: ignore[union-attr]
