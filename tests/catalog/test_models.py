"""What the database itself refuses."""

from __future__ import annotations

import pytest
from django.db import IntegrityError

from catalog.models import Change
from tests.factories import catalog as make

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize("field", ["length_mm", "width_mm", "height_mm", "weight_g"])
@pytest.mark.parametrize("value", [0, -1])
def test_a_size_of_zero_or_less_is_refused(field: str, value: int) -> None:
    with pytest.raises(IntegrityError):
        make.Instrument(**{field: value})


def test_an_unknown_size_is_accepted() -> None:
    assert make.Instrument(length_mm=None).length_mm is None


def test_item_numbers_that_differ_only_in_case_are_refused() -> None:
    make.Instrument(item_number="t-1")
    with pytest.raises(IntegrityError):
        make.Instrument(item_number="T-1")


def test_a_set_has_one_current_count_sheet() -> None:
    sheet = make.CountSheet()
    with pytest.raises(IntegrityError):
        make.CountSheet(instrument_set=sheet.instrument_set, revision=2)


def test_a_line_counts_something() -> None:
    with pytest.raises(IntegrityError):
        make.Line(quantity=0)


def test_a_longest_exposure_below_the_least_is_refused() -> None:
    with pytest.raises(IntegrityError):
        make.CycleOption(exposure_min=4, exposure_max=3)


class TestHistory:
    @pytest.fixture
    def change(self) -> Change:
        from catalog import actions

        actions.add_instrument(actions.Actor("bea"), {"item_number": "T-9", "name": "Probe"})
        return Change.objects.get()

    def test_a_change_says_who_and_what(self, change: Change) -> None:
        assert (change.actor, change.verb, change.object_key) == ("bea", "added", "T-9")

    def test_a_change_on_record_is_not_altered(self, change: Change) -> None:
        with pytest.raises(TypeError):
            change.save()

    def test_a_change_on_record_is_not_deleted(self, change: Change) -> None:
        with pytest.raises(TypeError):
            change.delete()
