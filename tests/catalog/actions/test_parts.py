"""Drafts of the parts of a set: they add up to it, and nothing is half made."""

from __future__ import annotations

from collections import Counter

import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from catalog import actions
from catalog.models import CountSheet, InstrumentSet
from tests.factories import catalog as make

ACTOR = actions.Actor("a coordinator")


def a_sheet(*quantities: int) -> CountSheet:
    sheet: CountSheet = make.CountSheet(instrument_set__code="TS-9")
    for order, quantity in enumerate(quantities, start=1):
        make.Line(count_sheet=sheet, order=order, quantity=quantity)
    return sheet


class TestAddsUp(TestCase):
    @given(st.lists(st.tuples(st.integers(0, 4), st.integers(0, 4)).filter(any), min_size=1,
                    max_size=5))  # fmt: skip
    def test_the_parts_have_exactly_the_pieces_of_the_sheet(
        self, shared: list[tuple[int, int]]
    ) -> None:
        sheet = a_sheet(*(a + b for a, b in shared))
        counts = [{n: pair[side] for n, pair in enumerate(shared) if pair[side]} for side in (0, 1)]
        made = actions.draft_parts(ACTOR, sheet, [("A", counts[0]), ("B", counts[1])])
        found: Counter[int] = Counter()
        for part in made:
            found.update({line.instrument_id: line.quantity for line in part.lines.all()})
        assert found == Counter({line.instrument_id: line.quantity for line in sheet.lines.all()})


@pytest.mark.django_db
@pytest.mark.parametrize(
    "counts", [[{0: 2}, {1: 2}], [{0: 2, 1: 3}, {0: 1}], [{0: 2}, {1: 3, 2: 1}]],
    ids=["one too few", "one too many", "a line that is not there"],
)  # fmt: skip
def test_parts_that_do_not_add_up_are_refused(counts: list[dict[int, int]]) -> None:
    sheet = a_sheet(2, 3)
    with pytest.raises(actions.PartsRefusedError, match="do not add up"):
        actions.draft_parts(ACTOR, sheet, list(zip("AB", counts, strict=True)))
    assert InstrumentSet.objects.count() == 1


@pytest.mark.django_db
class TestRefused:
    PARTS = (("A", {0: 2}), ("B", {1: 3}))

    def test_a_sheet_that_is_in_force_no_more(self) -> None:
        sheet = a_sheet(2, 3)
        CountSheet.objects.filter(pk=sheet.pk).update(state="retired")
        with pytest.raises(actions.PartsRefusedError, match="in force no more"):
            actions.draft_parts(ACTOR, sheet, self.PARTS)

    def test_a_set_that_is_retired(self) -> None:
        sheet = a_sheet(2, 3)
        InstrumentSet.objects.update(retired=True)
        with pytest.raises(actions.PartsRefusedError, match="in force no more"):
            actions.draft_parts(ACTOR, sheet, self.PARTS)

    def test_a_code_that_another_set_has_and_nothing_is_half_made(self) -> None:
        sheet = a_sheet(2, 3)
        make.InstrumentSet(code="ts-9-b")
        with pytest.raises(actions.PartsRefusedError, match="There is a set ts-9-b"):
            actions.draft_parts(ACTOR, sheet, self.PARTS)
        assert not InstrumentSet.objects.filter(code="TS-9-A").exists()

    def test_a_code_that_would_be_too_long(self) -> None:
        sheet = a_sheet(2, 3)
        InstrumentSet.objects.update(code="T" * 39)
        with pytest.raises(actions.PartsRefusedError, match="too long"):
            actions.draft_parts(ACTOR, sheet, self.PARTS)


@pytest.mark.django_db
def test_a_part_is_packed_as_the_set_is() -> None:
    sheet = a_sheet(2, 3)
    made = actions.draft_parts(ACTOR, sheet, TestRefused.PARTS)
    for part in made:
        assert part.instrument_set.container == sheet.instrument_set.container
        assert part.instrument_set.name.startswith(sheet.instrument_set.name)
