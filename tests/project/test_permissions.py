"""Who opens each address, and who may send to it. A new address fails until the table has it."""

from __future__ import annotations

from http.cookies import SimpleCookie

import pytest
from django.contrib.auth.models import User
from django.test import Client

from assembly.models import Request
from assembly.sterilizing import views as load_views
from config.roles import ROLES
from tests.addresses import ADDRESSES, COORDINATORS, PACKERS, Address, concrete
from tests.addresses import every_address as every
from tests.project.test_query_budgets import FEW, budget_flaws, read_decisions
from tests.reading import Cost, visit
from tests.reports.examples import pdf_flaws

pytestmark = [pytest.mark.django_db, pytest.mark.xdist_group("a hospital of 3")]
MOVED, FORBIDDEN, NO_SUCH_METHOD = 301, 403, 405


def turned_away(client: Client, method: str, path: str, sent: dict[str, str]) -> bool:
    """Whether somebody is refused, or sent to sign in."""
    same = Client()
    same.handler = client.handler  # whose middleware is there already
    same.cookies = SimpleCookie(client.cookies.output(header="", sep=";"))  # may be signed out
    answer = getattr(same, method)(path, sent)
    answer.close()  # a print run's file is open until then
    to_sign_in = answer.status_code == 302 and answer["Location"].startswith("/sign-in/?next=")
    return bool(answer.status_code == FORBIDDEN or to_sign_in)


def let_in(people: dict[str, Client], method: str, path: str, **sent: str) -> set[str]:
    return {who for who, client in people.items() if not turned_away(client, method, path, sent)}


def test_every_address_is_in_the_table() -> None:
    assert sorted(every()) == sorted(ADDRESSES)


OPENED = [path for path, address in ADDRESSES.items() if address.opens]
SENT_TO = [path for path, address in ADDRESSES.items() if address.sends]


@pytest.mark.parametrize("path", OPENED)
def test_an_address_opens_to_those_in_the_table(
    rows: dict[str, str], people: dict[str, Client], path: str
) -> None:
    """All but a coordinator, to whom each opens in the next test."""
    others = {who: client for who, client in people.items() if who not in COORDINATORS}
    opens = let_in(others, "get", concrete(path, rows)) | COORDINATORS
    assert opens == ADDRESSES[path].opens


@pytest.mark.parametrize("path", OPENED)
def test_what_opens_to_a_coordinator_is_of_its_kind_and_in_its_budget(
    rows: dict[str, str], people: dict[str, Client], path: str
) -> None:
    read_decisions()
    cost = visit(people["coordinator"], concrete(path, rows))
    assert kind_flaws(ADDRESSES[path], cost) == []
    if ADDRESSES[path].kind in ("page", "part", "file"):
        assert budget_flaws(cost, path, "", FEW) == []


def kind_flaws(address: Address, cost: Cost) -> list[str]:
    """What an answer has that its address in the table does not say."""
    answer = cost.answer
    if address.kind == "moved":
        return [] if answer.status_code == MOVED else [f"{answer.status_code}"]
    if address.kind == "begun":
        to = answer.headers.get("Location", "")
        return [] if to.startswith("/papers/runs/") else [f"leads to {to!r}"]
    flaws = [] if answer.status_code == 200 else [f"{answer.status_code}"]
    if address.kind != "file" and "no-store" not in answer["Cache-Control"]:
        flaws.append("is stored, with names on it")
    whole = b"" if answer.streaming else answer.content
    if (b"<html" in whole) != (address.kind == "page"):
        flaws.append(f"is no {address.kind}")
    if answer["Content-Type"] == "application/pdf" and whole:
        flaws += pdf_flaws(whole)
    return flaws


@pytest.mark.parametrize("path", SENT_TO)
def test_an_address_takes_what_those_in_the_table_send(
    rows: dict[str, str], people: dict[str, Client], path: str
) -> None:
    assert let_in(people, "post", concrete(path, rows)) == ADDRESSES[path].sends


@pytest.mark.parametrize("path", sorted(set(ADDRESSES) - set(SENT_TO)))
def test_an_address_to_which_nobody_sends_has_no_such_method(
    rows: dict[str, str], people: dict[str, Client], path: str
) -> None:
    answer = people["coordinator"].post(concrete(path, rows))
    assert answer.status_code == NO_SUCH_METHOD


@pytest.mark.parametrize("path", sorted(set(ADDRESSES) - set(OPENED)))
def test_what_is_only_sent_to_is_not_opened(
    rows: dict[str, str], people: dict[str, Client], path: str
) -> None:
    assert people["coordinator"].get(concrete(path, rows)).status_code == NO_SUCH_METHOD


ACTS = [
    *(("requests/<int:pk>/act/", act) for act in (
        "take", "take and pack", "pack", "add", "send", "hand over", "give back", "not met",
        "take all", "send all", "hand over all")),
    *(("loads/<int:pk>/act/", act) for act in load_views.ACTS),
]  # fmt: skip
"""What is done with a request, but withdrawing it, and with a load."""


@pytest.mark.parametrize(("path", "act"), ACTS)
def test_an_act_is_for_those_who_work_there(
    rows: dict[str, str], people: dict[str, Client], path: str, act: str
) -> None:
    sent = {"act": act, "key": "a-key-of-mine"}
    assert let_in(people, "post", concrete(path, rows), **sent) == PACKERS


@pytest.mark.parametrize("verb", ["approve", "discard"])
def test_only_a_coordinator_approves_and_discards(
    rows: dict[str, str], people: dict[str, Client], verb: str
) -> None:
    path = concrete("sets/<str:code>/count-sheets/<int:revision>/compare/", rows)
    sent = {verb: "1", "reason": "because"}
    assert let_in(people, "post", path, **sent) == COORDINATORS


@pytest.mark.parametrize("role", list(ROLES))
def test_every_role_may_withdraw(
    rows: dict[str, str], people: dict[str, Client], role: str
) -> None:
    path = concrete("requests/<int:pk>/act/", rows)
    people[role].post(path, {"act": "withdraw", "reason": "case is off", "key": "a-key-of-mine"})
    assert Request.objects.get(pk=path.split("/")[2]).state == "withdrawn"


def test_a_liaison_may_nothing_but_see_and_ask(people: dict[str, Client]) -> None:
    may = User.objects.get(groups__name="OR liaison").get_all_permissions()
    beyond = {name for name in may if ".view_" not in name}
    assert beyond == {"assembly.ask_request"}
