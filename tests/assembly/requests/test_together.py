"""Several lines of one request: asked for, worked and ended together, each going its own way."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone

from assembly.ledger import Refused
from assembly.models import Request, Shortfall
from assembly.requests import asking, lists, together, working
from assembly.requests.asking import Wanted
from catalog.models import InstrumentSet
from tests.factories import bench as at
from tests.factories import catalog as make
from tests.factories import requests as ask

pytestmark = pytest.mark.django_db


@pytest.fixture
def whole() -> InstrumentSet:
    """A set of 1 × TS-1-1 and 3 × TS-1-2."""
    return at.a_set("TS-1", (1, 3))


def numbers(whole: InstrumentSet) -> list[str]:
    assert whole.current is not None
    lines = whole.current.lines.order_by("pk").select_related("instrument")
    return [one.instrument.item_number for one in lines]


def asked(whole: InstrumentSet, *pieces: int) -> list[Request]:
    """The lines of one request for so many of each of the set's instruments."""
    items = [make.models.Instrument.objects.get(item_number=one) for one in numbers(whole)]
    lines = [(Wanted(one, missing_from=whole), many)
             for one, many in zip(items, pieces, strict=False)]  # fmt: skip
    first = asking.ask_together(ask.liaison(), lines, ask.ask_for(), at.key())
    return list(together.lines_of(first.pk))


def test_each_line_is_a_row_of_the_first(whole: InstrumentSet) -> None:
    one, two = asked(whole, 1, 2)
    assert (one.called, two.called) == (f"{one.pk}, line 1 of 2", f"{one.pk}, line 2 of 2")
    assert (two.asked_with, two.quantity, two.where) == (one, 2, one.where)


def test_each_line_is_a_shortfall_of_the_set(whole: InstrumentSet) -> None:
    asked(whole, 1, 2)
    assert [one.quantity for one in Shortfall.objects.all()] == [1, 2]


def test_where_one_line_is_refused_nothing_is_asked_for(whole: InstrumentSet) -> None:
    with pytest.raises(Refused, match="99 was read"):
        asked(whole, 1, 99)
    assert not Request.objects.exists()


def test_no_line_is_no_request() -> None:
    with pytest.raises(Refused, match="0 were read"):
        asking.ask_together(ask.liaison(), [], ask.ask_for(), at.key())


def test_the_same_key_is_the_same_request(whole: InstrumentSet) -> None:
    lines = [(Wanted(words="hook"), 1), (Wanted(words="spoon"), 1)]
    key = at.key()
    made = [asking.ask_together(ask.liaison(), lines, ask.ask_for(), key) for _ in "12"]
    assert (made[0], Request.objects.count()) == (made[1], 2)


def test_one_takes_all_that_nobody_has(whole: InstrumentSet) -> None:
    one, two = asked(whole, 1, 2)
    working.take(ask.other(), two.pk, at.key())
    together.take_all(at.person(), one.pk, at.key())
    holders = [each.holder_name for each in together.lines_of(one.pk)]
    assert holders == [at.person().name, ask.other().name]


def test_the_same_press_twice_is_one(whole: InstrumentSet) -> None:
    one, _ = asked(whole, 1, 2)
    key = at.key()
    for _ in "12":
        together.take_all(at.person(), one.pk, key)
    assert [each.last_step for each in together.lines_of(one.pk)] == [2, 2]


def test_where_nothing_is_left_to_take_it_says_who_has_it(whole: InstrumentSet) -> None:
    one, _ = asked(whole, 1, 2)
    together.take_all(at.person(), one.pk, at.key())
    with pytest.raises(Refused, match=at.person().name):
        together.take_all(ask.other(), one.pk, at.key())


def test_all_go_and_are_handed_over(whole: InstrumentSet) -> None:
    one, two = asked(whole, 1, 1)
    together.take_all(at.person(), one.pk, at.key())
    for each in (one, two):
        assert each.instrument is not None
        working.tie(at.person(), each.pk, ask.a_sterile_package(each.instrument))
    together.send_all(at.person(), two.pk, at.key())
    together.hand_over_all(at.person(), one.pk, at.key())
    assert {each.state for each in together.lines_of(one.pk)} == {"handed over"}


def test_where_one_cannot_go_none_goes(whole: InstrumentSet) -> None:
    one, _ = asked(whole, 1, 1)
    together.take_all(at.person(), one.pk, at.key())
    assert one.instrument is not None
    working.tie(at.person(), one.pk, ask.a_sterile_package(one.instrument))
    with pytest.raises(Refused, match="Scan the package"):
        together.send_all(at.person(), one.pk, at.key())
    assert {each.state for each in together.lines_of(one.pk)} == {"taken"}


def test_all_are_withdrawn(whole: InstrumentSet) -> None:
    one, two = asked(whole, 1, 1)
    together.withdraw_all(ask.liaison(), two.pk, at.key())
    assert {each.state for each in together.lines_of(one.pk)} == {"withdrawn"}


def test_another_time_is_that_of_all_lines_and_its_urgency_follows(whole: InstrumentSet) -> None:
    one, _ = asked(whole, 1, 1)
    later = timezone.now() + timedelta(hours=3)
    assert {row.urgency for row in lists.queue()} == {"urgent"}
    together.put_off(ask.liaison(), one.pk, at.key(), later)
    found = {(row.request.needed_by, row.urgency) for row in lists.queue()}
    assert found == {(later, "routine")}
    assert "instead of" in one.steps.last().reason


def test_a_time_that_has_passed_is_refused(whole: InstrumentSet) -> None:
    one, _ = asked(whole, 1, 1)
    with pytest.raises(Refused, match="has passed"):
        together.put_off(ask.liaison(), one.pk, at.key(), timezone.now() - timedelta(minutes=1))


def test_a_list_has_one_card_that_is_ready_with_its_last_line(whole: InstrumentSet) -> None:
    """Of two lines, one lies on the shelf and one has to be packed first."""
    one, two = asked(whole, 1, 1)
    assert one.instrument is not None and two.instrument is not None
    ask.on_shelf(one.instrument)
    make.models.Instrument.objects.filter(pk=two.instrument.pk).update(spares_on_hand=2)
    (card,) = lists.together(lists.queue())
    ready = {row.request: row.ready for row in card.rows}
    first, second = ready[one], ready[two]
    assert first and second and first.at and card.ready == second
    assert second.at is None or second.at > first.at


def test_the_page_asks_for_the_lines_that_are_ticked(
    technician: Client, whole: InstrumentSet
) -> None:
    first, second = numbers(whole)
    page = technician.get(f"/requests/ask/?item={first}&from=TS-1").content.decode()
    assert page.count('name="item"') == 2 and page.count(" checked") >= 1
    data = {"item": [first, second], f"quantity-{second}": "3", "from": "TS-1", "where": "OR 3",
            "department": "Main OR", "when": "60", "key": at.key()}  # fmt: skip
    technician.post("/requests/ask/", data)
    found = Request.objects.order_by("line").values_list("number", "quantity")
    assert list(found) == [(first, 1), (second, 3)]


def test_where_no_line_is_ticked_the_page_says_so(technician: Client, whole: InstrumentSet) -> None:
    data = {"from": "TS-1", "where": "OR 3", "department": "Main OR", "when": "60",
            "key": at.key()}  # fmt: skip
    answer = technician.post("/requests/ask/", data)
    assert (answer.status_code, Request.objects.count()) == (422, 0)
    assert "Say what is missing" in answer.content.decode()


def test_the_page_of_a_line_shows_the_others(technician: Client, whole: InstrumentSet) -> None:
    one, two = asked(whole, 1, 2)
    page = technician.get(f"/requests/{one.pk}/").content.decode()
    assert f'href="/requests/{two.pk}/"' in page and 'value="take all"' in page
    technician.post(f"/requests/{one.pk}/act/", {"act": "take all", "key": at.key()})
    assert {each.state for each in together.lines_of(one.pk)} == {"taken"}


def test_the_bench_says_which_line_of_which_request_it_is(
    technician: Client, whole: InstrumentSet
) -> None:
    one, _ = asked(whole, 1, 2)
    assert f"request {one.pk}, line 2 of 2" in technician.get("/bench/").content.decode()
