"""A single package made for a request: the package and its tie, or neither."""

from __future__ import annotations

import pytest
from django.http import HttpResponse
from django.test import Client

from assembly.judging.decisions import decide_for_instrument
from assembly.judging.taking import NotClosed
from assembly.ledger import Refused
from assembly.models import Package, Request, RequestPackage
from assembly.persons import Person
from assembly.requests import asking, working
from catalog.models import Change, Instrument
from tests.factories import bench as at
from tests.factories import catalog as make
from tests.factories import loads
from tests.factories import requests as ask

pytestmark = pytest.mark.django_db


@pytest.fixture
def instrument() -> Instrument:
    make.Pouch()
    return make.Instrument(item_number="T-1", name="Metzenbaum scissors")


@pytest.fixture
def one(instrument: Instrument) -> Request:
    """A request that Tam Birkett packs."""
    request = ask.a_request(instrument)
    working.take(at.person(), request.pk, at.key())
    return working.start_packing(at.person(), request.pk, at.key())


def pack(one: Request, by: Person | None = None, key: str = "", **answers: str) -> Package:
    assert one.instrument is not None
    answer, plan = decide_for_instrument(one.instrument), at.plan_for(one.instrument, **answers)
    return working.pack_for_request(by or at.person(), one.pk, answer, plan, key or at.key())


def test_the_package_is_tied_to_the_request(one: Request) -> None:
    assert pack(one).ties.get().request == one


def test_the_same_key_gives_the_same_package(one: Request) -> None:
    assert pack(one, key="packed-once") == pack(one, key="packed-once")


def test_the_same_key_gives_it_also_when_the_request_has_gone_on(one: Request) -> None:
    first = pack(one, key="packed-once")
    loads.released(at.sealed(first))
    working.send(at.person(), one.pk, at.key())
    assert pack(one, key="packed-once") == first


def test_withdrawn_meanwhile_it_says_by_whom_and_why(one: Request) -> None:
    asking.withdraw(ask.liaison(), one.pk, at.key(), "the case is off")
    with pytest.raises(Refused, match=r"withdrawn: Lis Mellor, .* \(the case is off\)"):
        pack(one)


def test_taken_by_another_meanwhile_it_says_by_whom(one: Request) -> None:
    working.give_back(ask.other(), one.pk, at.key(), "Tam is at lunch")
    working.take(ask.other(), one.pk, at.key())
    with pytest.raises(Refused, match="Ola Brandt has taken it"):
        pack(one)


def test_for_a_request_that_is_gone_nothing_is_packed(one: Request) -> None:
    working.give_back(at.person(), one.pk, at.key())
    with pytest.raises(Refused):
        pack(one)
    assert not Package.objects.exists()


def test_a_tie_that_fails_takes_the_package_with_it(one: Request) -> None:
    Request.objects.update(number="T-2")  # what is packed is no longer what was asked for
    with pytest.raises(Refused, match="Asked for was"):
        pack(one)
    assert not Package.objects.exists()


def test_a_tie_that_fails_leaves_no_record_of_a_package(one: Request) -> None:
    Request.objects.update(number="T-2")
    with pytest.raises(Refused):
        pack(one)
    assert not Change.objects.filter(kind="package").exists()


def test_an_open_check_ties_nothing(one: Request) -> None:
    with pytest.raises(NotClosed):
        pack(one, air="no")
    assert not RequestPackage.objects.exists()


class TestPage:
    def post(self, client: Client, one: Request, key: str = "", **form: str) -> HttpResponse:
        assert one.instrument is not None
        plan = at.plan_for(one.instrument)
        given = {"key": key or at.key(), **at.sent(plan)}
        return client.post(f"/requests/{one.pk}/pack/", {**given, **form})

    @pytest.fixture
    def mine(self, one: Request, technician: Client) -> Request:
        """The same request, packed by whoever is signed in."""
        working.give_back(at.person(), one.pk, at.key())
        sent = {"act": "take and pack", "key": at.key()}
        technician.post(f"/requests/{one.pk}/act/", sent)
        return one

    def test_it_leads_to_the_label(self, mine: Request, technician: Client) -> None:
        answer = self.post(technician, mine)
        assert answer["Location"] == f"/packages/{Package.objects.get().code}/?print=1"

    def test_it_says_for_which_request(self, mine: Request, technician: Client) -> None:
        page = technician.get(f"/requests/{mine.pk}/pack/").content.decode()
        assert "Metzenbaum scissors to OR 3, Main ORs, by" in page

    def test_sent_twice_it_is_one_package(self, mine: Request, technician: Client) -> None:
        answers = [self.post(technician, mine, "sent-twice")["Location"] for _ in "12"]
        assert answers[0] == answers[1]

    def test_withdrawn_meanwhile_the_page_says_why(self, mine: Request, technician: Client) -> None:
        asking.withdraw(ask.liaison(), mine.pk, at.key(), "the case is off")
        answer = self.post(technician, mine)
        assert (answer.status_code, "the case is off" in answer.content.decode()) == (422, True)

    def test_withdrawn_meanwhile_no_answer_is_lost(self, mine: Request, technician: Client) -> None:
        asking.withdraw(ask.liaison(), mine.pk, at.key())
        answer = self.post(technician, mine, **{"check:air": "yes"})
        package = answer.context["groups"][-1]
        given = {one["key"]: one["given"] for one in package["checks"]}
        assert given["air"] == "yes"
