"""What goes through all that a department owns takes more rows than one condition may name.

SQLite allows 1,000 conditions joined in one expression (SQLITE_MAX_EXPR_DEPTH,
https://www.sqlite.org/limits.html).
"""

from __future__ import annotations

from copy import copy

import pytest
from django.utils import timezone

from assembly.consequences.freed import sets_freed_by_band
from assembly.judging.facts_from_catalog import policy_in_force
from assembly.models import KeptDecision, Package, Recall, RecalledPackage, RecallNotice
from assembly.packages.recalls import notices_for
from catalog.models import Instrument, Line
from catalog.spreadsheets.batches.applying import known_sets
from tests.factories import catalog as make
from tests.factories import requests as ask

pytestmark = pytest.mark.django_db

MANY = 1001


@pytest.fixture
def sheet_of_many() -> None:
    sheet = make.CountSheet(instrument_set__code="TS-1")
    rows = Instrument.objects.bulk_create(
        Instrument(item_number=f"T-{n}", name="Probe") for n in range(MANY)
    )
    Line.objects.bulk_create(
        Line(count_sheet=sheet, instrument=one, quantity=1, order=place)
        for place, one in enumerate(rows, start=1)
    )


@pytest.mark.usefixtures("sheet_of_many")
def test_count_sheets_of_more_than_a_thousand_instruments_are_compared() -> None:
    assert len(known_sets()["TS-1"]["lines"]) == MANY


@pytest.mark.usefixtures("sheet_of_many")
def test_a_switch_of_the_policy_looks_at_them() -> None:
    assert sets_freed_by_band(policy_in_force()) == []


def test_a_recall_of_more_than_a_thousand_packages_is_told() -> None:
    first = ask.a_package(make.Instrument())
    recall = Recall.objects.create(key="k", kind="lot", of="L", about="L", reason="r", by="b",
                                   at=timezone.now())  # fmt: skip
    RecallNotice.objects.create(recall=recall, department="OR 3")
    decided = KeptDecision.objects.bulk_create(KeptDecision(body={}) for _ in range(MANY))
    copies = []
    for n in range(MANY):
        one = copy(first)
        one.pk, one.code, one.key = None, f"P-{n}", f"copy-{n}"
        one.decided = decided[n]
        copies.append(one)
    RecalledPackage.objects.bulk_create(
        RecalledPackage(recall=recall, package=one, where="shelf")
        for one in Package.objects.bulk_create(copies)
    )
    (notice,) = notices_for("")
    assert len({one.package.code for one in notice.recall.packages.all()}) == MANY
