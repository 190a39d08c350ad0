"""Every change with who, when, before and after: on the object, and in Records."""

from __future__ import annotations

from datetime import datetime, timezone

import pytest
from django.test import Client

from catalog import actions
from catalog.chain.guards import let_through
from catalog.history import Difference, changes_of, differences
from catalog.models import Change
from catalog.pages import records
from tests.factories import catalog as make

pytestmark = pytest.mark.django_db
BEA, TAM = actions.Actor("Bea", batch="list.xlsx 12ab", reason="measured"), actions.Actor("Tam")


def weigh(actor: actions.Actor = BEA, number: str = "T-1") -> Change:
    instrument = make.Instrument(item_number=number)
    actions.change_instrument(actor, instrument, {"weight_g": 44})
    return changes_of(instrument)[0]


def shown(client: Client, query: str) -> list[str]:
    return [row.record.object_key for row in client.get(f"/records/{query}").context["table"].rows]


def test_a_change_reads_field_by_field() -> None:
    assert differences(weigh()) == [Difference("weight, g", "40", "44")]


def test_the_first_change_of_a_thing_shows_what_was_entered() -> None:
    pouch = actions.add_supply(BEA, type(make.Pouch()), {"code": "P", "name": "Pouch"})
    assert [each.after for each in differences(changes_of(pouch)[0])] == ["P", "Pouch"]


@pytest.mark.parametrize("part", ["Bea", "40", "44", "measured", "list.xlsx 12ab"])
def test_the_page_of_the_instrument_shows_it(coordinator: Client, part: str) -> None:
    weigh()
    page = coordinator.get("/instruments/T-1/").content.decode()
    assert part in page[page.index('id="history"') :]


def test_the_page_of_the_set_shows_the_changes_of_its_count_sheets(coordinator: Client) -> None:
    sheet = make.CountSheet(instrument_set__code="TS-1", state="draft")
    actions.add_line(BEA, sheet, make.Instrument(name="Probe"))
    page = coordinator.get("/sets/TS-1/").content.decode()
    assert "Probe" in page[page.index('id="history"') :]


def test_the_page_of_the_supply_shows_it(coordinator: Client) -> None:
    actions.change_supply(BEA, make.Pouch(code="P-1"), {"rated_g": 500})
    page = coordinator.get("/supplies/pouch/P-1/").content.decode()
    assert "400 → 500" in page


@pytest.mark.parametrize("path", ["/instruments/T-1/", "/sets/TS-1/", "/supplies/pouch/P-1/"])
def test_who_may_not_read_records_sees_none(technician: Client, path: str) -> None:
    weigh()
    make.InstrumentSet(code="TS-1")
    make.Pouch(code="P-1")
    assert 'id="history"' not in technician.get(path).content.decode()


@pytest.mark.parametrize(
    ("query", "found"),
    [("?actor=Tam", ["T-2"]), ("?kind=instrument", ["T-2", "T-1"]),
     ("?q=12ab", ["T-1"]), ("?q=T-2", ["T-2"]), ("?verb=retired", [])],
)  # fmt: skip
def test_records_are_filtered(coordinator: Client, query: str, found: list[str]) -> None:
    weigh()
    weigh(TAM, "T-2")
    assert shown(coordinator, query) == found


def test_records_are_filtered_by_date(coordinator: Client) -> None:
    weigh()
    with let_through():
        Change.objects.update(at=datetime(2026, 3, 1, 12, tzinfo=timezone.utc))  # noqa: UP017
    assert (shown(coordinator, "?since=2026-03-02"), shown(coordinator, "?until=2026-03-01")) == (
        [], ["T-1"],
    )  # fmt: skip


def test_of_more_changes_than_are_counted_the_page_says_so_and_a_file_has_all(
    coordinator: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    weigh()
    weigh(TAM, "T-2")
    monkeypatch.setattr(records, "MOST_COUNTED", 1)
    page = coordinator.get("/records/").content.decode()
    assert "1 to 1 of 1 and more" in " ".join(page.split())
    assert "This list (1 and more)" in page
    text = b"".join(coordinator.get("/records/?as=csv"))
    assert text.count(b"weight") == 2


@pytest.mark.parametrize(
    ("words", "found"),
    [("t-1", ["T-1"]), ("metzenbaum", ["T-1"]), ("metz", ["T-1"]), ("list.xlsx", ["T-1"]),
     ("LIST 12AB", ["T-1"]), ("TS-1 r1", ["TS-1 r1"]), ("ts-1", ["TS-1 r1", "TS-1"]),
     ("measured", ["T-2"]), ("later", ["T-2"])],
)  # fmt: skip
def test_among_many_records_old_ones_are_found_by_number_name_and_batch(
    coordinator: Client, monkeypatch: pytest.MonkeyPatch, words: str, found: list[str]
) -> None:
    """Their words are looked for in the newest alone, which the page says."""
    one = make.Instrument(item_number="T-1", name="Metzenbaum scissors", also_known_as="Metz")
    actions.change_instrument(BEA, one, {"weight_g": 44})
    sheet = make.CountSheet(instrument_set__code="TS-1", state="draft", revision=1)
    actions.set_retired(TAM, sheet.instrument_set, retired=True)
    actions.add_line(TAM, sheet, make.Instrument(item_number="T-3"))
    weigh(actions.Actor("Tam", reason="measured later"), "T-2")
    monkeypatch.setattr(records, "MOST_LOOKED_THROUGH", 1)
    answer = coordinator.get("/records/", {"q": words})
    assert [row.record.object_key for row in answer.context["table"].rows] == found
    assert "in the newest 1 records" in answer.content.decode()
    file = b"".join(coordinator.get("/records/", {"q": words, "as": "csv"}))
    assert file.count(b"\r\n") == 1 + len(found)


def test_a_misspelled_name_finds_the_records_of_what_is_spelled_nearly_so(
    coordinator: Client,
) -> None:
    one = make.Instrument(item_number="T-1", name="Metzenbaum scissors")
    actions.change_instrument(BEA, one, {"weight_g": 44})
    answer = coordinator.get("/records/?q=metzembaum")
    assert [row.record.object_key for row in answer.context["table"].rows] == ["T-1"]
    assert "Nothing is spelled “metzembaum”. Close to it:" in answer.content.decode()


@pytest.mark.parametrize("query", ["?kind=instrument", "?actor=Tam", "?kind=instrument&actor=Tam"])
def test_of_a_kind_that_has_very_many_the_same_are_found(
    coordinator: Client, monkeypatch: pytest.MonkeyPatch, query: str
) -> None:
    weigh()
    weigh(TAM, "T-2")
    found = shown(coordinator, query)
    monkeypatch.setattr(records, "MOST_SORTED", 0)
    assert shown(coordinator, query) == found != []
