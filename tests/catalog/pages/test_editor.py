"""The count sheet editor's answers, and the page that compares and approves."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client

from catalog.models import Change, CountSheet, Line
from tests.factories import catalog as make

pytestmark = pytest.mark.django_db
EDIT = "/sets/TS-1/count-sheets/2/edit/"
COMPARE = "/sets/TS-1/count-sheets/2/compare/"
HTMX = {"headers": {"HX-Request": "true"}}


@pytest.fixture
def draft() -> CountSheet:
    """Revision 1 in force with two of one instrument, and a draft 2 with three of it."""
    current = make.CountSheet(instrument_set__code="TS-1", revision=1)
    probe = make.Instrument(item_number="T-1", name="Probe")
    make.Line(count_sheet=current, instrument=probe, order=1)
    sheet = make.CountSheet(instrument_set=current.instrument_set, revision=2, state="draft")
    make.Line(count_sheet=sheet, instrument=probe, order=1, quantity=3)
    return sheet


def act(client: Client, **data: Any) -> Any:
    return client.post(EDIT, data, **HTMX)  # type: ignore[arg-type]


def line_of(draft: CountSheet) -> Line:
    return draft.lines.get(instrument__item_number="T-1")


def values(line: Line, **more: Any) -> dict[str, Any]:
    return {"line": line.pk, "quantity": line.quantity, "section": "", "note": "", **more}


def test_an_item_number_is_added(coordinator: Client, draft: CountSheet) -> None:
    make.Instrument(item_number="T-2", name="Hook")
    act(coordinator, do="add", q="t-2", how_many="4")
    assert [(x.instrument.item_number, x.quantity) for x in draft.lines.all()] == [
        ("T-1", 3), ("T-2", 4),
    ]  # fmt: skip


def test_a_name_that_fits_one_instrument_is_added(coordinator: Client, draft: CountSheet) -> None:
    make.Instrument(name="Hook")
    act(coordinator, do="add", q="hoo")
    assert draft.lines.count() == 2


def test_a_name_that_fits_several_offers_them(coordinator: Client, draft: CountSheet) -> None:
    make.Instrument(item_number="T-2", name="Hook, sharp")
    make.Instrument(item_number="T-3", name="Hook, blunt")
    page = act(coordinator, do="add", q="hook").content.decode()
    assert ('value="T-2"' in page, 'value="T-3"' in page, draft.lines.count()) == (True, True, 1)


def test_a_retired_instrument_is_not_added(coordinator: Client, draft: CountSheet) -> None:
    make.Instrument(item_number="T-2", retired=True)
    act(coordinator, do="add", q="T-2")
    assert draft.lines.count() == 1


def test_a_wrong_count_is_said_at_the_line_and_the_line_is_not_replaced(
    coordinator: Client, draft: CountSheet
) -> None:
    line = line_of(draft)
    answer = act(coordinator, **values(line, quantity="three"))
    assert (answer["HX-Retarget"], "whole number" in answer.content.decode()) == (
        f"#problem-{line.pk}", True,
    )  # fmt: skip


def test_a_saved_line_is_not_replaced_either(coordinator: Client, draft: CountSheet) -> None:
    line = line_of(draft)
    answer = act(coordinator, **values(line, quantity="5", may_go_without="on"))
    line.refresh_from_db()
    assert (answer["HX-Retarget"], line.quantity, line.may_go_without) == (
        f"#problem-{line.pk}", 5, True,
    )  # fmt: skip


def test_what_is_typed_is_saved_before_the_line_moves(
    coordinator: Client, draft: CountSheet
) -> None:
    line = line_of(draft)
    act(coordinator, **values(line, quantity="9", do="down"))
    line.refresh_from_db()
    assert line.quantity == 9


@pytest.mark.parametrize("gone", ["999999", "x", "", "9" * 30])
def test_a_line_that_is_gone_is_said(coordinator: Client, draft: CountSheet, gone: str) -> None:
    page = act(coordinator, do="remove", line=gone).content.decode()
    assert "That line is gone" in page


def test_a_line_of_another_sheet_is_out_of_reach(coordinator: Client, draft: CountSheet) -> None:
    other = make.Line(count_sheet__state="draft")
    act(coordinator, do="remove", line=other.pk)
    assert Line.objects.filter(pk=other.pk).exists()


def test_a_substitute_is_added_and_taken_away(coordinator: Client, draft: CountSheet) -> None:
    make.Instrument(item_number="T-2")
    line = line_of(draft)
    act(coordinator, do="stand_in", line=line.pk, q="T-2")
    had = line.substitutes.count()
    act(coordinator, do="no_stand_in", line=line.pk, number="T-2")
    assert (had, line.substitutes.count()) == (1, 0)


def test_an_instrument_is_no_substitute_of_itself(coordinator: Client, draft: CountSheet) -> None:
    page = act(coordinator, do="stand_in", line=line_of(draft).pk, q="T-1").content.decode()
    assert "the instrument itself" in page


def test_without_htmx_the_page_comes_again(coordinator: Client, draft: CountSheet) -> None:
    answer = coordinator.post(EDIT, {"do": "add", "q": "T-1"}, follow=True)
    assert "Added 1 × T-1 Probe" in answer.content.decode()


def test_a_revision_in_force_is_not_opened_for_editing(
    coordinator: Client, draft: CountSheet
) -> None:
    answer = coordinator.get("/sets/TS-1/count-sheets/1/edit/")
    assert answer["Location"] == "/sets/TS-1/count-sheets/1/"


def test_a_draft_approved_meanwhile_is_not_changed(coordinator: Client, draft: CountSheet) -> None:
    line = line_of(draft)
    CountSheet.objects.filter(revision=1).update(state="retired")
    CountSheet.objects.filter(pk=draft.pk).update(state="current")
    page = act(coordinator, **values(line, quantity="9")).content.decode()
    line.refresh_from_db()
    assert ("Start a new draft" in page, line.quantity) == (True, 3)


def test_the_weight_counts_every_piece(coordinator: Client, draft: CountSheet) -> None:
    page = coordinator.get("/sets/TS-1/count-sheets/2/weight/").content.decode()
    assert "3.32 kg" in page  # the container's 3200 g and three times 40 g


def test_an_unknown_weight_is_named(coordinator: Client, draft: CountSheet) -> None:
    line_of(draft)
    make.Line(count_sheet=draft, order=2, instrument__name="Hook", instrument__weight_g=None)
    page = coordinator.get("/sets/TS-1/count-sheets/2/weight/").content.decode()
    assert "Hook" in page and "cannot tell" in page


def test_the_comparison_shows_the_changed_count(coordinator: Client, draft: CountSheet) -> None:
    assert "count changed from 2 to 3" in coordinator.get(COMPARE).content.decode()


def test_the_comparison_shows_a_new_substitute(coordinator: Client, draft: CountSheet) -> None:
    line_of(draft).substitutes.add(make.Instrument(item_number="T-2"))
    assert "substitutes: none → T-2" in coordinator.get(COMPARE).content.decode()


def approve(client: Client, seen: str | None = None) -> Any:
    seen = seen or client.get(COMPARE).context["comparison"].seen
    return client.post(COMPARE, {"approve": "1", "seen": seen}, follow=True)


def states() -> list[tuple[int, str]]:
    return list(CountSheet.objects.order_by("revision").values_list("revision", "state"))


def test_approving_puts_it_in_force(coordinator: Client, draft: CountSheet) -> None:
    approve(coordinator)
    assert states() == [(1, "retired"), (2, "current")]


def test_approving_names_who_and_when(coordinator: Client, draft: CountSheet) -> None:
    approve(coordinator)
    draft.refresh_from_db()
    assert (draft.approved_by, draft.approved_on is not None) == ("a-coordinator", True)


def test_what_was_changed_since_the_page_was_opened_is_not_approved(
    coordinator: Client, draft: CountSheet
) -> None:
    seen = coordinator.get(COMPARE).context["comparison"].seen
    Line.objects.filter(count_sheet=draft).update(quantity=30)
    page = approve(coordinator, seen).content.decode()
    assert ("Look again" in page, states()[1]) == (True, (2, "draft"))


def test_a_retired_revision_stays_readable(technician: Client, draft: CountSheet) -> None:
    CountSheet.objects.filter(revision=1).update(state="retired")
    page = technician.get("/sets/TS-1/count-sheets/1/").content.decode()
    assert "This revision is retired" in page and "Probe" in page


def test_discarding_needs_a_reason(coordinator: Client, draft: CountSheet) -> None:
    coordinator.post(COMPARE, {"discard": "1", "reason": ""})
    assert states()[1] == (2, "draft")


def test_discarding_is_on_record(coordinator: Client, draft: CountSheet) -> None:
    coordinator.post(COMPARE, {"discard": "1", "reason": "a slip"})
    assert (Change.objects.get().verb, Change.objects.get().reason) == ("discarded", "a slip")


def test_a_new_draft_copies_the_one_in_force(coordinator: Client, draft: CountSheet) -> None:
    coordinator.post("/sets/TS-1/new-draft/", {})
    assert CountSheet.objects.get(revision=3).lines.get().quantity == 2


def test_a_technician_sees_no_way_to_change(technician: Client, draft: CountSheet) -> None:
    page = technician.get(COMPARE).content.decode()
    assert "Approve" not in page and "/edit/" not in page
