"""Each person's first page is theirs, and an empty part of it does not show."""

from __future__ import annotations

from datetime import date, timedelta
from html import unescape

import pytest
from django.contrib.auth.models import User
from django.test import Client

from assembly.models import RecallNotice
from assembly.packages import recalls, shelf
from assembly.questions import asking, proposing
from assembly.requests.asking import Wanted
from assembly.requests.asking import ask as ask_for_words
from assembly.sterilizing import recalling
from tests.conftest import user_in
from tests.factories import bench as at
from tests.factories import catalog as make
from tests.factories import requests as ask

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("roles")]


def page_for(role: str, path: str = "/") -> str:
    client = Client()
    client.force_login(user_in(role))
    return client.get(path).content.decode()


@pytest.mark.parametrize(
    ("role", "title"),
    [("technician", "Bench"), ("OR liaison", "Ask"), ("coordinator", "What waits for you")],
)
def test_each_person_lands_on_their_own_page(role: str, title: str) -> None:
    assert f"<title>{title}" in page_for(role)


def test_after_signing_in_it_is_the_first_page() -> None:
    user_in("coordinator")
    sent = {"username": "a-coordinator", "password": "for-the-tests"}
    page = Client().post("/sign-in/", sent, follow=True).content.decode()
    assert "<title>What waits for you" in page


def as_coordinator() -> str:
    client = Client()
    client.force_login(User.objects.get(username="a-coordinator"))
    return client.get("/").content.decode()


class TestCoordinator:
    @pytest.fixture(autouse=True)
    def coordinator_on_record(self, roles: None) -> None:
        user_in("coordinator")

    def heads(self) -> list[str]:
        page = as_coordinator()
        return [unescape(part.split("<")[0]) for part in page.split("<h2>")[1:]]

    def test_where_nothing_waits_no_part_shows(self) -> None:
        assert self.heads() == []
        assert "Nothing waits for a coordinator" in as_coordinator()

    def test_a_recall_that_its_department_has_not_read_comes_first(self) -> None:
        package = ask.a_sterile_package(make.Instrument(item_number="T-1"))
        shelf.hand_over(at.person(), package, "Day clinic", at.key())
        recalling.recall(at.person(), "instrument", "T-1", at.key(), "a fault")
        assert [head.split(":")[0] for head in self.heads()] == ["Recalled"]
        recalls.read_notice(at.person(), RecallNotice.objects.get().pk, at.key())
        assert self.heads() == []

    def test_each_part_shows_what_waits(self) -> None:
        tam = at.person("Tam Birkett", "technician")
        thing = make.Instrument(weight_g=None, ifu_review_on=date.today() - timedelta(days=1))
        asking.ask(tam, thing, at.key(), finding="It is too heavy.")
        asking.ask(tam, thing, at.key(), words="Which basket?")
        proposing.propose(tam, thing.pk, {"weight_g": 30}, at.key())
        ask_for_words(ask.liaison(), Wanted(words="Mystery hook"), ask.ask_for(), at.key())
        ask.a_request(thing)
        make.SpreadsheetBatch(state="checked")
        assert self.heads() == [
            "Overrides asked", "Questions", "Values proposed", "Not in the catalog",
            "Nothing on record can serve these in time",
            "IFUs to compare with the maker's current one", "Spreadsheets not finished",
        ]  # fmt: skip

    def test_an_answer_given_here_takes_it_off_the_list(self) -> None:
        tam = at.person("Tam Birkett", "technician")
        one = asking.ask(tam, make.Instrument(), at.key(), words="Which basket?")
        client = Client()
        client.force_login(User.objects.get(username="a-coordinator"))
        sent = {"act": "answer", "words": "The flat one.", "key": at.key(), "next": "/waits/"}
        page = client.post(f"/questions/{one.pk}/act/", sent, follow=True).content.decode()
        assert "Which basket?" not in page


class TestBench:
    def test_where_nothing_waits_it_says_what_to_do(self) -> None:
        assert "Nothing waits. Scan a set or an instrument to begin." in page_for("technician")

    def test_my_assembly_goes_on_with_one_press(self) -> None:
        user = user_in("technician")
        build = at.a_build(at.a_set("TS-1"), at.Person(user.pk, "Tam", at.person().permissions))
        client = Client()
        client.force_login(user)
        page = client.get("/").content.decode()
        assert f'class="go-on" href="/builds/{build.pk}/"' in page

    def test_my_answer_is_there_until_i_have_read_it(self) -> None:
        user = user_in("technician")
        me = at.Person(user.pk, "Tam", at.person().permissions)
        one = asking.ask(me, make.Instrument(), at.key(), words="Which basket?")
        asking.answer(at.person("Bea Hartsop"), one.pk, at.key(), "The flat one.")
        client = Client()
        client.force_login(user)
        assert "The flat one." in client.get("/").content.decode()
        client.post(f"/questions/{one.pk}/act/", {"act": "close", "key": at.key()})
        assert "The flat one." not in client.get("/").content.decode()

    def test_what_i_measured_and_was_turned_down_is_told(self) -> None:
        user = user_in("technician")
        me = at.Person(user.pk, "Tam", at.person().permissions)
        thing = make.Instrument(weight_g=None)
        one = proposing.propose(me, thing.pk, {"weight_g": 30}, at.key())
        proposing.turn_down(at.person("Bea Hartsop"), one.pk, at.key(), "with its protector on")
        client = Client()
        client.force_login(user)
        assert "with its protector on" in client.get("/").content.decode()

    def test_the_part_that_renews_itself_shows_what_is_new(self) -> None:
        ask.a_request()
        client = Client()
        client.force_login(user_in("technician"))
        seen = client.get("/bench/now/").context["seen"]
        ask.a_request()
        assert client.get(f"/bench/now/?seen={seen}").status_code == 200


class TestAskForIt:
    """From the page of a set, who asks and does not assemble is one press from asking."""

    def test_the_liaison_asks_from_the_page_of_a_set(self) -> None:
        at.a_set("TS-1")
        assert 'href="/requests/ask/?from=TS-1"' in page_for("OR liaison", "/sets/TS-1/")

    def test_a_technician_assembles_it_instead(self) -> None:
        at.a_set("TS-1")
        assert 'href="/requests/ask/?from=TS-1"' not in page_for("technician", "/sets/TS-1/")


def test_a_request_for_what_was_retired_since_is_not_offered_to_be_packed() -> None:
    instrument = make.Instrument(item_number="T-1", spares_on_hand=1)
    one = ask.a_request(instrument)
    assert f"Take request {one.pk} and pack it" in page_for("technician")
    type(instrument).objects.update(retired=True)
    client = Client()
    client.force_login(User.objects.get(username="a-technician"))
    assert "and pack it" not in client.get("/").content.decode()
