"""What is missing, by the sets that it frees: the only one of its set that lacks something."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from assembly.consequences.lacking import lacking_ranked
from catalog.where_used import missing_something
from tests.factories import catalog as make

pytestmark = pytest.mark.django_db


@pytest.fixture
def sets() -> None:
    """Two sets lack the weight of A alone; a third lacks that and a size of B; C has no set."""
    a = make.Instrument(item_number="A", name="Probe", weight_g=None)
    b = make.Instrument(item_number="B", width_mm=None, height_mm=None)
    make.Instrument(item_number="C", cycles=False)
    make.Instrument(item_number="D", retired=True, weight_g=None)
    for inside in ((a,), (a, a), (a, b)):
        sheet = make.CountSheet()
        for one in (*inside, make.Instrument()):
            make.Line(count_sheet=sheet, instrument=one)
    make.Line(count_sheet__instrument_set__retired=True, instrument=b)
    make.Line(count_sheet__state="draft", instrument=b)


@pytest.mark.usefixtures("sets")
class TestRanking:
    def test_what_alone_is_missing_frees_its_sets(self) -> None:
        found = [(one.number, one.missing, one.frees, one.blocks) for one in lacking_ranked()]
        assert found == [("A", ("weight",), 2, 3), ("B", ("width", "height"), 0, 1),
                         ("C", ("cycle",), 0, 0)]  # fmt: skip

    def test_it_blocks_as_many_as_the_page_of_what_is_missing_says(self) -> None:
        page = {
            one.item_number: one.sets_blocked for one in missing_something(timezone.localdate())
        }
        assert {one.number: one.blocks for one in lacking_ranked()} == page

    def test_its_list_is_had_from_the_page_of_what_is_missing(self, coordinator: Client) -> None:
        page = coordinator.get(reverse("catalog:missing")).content.decode()
        rows = b"".join(coordinator.get("/papers/lists/missing-frees.csv")).decode().splitlines()
        assert "/papers/lists/missing-frees/" in page
        assert rows[1] == "A,Probe,weight,2,3"
