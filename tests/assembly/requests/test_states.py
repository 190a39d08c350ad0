"""States that are true, and the next step of each: what is offered works, the rest is refused."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta

import pytest
from django.test import Client

from assembly.ledger import Refused
from assembly.models import Load, Package, Request, RequestStep
from assembly.packages import shelf
from assembly.request_pages.views import ACTS
from assembly.requests import asking, working
from assembly.requests.asking import Wanted
from assembly.requests.lists import rows
from assembly.sterilizing import gathering
from catalog.models import Instrument
from tests.conftest import user_in
from tests.factories import bench as at
from tests.factories import catalog as make
from tests.factories import loads
from tests.factories import requests as ask
from tests.factories.pages import Page, Press

pytestmark = pytest.mark.django_db

TAM = "Tam Birkett"


@pytest.fixture
def tam(roles: None, client: Client) -> Client:
    """A browser of the technician who does everything by hand in these tests."""
    user = user_in("technician")
    user.first_name, user.last_name = TAM.split()
    user.save()
    client.force_login(user)
    return client


@pytest.fixture
def instrument() -> Instrument:
    make.Pouch()
    return make.Instrument(item_number="T-1", spares_on_hand=2)


def mine(client: Client, one: Request) -> None:
    """The request is in the hands of whoever is signed in there."""
    Request.objects.filter(pk=one.pk).update(holder_id=client.session["_auth_user_id"])


def asked(instrument: Instrument) -> Request:
    return ask.a_request(instrument)


def taken(instrument: Instrument) -> Request:
    ask.on_shelf(instrument)
    return working.take(at.person(), asked(instrument).pk, at.key())


def packing(instrument: Instrument) -> Request:
    return working.take_and_pack(at.person(), asked(instrument).pk, at.key())


def _tied(instrument: Instrument, package: Package) -> Request:
    one = packing(instrument)
    working.tie(at.person(), one.pk, package)
    return one


def unsealed(instrument: Instrument) -> Request:
    return _tied(instrument, ask.a_package_to_seal(instrument))


def packed(instrument: Instrument) -> Request:
    return _tied(instrument, ask.a_package(instrument))


def packed_beside_a_load(instrument: Instrument) -> Request:
    one = packed(instrument)
    load = loads.a_load()
    Load.objects.filter(pk=load.pk).update(programme=Package.objects.get().method)
    return one


def in_a_load(instrument: Instrument) -> Request:
    one = packed(instrument)
    loads.a_load(Package.objects.get())
    return one


def in_the_sterilizer(instrument: Instrument) -> Request:
    one = packed(instrument)
    loads.running(Package.objects.get())
    return one


def released(instrument: Instrument) -> Request:
    one = packed(instrument)
    loads.released(Package.objects.get())
    return one


def on_the_way(instrument: Instrument) -> Request:
    return working.send(at.person(), released(instrument).pk, at.key())


def handed_over(instrument: Instrument) -> Request:
    return working.hand_over(at.person(), on_the_way(instrument).pk, at.key())


State = Callable[[Instrument], Request]
WORDS: dict[State, str] = {
    asked: "Asked",
    taken: "Taken",
    packing: "Being packed",
    unsealed: "Packed, waits for its seal",
    packed: "Packed, waits for a load",
    in_a_load: "Packed, in a load that is not started",
    in_the_sterilizer: "In the sterilizer",
    released: "Released, to be taken there",
    on_the_way: "On the way",
    handed_over: "Handed over",
}


@pytest.mark.parametrize("state", WORDS, ids=lambda one: one.__name__)
def test_each_state_is_what_really_happened(state: State, instrument: Instrument) -> None:
    assert rows([state(instrument)])[0].stands == WORDS[state]


def test_of_two_pieces_it_says_how_many_are_so_far(instrument: Instrument) -> None:
    one = released(instrument)
    Request.objects.filter(pk=one.pk).update(quantity=2)
    one.refresh_from_db()
    assert rows([one])[0].stands == "Being packed; 1 of 2: released, to be taken there"


NEXT: dict[State, tuple[str, str]] = {
    asked: ("take and pack", "Being packed"),
    taken: ("add", "Released, to be taken there"),
    packing: ("pack", "Being packed"),
    packed_beside_a_load: ("add", "Packed, in a load that is not started"),
    released: ("send", "On the way"),
    on_the_way: ("hand over", "Handed over"),
}
"""What is pressed on the page of the request, and how it stands then."""


@pytest.mark.parametrize("state", NEXT, ids=lambda one: one.__name__)
def test_the_next_step_is_pressed_and_succeeds(
    state: State, instrument: Instrument, tam: Client
) -> None:
    one = state(instrument)
    mine(tam, one)
    act, then = NEXT[state]
    page = Page.of(tam, f"/requests/{one.pk}/")
    strong = page.strong()
    assert isinstance(strong, Press) and strong.act == act
    assert strong.send(tam).status_code == 302
    one.refresh_from_db()
    assert rows([one])[0].stands == then


ELSEWHERE: dict[State, tuple[str, str, str]] = {
    unsealed: ("/packages/", "", "Packed, waits for a load"),
    in_a_load: ("/loads/", "start", "In the sterilizer"),
    in_the_sterilizer: ("/loads/", "release", "Released, to be taken there"),
}
"""Where the page of the request leads, what is pressed there, and how it stands then."""


@pytest.mark.parametrize("state", ELSEWHERE, ids=lambda one: one.__name__)
def test_the_next_step_on_another_page_succeeds(
    state: State, instrument: Instrument, tam: Client
) -> None:
    one = state(instrument)
    mine(tam, one)
    where, act, then = ELSEWHERE[state]
    there = Page.of(tam, f"/requests/{one.pk}/").strong()
    assert isinstance(there, str) and there.startswith(where)
    press = Page.of(tam, there).strong()
    assert isinstance(press, Press) and press.act == act
    press.send(tam, **{f"check:{key}": said for key, said in loads.all_yes().items()},
               biological=loads.NO_GROWTH)  # fmt: skip
    assert rows([one])[0].stands == then


FOR_WHO_ASKED = {"tell", "other source", "other time"}


@pytest.mark.parametrize("state", [*WORDS, packed_beside_a_load], ids=lambda one: one.__name__)
def test_what_is_not_offered_is_refused(state: State, instrument: Instrument, tam: Client) -> None:
    """In the hands of another, then in those of who presses."""
    one = state(instrument)
    _check_the_rest_is_refused(one, tam)
    mine(tam, one)
    _check_the_rest_is_refused(one, tam)


def _check_the_rest_is_refused(one: Request, tam: Client) -> None:
    offered = {press.act for press in Page.of(tam, f"/requests/{one.pk}/").presses
               if press.action == f"/requests/{one.pk}/act/"}  # fmt: skip
    before = _on_record(one)
    code = Package.objects.values_list("code", flat=True).first() or ""
    offered |= {f"{act} all" for act in offered} | FOR_WHO_ASKED
    for act in set(ACTS) - offered:
        scanned = "" if act == "send" else code
        tam.post(f"/requests/{one.pk}/act/",
                 {"act": act, "key": at.key(), "words": scanned, "reason": "why"})  # fmt: skip
        tam.cookies.pop("messages", None)
        assert _on_record(one) == before, (act, before)


def _on_record(one: Request) -> tuple[object, ...]:
    one.refresh_from_db()
    ties = list(one.ties.filter(let_go_at=None).values_list("package", flat=True))
    return one.state, one.holder_id, RequestStep.objects.count(), ties


class TestWhoCarriesIt:
    def test_it_is_in_the_hands_of_who_takes_it_there(self, instrument: Instrument) -> None:
        one = released(instrument)
        assert working.send(ask.other(), one.pk, at.key()).holder_name == "Ola Brandt"

    def test_another_adds_no_package_to_it(self, instrument: Instrument) -> None:
        one, other = released(instrument), ask.a_sterile_package(instrument)
        with pytest.raises(Refused, match="Tam Birkett has taken it"):
            working.send(ask.other(), one.pk, at.key(), other)

    def test_of_what_is_in_no_package_only_who_took_it_says_so(self) -> None:
        one = ask.a_request(make.Instrument())
        Request.objects.filter(pk=one.pk).update(number="", instrument=None)
        working.take(at.person(), one.pk, at.key())
        with pytest.raises(Refused, match="Tam Birkett has taken it"):
            working.send(ask.other(), one.pk, at.key())


@pytest.mark.parametrize("page", ["/requests/now/", "/requests/{}/now/"])
def test_a_page_that_is_open_shows_a_load_that_is_started(
    page: str, instrument: Instrument, tam: Client
) -> None:
    address = page.format(in_a_load(instrument).pk)
    seen = tam.get(address).context["seen"]
    gathering.start(at.person(), Load.objects.get().pk, at.key())
    now = tam.get(address, {"seen": seen})
    assert now.status_code == 200 and "In the sterilizer" in now.content.decode()


class TestLinks:
    def test_a_request_leads_to_its_load_and_back(
        self, instrument: Instrument, tam: Client
    ) -> None:
        one = in_the_sterilizer(instrument)
        load = Load.objects.get()
        there = f'href="/loads/{load.pk}/"' in tam.get(f"/requests/{one.pk}/").content.decode()
        back = f'href="/requests/{one.pk}/"' in tam.get(f"/loads/{load.pk}/").content.decode()
        assert (there, back) == (True, True)

    def test_before_its_cycle_is_over_it_says_when_it_is(
        self, instrument: Instrument, tam: Client
    ) -> None:
        one = packed(instrument)
        loads.running(Package.objects.get(), ago=timedelta(0))
        page = tam.get(f"/requests/{one.pk}/").content.decode()
        assert "Not before" in page and "Release load" not in page


class TestReleased:
    def test_it_goes_to_the_request_that_waits_for_one(
        self, instrument: Instrument, tam: Client
    ) -> None:
        one, package = packing(instrument), ask.a_sterile_package(instrument)
        mine(tam, one)
        page = f"/packages/{package.code}/"
        assert Page.of(tam, page).strong() == f"/requests/{one.pk}/"
        working.tie(at.person(), packing(instrument).pk, ask.a_sterile_package(instrument))
        Request.objects.exclude(pk=one.pk).update(holder_id=tam.session["_auth_user_id"])
        working.give_back(ask.other(), one.pk, at.key(), "no longer")
        assert Page.of(tam, page).strong() == f"/shelf/?package={package.code}"


class TestTheOldest:
    """First in, first out."""

    def test_it_is_proposed_with_its_place(self, instrument: Instrument) -> None:
        first, _ = ask.on_shelf(instrument, "B2"), ask.on_shelf(instrument, "A1")
        found = shelf.oldest("T-1")
        assert found == first and found.shelved.place.code == "B2"

    def test_of_two_pieces_each_is_proposed(self, instrument: Instrument, tam: Client) -> None:
        both = [ask.on_shelf(instrument) for _ in "12"]
        one = working.take(at.person(), ask.a_request(instrument, quantity=2).pk, at.key())
        mine(tam, one)
        for package in both:
            strong = Page.of(tam, f"/requests/{one.pk}/").strong()
            assert isinstance(strong, Press) and strong.fields["words"] == [package.code]
            strong.send(tam)
        strong = Page.of(tam, f"/requests/{one.pk}/").strong()
        assert isinstance(strong, Press) and strong.act == "send"

    def test_what_is_past_its_date_is_not(self, instrument: Instrument) -> None:
        old, next_one = ask.on_shelf(instrument), ask.on_shelf(instrument)
        Package.objects.filter(pk=old.pk).update(use_by="2026-01-01")
        assert shelf.oldest("T-1") == next_one

    def test_a_complete_one_goes_before_one_with_shortages(self, instrument: Instrument) -> None:
        short, whole = ask.on_shelf(instrument), ask.on_shelf(instrument)
        Package.objects.filter(pk=short.pk).update(shortages=["MISSING 1 Péan (2 of 3 in the set)"])
        assert shelf.oldest("T-1") == whole

    def test_promised_to_another_it_is_not(self, instrument: Instrument) -> None:
        promised = ask.on_shelf(instrument)
        one = working.take(at.person(), asked(instrument).pk, at.key())
        working.tie(at.person(), one.pk, promised)
        assert shelf.oldest("T-1") is None


def test_a_set_that_is_on_its_way_to_be_sterile_is_offered_before_another(tam: Client) -> None:
    """Nothing there: assemble it; another assembles one: theirs; one in a load: that one goes."""
    wanted = at.a_set("TS-1")
    asked = Wanted(instrument_set=wanted)
    one = asking.ask(ask.liaison(), asked, ask.ask_for(), at.key())
    working.take(at.person(), one.pk, at.key())
    mine(tam, one)
    address = f"/requests/{one.pk}/"
    assert "Assemble TS-1" in tam.get(address).content.decode()
    build = at.a_build(wanted)
    page = tam.get(address).content.decode()
    assert "Assemble TS-1" not in page and f"{build.holder_name} is assembling one" in page
    package = at.signed(build)
    loads.running(package)
    page = tam.get(address).content.decode()
    assert "Assemble TS-1" not in page and f"{package.code} goes" in page
    tam.post(f"{address}act/", {"act": "add", "words": package.code, "key": at.key()})
    page = tam.get(address).content.decode()
    assert "Assemble TS-1" not in page and "Release load" in page
