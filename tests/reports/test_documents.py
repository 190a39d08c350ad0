from __future__ import annotations

from datetime import date

import pytest

from reports.documents.count_sheets import CountSheetLine, pieces_words
from reports.documents.papers import MissingElement
from tests.reports.examples import label, sheet


@pytest.mark.parametrize(
    ("changes", "element"),
    [
        ({"what": " "}, "the contents"),
        ({"packed_by": ""}, "who packed it"),
        ({"packed_on": None}, "the date it was packed"),
        ({"statement": ""}, "an expiry date or an event-related statement"),
    ],
)
def test_a_label_without_a_required_element_names_it(changes, element):
    with pytest.raises(MissingElement) as refusal:
        label(**changes)
    assert refusal.value.elements == (element,)


def test_every_missing_element_is_named_at_once():
    with pytest.raises(MissingElement, match="the contents, who packed it"):
        label(what="", packed_by="")


def test_an_expiry_date_does_instead_of_a_statement():
    assert label(statement="", expires_on=date(2026, 9, 6)).shelf_words == "Use by 6 Sep 2026."


@pytest.mark.parametrize(
    ("changes", "element"),
    [
        ({"set_code": ""}, "the set code"),
        ({"revision_state": ""}, "the state of the revision"),
        ({"sections": ()}, "at least one line"),
    ],
)
def test_a_count_sheet_without_a_required_element_names_it(changes, element):
    with pytest.raises(MissingElement) as refusal:
        sheet(**changes)
    assert refusal.value.elements == (element,)


def test_an_unknown_quantity_is_not_counted_as_none():
    lines = [CountSheetLine(1, 2, "Probe"), CountSheetLine(2, None, "Clip")]
    assert pieces_words(lines) == "2 pieces, and 1 line of unknown quantity"
