"""A list that comes again: what is gone, what has another number, and what is never set back."""

from __future__ import annotations

import re
from typing import Any

import pytest
from django.test import Client

from catalog import actions
from catalog.history import changes_of
from catalog.lookup.finding import find
from catalog.models import Change, Identifier, Instrument, SpreadsheetBatch
from catalog.spreadsheets.batches.verbs import run
from catalog.spreadsheets.checking.matching import Coverage
from tests.catalog.spreadsheets.batches.test_pages import checked, last, page
from tests.factories import catalog as make

pytestmark = pytest.mark.django_db

HEAD = ["Item #", "Name", "Length (mm)", "Spares on hand", "Maker", "Notes"]
NAMES = ("Mayo scissors, curved", "Adson forceps", "Bone hook", "Kocher clamp")
LENA = actions.Actor("Lena")


@pytest.fixture
def four() -> list[Instrument]:
    """A-1 to A-4, each counted and with a note."""
    return [
        make.Instrument(item_number=f"A-{n}", name=name, length_mm=140, spares_on_hand=5,
                        maker="Kirkfell", notes="kept", protector="vented, small")
        for n, name in enumerate(NAMES, start=1)
    ]  # fmt: skip


def rows(*changed: list[Any], leave: tuple[str, ...] = ()) -> list[list[Any]]:
    """The list as it was, but for these rows (by number) and those that are left away."""
    by_number = {f"A-{n}": [f"A-{n}", name, 140, 5, "Kirkfell", "kept"]
                 for n, name in enumerate(NAMES, start=1)}  # fmt: skip
    by_number |= {row[0]: row for row in changed}
    return [HEAD, *(row for number, row in by_number.items() if number not in leave)]


def apply(client: Client, batch: SpreadsheetBatch, **what: Any) -> SpreadsheetBatch:
    client.post(f"/spreadsheets/{batch.pk}/apply/", {"group": ["new", "changed"], **what})
    return last()


def press(client: Client, batch: SpreadsheetBatch, key: str, words: str, way: str = "all") -> str:
    """Press the button with these words in the row with this number, as a browser without scripts
    does: the page that is shown then."""
    where = f"/spreadsheets/{batch.pk}/?verdict={way}"
    shown = client.get(where).content.decode()
    row = next(each for each in shown.split("<tr")[2:] if key in each.split("</td>")[2])
    buttons = re.findall(r"<button([^>]*)>(.*?)</button>", row, re.DOTALL)
    plain = [(found, " ".join(re.sub("<[^>]+>", "", text).split())) for found, text in buttons]
    attributes = next(found for found, text in plain if words in text)
    sent = dict(re.findall(r'([\w-]+)="([^"]*)"', attributes))
    assert f'<form method="post" novalidate id="{sent["form"]}">' in shown
    answer = client.post(where, {sent["name"]: sent["value"]}, follow=True)
    assert answer.redirect_chain == [(f"{where}#list", 302)]
    return answer.content.decode()


def retired() -> list[str]:
    return list(Instrument.objects.filter(retired=True).values_list("item_number", flat=True))


@pytest.mark.usefixtures("four")
class TestGone:
    def test_it_is_told_with_the_numbers(self, coordinator: Client) -> None:
        shown = page(coordinator, checked(coordinator, rows(leave=("A-4",))))
        assert "1 of the 4 instruments in use are not in this list" in shown and "A-4" in shown

    def test_it_is_kept_unless_somebody_says_otherwise(self, coordinator: Client) -> None:
        batch = checked(coordinator, rows(["A-9", "Probe", 90, 0, "", ""], leave=("A-4",)))
        apply(coordinator, batch)
        assert (retired(), Instrument.objects.count()) == ([], 5)

    def test_none_is_chosen_beforehand(self, coordinator: Client) -> None:
        shown = page(coordinator, checked(coordinator, rows(leave=("A-4",))), "apply/")
        start = shown.index("Not in this list any more")
        assert "checked" not in shown[start : shown.index("</fieldset>", start)]

    def test_one_that_is_chosen_is_retired_with_the_reason(self, coordinator: Client) -> None:
        batch = checked(coordinator, rows(leave=("A-3", "A-4")))
        apply(coordinator, batch, retire=["A-4"])
        assert retired() == ["A-4"]
        assert Change.objects.get(verb="retired").reason == "not in list.xlsx any more"

    def test_all_at_once(self, coordinator: Client) -> None:
        batch = checked(coordinator, rows(leave=("A-3", "A-4")))
        apply(coordinator, batch, **{"retire-all": "on"})
        assert retired() == ["A-3", "A-4"]

    def test_what_is_in_the_list_is_never_retired(self, coordinator: Client) -> None:
        apply(coordinator, checked(coordinator, rows(leave=("A-4",))), retire=["A-1", "A-4"])
        assert retired() == ["A-4"]

    def test_a_row_that_is_refused_is_not_gone(self, coordinator: Client) -> None:
        batch = checked(coordinator, rows(["A-4", "Kocher clamp", "14-16 cm", 5, "", ""]))
        assert batch.report["updated"]["gone"] == []

    def test_what_is_retired_already_is_not_gone(
        self, coordinator: Client, four: list[Instrument]
    ) -> None:
        actions.set_retired(LENA, four[3], True)
        batch = checked(coordinator, rows(leave=("A-4",)))
        assert batch.report["updated"]["gone"] == []

    def test_a_part_of_the_catalog_offers_to_retire_nothing(self, coordinator: Client) -> None:
        batch = checked(coordinator, rows(leave=("A-2", "A-3", "A-4")))
        assert "seems to be a part" in page(coordinator, batch)
        assert "Retire" not in page(coordinator, batch, "apply/")
        apply(coordinator, batch, **{"retire-all": "on", "retire": ["A-4"]})
        assert retired() == []

    def test_taken_back_they_are_in_use_again(self, coordinator: Client) -> None:
        batch = apply(coordinator, checked(coordinator, rows(leave=("A-4",))), retire=["A-4"])
        coordinator.post(f"/spreadsheets/{batch.pk}/take-back/")
        assert retired() == []

    def test_one_that_changed_since_the_check_is_not_retired(
        self, coordinator: Client, four: list[Instrument]
    ) -> None:
        batch = checked(coordinator, rows(leave=("A-4",)))
        actions.change_instrument(LENA, four[3], {"notes": "back from repair"})
        apply(coordinator, batch, retire=["A-4"])
        assert retired() == []


@pytest.mark.parametrize(
    ("found", "updated"),
    [
        (Coverage(100, 98, 100, ("A-1", "A-2")), True),
        (Coverage(40, 40, 10_000, tuple(map(str, range(9_960)))), False),
        (Coverage(100, 10, 12, ("A-1", "A-2")), False),
        (Coverage(10, 0, 0, ()), False),
    ],
    ids=["the whole list", "one shelf", "mostly new", "an empty catalog"],
)
def test_only_a_list_of_most_of_the_catalog_is_an_updated_one(
    found: Coverage, updated: bool
) -> None:
    assert found.is_updated is updated


RENUMBERED = ["A-33", "Bone hook", 140, 5, "", ""]


class TestAnotherNumber:
    def taken(self, client: Client) -> SpreadsheetBatch:
        batch = checked(client, rows(RENUMBERED, leave=("A-3",)))
        press(client, batch, "A-33", "Renumber")
        return last()

    @pytest.mark.usefixtures("four")
    def test_it_is_offered_beside_the_equal_thing_that_is_gone(self, coordinator: Client) -> None:
        batch = checked(coordinator, rows(RENUMBERED, leave=("A-3",)))
        assert "A-3 becomes A-33" in page(coordinator, batch)

    @pytest.mark.usefixtures("four")
    def test_it_is_not_offered_while_the_other_is_in_the_list(self, coordinator: Client) -> None:
        assert not checked(coordinator, rows(RENUMBERED)).rows.get(key="A-33").may_renumber

    @pytest.mark.usefixtures("four")
    def test_it_is_not_offered_to_two(self, coordinator: Client) -> None:
        other = ["A-34", "Bone hook", 140, 5, "", ""]
        batch = checked(coordinator, rows(RENUMBERED, other, leave=("A-3",)))
        offered = [row.key for row in batch.rows.all() if row.may_renumber]
        assert len(offered) < 2

    @pytest.mark.usefixtures("four")
    def test_nothing_is_renumbered_without_a_word(self, coordinator: Client) -> None:
        batch = checked(coordinator, rows(RENUMBERED, leave=("A-3",)))
        apply(coordinator, batch)
        assert Instrument.objects.filter(item_number="A-3").exists()

    def test_it_is_the_same_instrument_with_all_that_is_known(
        self, coordinator: Client, four: list[Instrument]
    ) -> None:
        apply(coordinator, self.taken(coordinator))
        one = Instrument.objects.get(pk=four[2].pk)
        assert (one.item_number, one.notes, one.maker) == ("A-33", "kept", "Kirkfell")
        assert (one.protector, one.cycles.count()) == ("vented, small", 1)
        assert Instrument.objects.count() == 4

    @pytest.mark.usefixtures("four")
    def test_a_scan_of_the_old_number_finds_it(self, coordinator: Client) -> None:
        apply(coordinator, self.taken(coordinator))
        assert str(find("A-3").one) == "A-33 Bone hook"

    def test_its_history_goes_on(self, coordinator: Client, four: list[Instrument]) -> None:
        actions.change_instrument(LENA, four[2], {"notes": "sharpened"})
        apply(coordinator, self.taken(coordinator))
        found = changes_of(Instrument.objects.get(item_number="A-33"))
        assert [each.object_key for each in found] == ["A-33", "A-3"]

    @pytest.mark.usefixtures("four")
    def test_it_is_no_longer_gone(self, coordinator: Client) -> None:
        apply(coordinator, self.taken(coordinator), **{"retire-all": "on"})
        assert retired() == []

    @pytest.mark.usefixtures("four")
    def test_it_can_be_a_new_one_after_all(self, coordinator: Client) -> None:
        press(coordinator, self.taken(coordinator), "A-33", "No, it is a new one")
        apply(coordinator, last())
        assert Instrument.objects.count() == 5

    @pytest.mark.usefixtures("four")
    def test_the_counts_of_the_report_follow(self, coordinator: Client) -> None:
        counts = self.taken(coordinator).counts
        assert (counts["new"], counts["changed"]) == (0, 1)

    @pytest.mark.usefixtures("four")
    def test_taken_back_it_has_its_old_number(self, coordinator: Client) -> None:
        batch = apply(coordinator, self.taken(coordinator))
        coordinator.post(f"/spreadsheets/{batch.pk}/take-back/")
        assert last().state == "reverted"
        assert Instrument.objects.filter(item_number="A-3", name="Bone hook").exists()

    def test_a_change_of_it_since_the_check_is_named(
        self, coordinator: Client, four: list[Instrument]
    ) -> None:
        batch = self.taken(coordinator)
        actions.change_instrument(LENA, four[2], {"notes": "sharpened"})
        assert apply(coordinator, batch).state == "checked"


def test_another_number_by_hand_keeps_the_old_one_too(four: list[Instrument]) -> None:
    actions.change_instrument(LENA, four[2], {"item_number": "A-33"})
    assert Identifier.objects.get().instrument_id == four[2].pk


def test_a_new_instrument_by_hand_has_its_number_for_itself(four: list[Instrument]) -> None:
    actions.change_instrument(LENA, four[2], {"item_number": "A-33"})
    actions.add_instrument(LENA, {"item_number": "A-3", "name": "Probe"})
    assert str(find("A-3").one) == "A-3 Probe"


@pytest.mark.usefixtures("four")
class TestCells:
    CHANGED = ["A-2", "Adson forceps, fine", 150, 5, "Kirkfell", "kept"]

    def test_one_that_is_left_out_stays_as_it_is(self, coordinator: Client) -> None:
        batch = checked(coordinator, rows(self.CHANGED))
        press(coordinator, batch, "A-2", "Keep it: A-2 name")
        apply(coordinator, last())
        one = Instrument.objects.get(item_number="A-2")
        assert (one.name, one.length_mm) == ("Adson forceps", 150)

    def test_it_can_be_taken_after_all(self, coordinator: Client) -> None:
        batch = checked(coordinator, rows(self.CHANGED))
        for words in ("Keep it: A-2 name", "Take the list's: A-2 name"):
            press(coordinator, batch, "A-2", words)
        apply(coordinator, last())
        assert Instrument.objects.get(item_number="A-2").name == "Adson forceps, fine"

    def test_a_new_check_asks_for_none_of_it_again(self, coordinator: Client) -> None:
        sent = rows(self.CHANGED, ["A-33", "Bone hook", 140, 5, "", ""], leave=("A-3",))
        batch = checked(coordinator, sent)
        press(coordinator, batch, "A-2", "Keep it: A-2 name")
        press(coordinator, batch, "A-33", "Renumber")
        run(batch.pk, "check")
        batch = last()
        assert batch.rows.get(key="A-33").renumbers == "A-3"
        assert [each["field"] for each in batch.rows.get(key="A-2").done] == ["length_mm"]
        assert batch.counts["changed"] == 2

    NEW = ["A-9", "Probe", 90, 3, "Kirkfell", "bent"]

    def new_one(self, client: Client) -> Instrument:
        apply(client, last())
        return Instrument.objects.get(item_number="A-9")

    def test_one_of_a_new_row_that_is_left_out_is_not_known(self, coordinator: Client) -> None:
        batch = checked(coordinator, rows(self.NEW))
        for cell in ("length", "spares on hand", "notes"):
            press(coordinator, batch, "A-9", f"Leave it out: A-9 {cell}")
        one = self.new_one(coordinator)
        assert (one.length_mm, one.spares_on_hand, one.notes) == (None, None, "")
        assert (one.name, one.maker) == ("Probe", "Kirkfell")

    def test_one_of_a_new_row_can_be_taken_after_all(self, coordinator: Client) -> None:
        batch = checked(coordinator, rows(self.NEW))
        for words in ("Leave it out: A-9 length", "Take the list's: A-9 length"):
            press(coordinator, batch, "A-9", words)
        assert self.new_one(coordinator).length_mm == 90

    def test_one_of_a_new_row_stays_out_through_a_new_check(self, coordinator: Client) -> None:
        batch = checked(coordinator, rows(self.NEW))
        press(coordinator, batch, "A-9", "Leave it out: A-9 spares on hand")
        run(batch.pk, "check")
        assert self.new_one(coordinator).spares_on_hand is None

    def test_the_name_of_a_new_row_is_needed(self, coordinator: Client) -> None:
        batch = checked(coordinator, rows(self.NEW))
        assert "Leave it out: A-9 name" not in page(coordinator, batch, "?verdict=all")
        cell = f"{batch.rows.get(key='A-9').pk} name"
        coordinator.post(f"/spreadsheets/{batch.pk}/", {"cell": cell})
        assert self.new_one(coordinator).name == "Probe"

    def test_what_was_left_out_is_not_taken_back(self, coordinator: Client) -> None:
        batch = checked(coordinator, rows(self.CHANGED))
        press(coordinator, batch, "A-2", "Keep it: A-2 name")
        batch = apply(coordinator, last())
        coordinator.post(f"/spreadsheets/{batch.pk}/take-back/")
        change = Change.objects.order_by("-pk")[0]
        assert set(change.after or ()) == {"length_mm"}

    @pytest.mark.parametrize("cell", [None, "", "-", "?", "n/a"])
    def test_empty_or_a_dash_keeps_what_is_known(self, coordinator: Client, cell: object) -> None:
        sent = rows(["A-2", "Adson forceps", cell, cell, cell, cell])
        sent[0] = [*HEAD, "Tip protector"]
        sent = [sent[0], *([*row, cell] for row in sent[1:])]
        apply(coordinator, checked(coordinator, sent), group=["changed", "doubtful"])
        one = Instrument.objects.get(item_number="A-2")
        assert (one.length_mm, one.spares_on_hand, one.maker) == (140, 5, "Kirkfell")
        assert (one.notes, one.protector) == ("kept", "vented, small")

    def test_a_dash_is_not_taken_for_a_note_of_a_new_one(self, coordinator: Client) -> None:
        apply(coordinator, checked(coordinator, rows(["A-9", "Probe", 90, "", "-", "-"])))
        one = Instrument.objects.get(item_number="A-9")
        assert (one.maker, one.notes) == ("", "")

    def test_the_page_says_so(self, coordinator: Client) -> None:
        batch = checked(coordinator, rows(self.CHANGED))
        for more in ("", "apply/"):
            assert "keeps what the" in page(coordinator, batch, more)


@pytest.mark.usefixtures("four")
class TestSpares:
    FEWER = ["A-2", "Adson forceps", 140, 2, "Kirkfell", "kept"]

    def spares(self, number: str = "A-2") -> int | None:
        return Instrument.objects.get(item_number=number).spares_on_hand

    def test_a_list_never_sets_them_back_by_itself(self, coordinator: Client) -> None:
        batch = checked(coordinator, rows([*self.FEWER[:5], "oiled"]))
        apply(coordinator, batch)
        assert (self.spares(), Instrument.objects.get(item_number="A-2").notes) == (5, "oiled")

    def test_a_row_with_another_count_only_is_unchanged(self, coordinator: Client) -> None:
        assert checked(coordinator, rows(self.FEWER)).counts["unchanged"] == 4

    def test_asked_for_by_name_they_are_set(self, coordinator: Client) -> None:
        apply(coordinator, checked(coordinator, rows(self.FEWER)), spares="on")
        assert self.spares() == 2

    def test_a_press_on_the_cell_is_not_enough(self, coordinator: Client) -> None:
        batch = checked(coordinator, rows(self.FEWER))
        cell = f"{batch.rows.get(key='A-2').pk} spares_on_hand"
        coordinator.post(f"/spreadsheets/{batch.pk}/", {"cell": cell})
        apply(coordinator, last())
        assert self.spares() == 5

    def test_where_nobody_has_counted_the_list_may(self, coordinator: Client) -> None:
        Instrument.objects.filter(item_number="A-2").update(spares_on_hand=None)
        apply(coordinator, checked(coordinator, rows(self.FEWER)))
        assert self.spares() == 2

    def test_a_piece_that_a_bench_took_since_stops_nothing(
        self, coordinator: Client, four: list[Instrument]
    ) -> None:
        batch = checked(coordinator, rows([*self.FEWER[:5], "oiled"]))
        actions.move_spares(LENA, four[1], -1)
        assert apply(coordinator, batch).state == "applied"
        assert self.spares() == 4

    def test_it_stops_a_list_that_would_set_them(
        self, coordinator: Client, four: list[Instrument]
    ) -> None:
        batch = checked(coordinator, rows(self.FEWER))
        actions.move_spares(LENA, four[1], -1)
        assert apply(coordinator, batch, spares="on").state == "checked"
        assert self.spares() == 4
