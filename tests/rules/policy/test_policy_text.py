"""Free words as policy values: kept as written, never blank, never endless."""

from __future__ import annotations

import pytest

from assembly.rules.policy.values import PolicyError, default_parameters

COLUMNS = default_parameters()["count_sheet_columns"]
PREFIX = default_parameters()["gs1_company_prefix"]


def test_words_of_the_departments_own_are_kept():
    assert COLUMNS.checked(["Gezählt", " Nach OP "]) == ("Gezählt", "Nach OP")


def test_no_words_at_all_may_be_set():
    assert COLUMNS.checked("not set") is None


@pytest.mark.parametrize("value", [[""], ["A", "A"], [7], "A", ["x" * 61], []])
def test_what_is_no_list_of_words_is_refused(value):
    with pytest.raises(PolicyError):
        COLUMNS.checked(value)


@pytest.mark.parametrize("value", ["", " ", 7, "x" * 61])
def test_what_is_no_text_is_refused(value):
    with pytest.raises(PolicyError):
        PREFIX.checked(value)
