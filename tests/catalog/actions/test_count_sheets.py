"""Drafts are edited line by line; what is in force is never touched."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from catalog import actions
from catalog.models import Change, CountSheet, Line
from tests.factories import catalog as make

pytestmark = pytest.mark.django_db
BEA = actions.Actor("bea", reason="yearly review")


def draft(*sections: str) -> CountSheet:
    """A draft with one line for each section named."""
    sheet = make.CountSheet(state="draft", revision=1)
    for order, section in enumerate(sections, start=1):
        make.Line(count_sheet=sheet, order=order, section=section, instrument__name=f"N{order}")
    return sheet


def order(sheet: CountSheet) -> list[tuple[str, str]]:
    return [(line.instrument.name, line.section) for line in sheet.lines.all()]


def test_a_draft_starts_as_a_copy_with_all_that_is_said_of_each_line() -> None:
    current = make.CountSheet()
    line = make.Line(count_sheet=current, section="Top", may_go_without=True, note="spare")
    line.substitutes.add(other := make.Instrument())
    copy = actions.start_draft(BEA, current.instrument_set, current).lines.get()
    assert (copy.section, copy.may_go_without, copy.note, list(copy.substitutes.all())) == (
        "Top", True, "spare", [other],
    )  # fmt: skip


def test_a_draft_has_the_next_number() -> None:
    current = make.CountSheet(revision=7)
    assert actions.start_draft(BEA, current.instrument_set).revision == 8


def test_a_new_line_goes_to_the_end_of_the_last_section() -> None:
    sheet = draft("Top", "Below")
    actions.add_line(BEA, sheet, make.Instrument(name="new"), 3)
    assert order(sheet)[-1] == ("new", "Below")


def test_a_line_moves_up() -> None:
    sheet = draft("", "", "")
    actions.move_line(BEA, sheet.lines.all()[2], "up")
    assert [name for name, _ in order(sheet)] == ["N1", "N3", "N2"]


def test_at_the_border_of_a_section_a_line_joins_the_neighbour() -> None:
    sheet = draft("Top", "Below", "Below")
    actions.move_line(BEA, sheet.lines.all()[1], "up")
    assert order(sheet) == [("N1", "Top"), ("N2", "Top"), ("N3", "Below")]


def test_the_first_line_cannot_go_further_up() -> None:
    sheet = draft("", "")
    actions.move_line(BEA, sheet.lines.all()[0], "up")
    assert not Change.objects.exists()


def test_a_line_that_gets_the_section_of_others_stands_with_them() -> None:
    sheet = draft("Top", "Below", "Below")
    actions.change_line(BEA, sheet.lines.all()[2], {"section": "Top"})
    assert order(sheet) == [("N1", "Top"), ("N3", "Top"), ("N2", "Below")]


def test_a_changed_count_is_on_record_with_what_it_was() -> None:
    sheet = draft("")
    actions.change_line(BEA, sheet.lines.get(), {"quantity": 5})
    change = Change.objects.get()
    assert (change.before["quantity"], change.after["quantity"]) == (2, 5)


def test_a_line_saved_unchanged_leaves_no_record() -> None:
    sheet = draft("")
    actions.change_line(BEA, sheet.lines.get(), {"quantity": 2})
    assert not Change.objects.exists()


def test_a_removed_line_stays_on_record() -> None:
    sheet = draft("")
    actions.remove_line(BEA, sheet.lines.get())
    assert "N1" in Change.objects.get().before["line"]


def test_substitutes_are_set_together() -> None:
    sheet = draft("")
    others = [make.Instrument(), make.Instrument()]
    actions.set_substitutes(BEA, sheet.lines.get(), others)
    assert set(sheet.lines.get().substitutes.all()) == set(others)


VERBS: dict[str, Callable[[CountSheet, Line], Any]] = {
    "add_line": lambda sheet, line: actions.add_line(BEA, sheet, make.Instrument()),
    "change_line": lambda sheet, line: actions.change_line(BEA, line, {"quantity": 9}),
    "move_line": lambda sheet, line: actions.move_line(BEA, line, "down"),
    "remove_line": lambda sheet, line: actions.remove_line(BEA, line),
    "set_substitutes": lambda sheet, line: actions.set_substitutes(BEA, line, []),
    "approve": lambda sheet, line: actions.approve_count_sheet(BEA, sheet),
    "discard": lambda sheet, line: actions.discard_count_sheet(BEA, sheet),
}


@pytest.mark.parametrize("state", ["current", "retired", "discarded"])
@pytest.mark.parametrize("verb", list(VERBS))
def test_only_a_draft_is_changed(verb: str, state: str) -> None:
    sheet = make.CountSheet(state=state)
    line = make.Line(count_sheet=sheet)
    with pytest.raises(actions.NotADraftError):
        VERBS[verb](sheet, line)


def test_a_verb_believes_the_database_not_the_page() -> None:
    sheet = draft("")
    CountSheet.objects.filter(pk=sheet.pk).update(state="current")
    with pytest.raises(actions.NotADraftError):
        actions.add_line(BEA, sheet, make.Instrument())


def test_a_draft_without_lines_is_not_approved() -> None:
    with pytest.raises(actions.NotADraftError, match="without lines"):
        actions.approve_count_sheet(BEA, draft())


def test_a_draft_older_than_the_one_in_force_is_not_approved() -> None:
    sheet = draft("")
    make.CountSheet(instrument_set=sheet.instrument_set, revision=2)
    with pytest.raises(actions.NotADraftError, match="newer"):
        actions.approve_count_sheet(BEA, sheet)


def test_a_discarded_draft_stays_readable_with_the_reason() -> None:
    sheet = draft("")
    actions.discard_count_sheet(BEA, sheet)
    assert (sheet.lines.count(), Change.objects.get().reason) == (1, "yearly review")


def test_the_lines_of_a_retired_revision_stay() -> None:
    old = make.CountSheet(revision=1)
    make.Line(count_sheet=old, quantity=4)
    new = actions.start_draft(BEA, old.instrument_set, old)
    actions.change_line(BEA, new.lines.get(), {"quantity": 6})
    actions.approve_count_sheet(BEA, new)
    assert old.lines.get().quantity == 4
