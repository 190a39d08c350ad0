"""Finding instruments and sets the way people call them."""

from __future__ import annotations

import pytest

from catalog.search import find_instruments, find_sets
from tests.factories import catalog as make

pytestmark = pytest.mark.django_db


def numbers(words: str) -> list[str]:
    return [instrument.item_number for instrument in find_instruments(words)]


def test_a_nickname_finds_its_instrument() -> None:
    make.Instrument(item_number="T-1", also_known_as="long Metz; big one")
    make.Instrument(item_number="T-2")
    assert numbers("long metz") == ["T-1"]


def test_an_exact_nickname_comes_before_a_part_of_a_name() -> None:
    make.Instrument(item_number="T-1", name="Kelly clamp, long")
    make.Instrument(item_number="T-2", name="Forceps", also_known_as="snap; Kelly")
    assert numbers("Kelly") == ["T-2", "T-1"]


def test_an_exact_item_number_comes_first() -> None:
    make.Instrument(item_number="T-10", name="About T-1")
    make.Instrument(item_number="T-1")
    assert numbers("t-1")[0] == "T-1"


def test_words_may_stand_in_any_order_and_place() -> None:
    make.Instrument(item_number="T-1", name="Scissors, curved", maker="Harrowgate Forge")
    assert numbers("forge curved") == ["T-1"]


def test_a_retired_instrument_is_not_found() -> None:
    make.Instrument(item_number="T-1", retired=True)
    assert numbers("T-1") == []


def test_a_set_is_found_by_its_service() -> None:
    found = make.InstrumentSet(service="Orthopaedics")
    make.InstrumentSet(service="Emergency")
    assert list(find_sets("ortho")) == [found]
