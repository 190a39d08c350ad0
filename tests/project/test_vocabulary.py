"""One list of kinds, methods and materials: what is said of each is said of every one."""

from __future__ import annotations

from collections.abc import Collection
from enum import StrEnum

import pytest

from assembly.judging.facts_from_catalog import department
from assembly.rules.facts.supplies import SUPPLIES
from catalog.forms.supplies import KINDS
from catalog.models.supplies import PACKAGING
from catalog.spreadsheets.cells.listed import ITEM_CLASS_WORDS, KIND_WORDS
from catalog.spreadsheets.cycles.reading import METHOD_WORDS
from catalog.vocabulary import ItemClass, Kind, Method
from tests.rules.given import policy


@pytest.mark.parametrize(
    ("words", "said"),
    [
        pytest.param(Kind, SUPPLIES, id="facts of kinds"),
        pytest.param(Kind, PACKAGING, id="rows of kinds"),
        pytest.param(Kind, KIND_WORDS.values(), id="kinds in spreadsheets"),
        pytest.param(Method, METHOD_WORDS.values(), id="methods in spreadsheets"),
        pytest.param(ItemClass, ITEM_CLASS_WORDS.values(), id="kinds of item in spreadsheets"),
    ],
)
def test_every_word_is_told(words: type[StrEnum], said: Collection[str]) -> None:
    assert set(said) == set(words)


def test_the_policy_orders_every_kind() -> None:
    assert sorted(policy().words("kinds_in_order")) == sorted(Kind)


def test_every_kind_of_package_has_its_form() -> None:
    assert set(Kind) <= set(KINDS)


@pytest.mark.django_db
@pytest.mark.parametrize("kind", Kind)
def test_every_kind_in_stock_reaches_the_rules(kind: Kind) -> None:
    PACKAGING[kind]._default_manager.create(code="A-1", name="in stock")
    assert [supply.kind for supply in department().stock] == [kind]
