"""Every fact of an instrument through the pages: checked, applied, taken back."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from django.test import Client

from catalog.models import Instrument, SpreadsheetBatch
from tests.catalog.spreadsheets.batches.test_pages import applied, checked, page
from tests.factories import catalog as make

pytestmark = pytest.mark.django_db


class TestEveryFact:
    """Days, lists and yes and no on their way through the stored rows of a batch."""

    ROWS = [
        ["Item #", "Name", "Hollow", "Comes apart", "IFU forbids", "IFU review on", "Notes"],
        ["T-1", "Suction tube", "Y", "stopcock", "pouch, wrap", date(2027, 3, 4), "Ask\nBea"],
    ]  # fmt: skip
    NAMES = ("hollow", "parts_apart", "forbids", "ifu_review_on", "notes")
    READ = (True, "stopcock", ["pouch", "wrap"], date(2027, 3, 4), "Ask\nBea")
    BEFORE = (False, "", ["roll"], date(2026, 1, 2), "old")

    def facts(self) -> tuple[Any, ...]:
        return Instrument.objects.values_list(*self.NAMES).get(item_number="T-1")

    def changed(self, coordinator: Client) -> SpreadsheetBatch:
        make.Instrument(item_number="T-1", **dict(zip(self.NAMES, self.BEFORE, strict=True)))
        return applied(coordinator, self.ROWS)

    def test_a_new_instrument_has_them(self, coordinator: Client) -> None:
        applied(coordinator, self.ROWS)
        assert self.facts() == self.READ

    def test_a_known_one_takes_them(self, coordinator: Client) -> None:
        self.changed(coordinator)
        assert self.facts() == self.READ

    def test_taking_back_gives_what_was_before(self, coordinator: Client) -> None:
        batch = self.changed(coordinator)
        coordinator.post(f"/spreadsheets/{batch.pk}/take-back/")
        assert self.facts() == self.BEFORE

    def test_the_report_tells_no_from_not_known(self, coordinator: Client) -> None:
        make.Instrument(item_number="T-1", hollow=False, ifu_review_on=None)
        shown = page(coordinator, checked(coordinator, self.ROWS))
        assert "<del>no</del> → <ins>yes</ins>" in shown
