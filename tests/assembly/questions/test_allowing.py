"""A coordinator signs an override on the page of a question: it serves one package, as it was
read, and what nobody may take is not signed."""

from __future__ import annotations

from typing import Any

import pytest
from django.contrib.auth.models import User
from django.http import HttpResponse
from django.test import Client

from assembly.models import Package, Question
from assembly.persons import person_of
from assembly.questions import asking
from catalog.models import Instrument
from tests.conftest import user_in
from tests.factories import bench as at
from tests.factories import catalog as make

pytestmark = pytest.mark.django_db
NARROW = "pouch:P-75"


@pytest.fixture
def instrument(roles: None) -> Instrument:
    """It fits in no pouch that is stocked."""
    make.Pouch(code="P-75", outer_width_mm=75, inner_width_mm=59)
    return make.Instrument(item_number="T-1", name="Hook")


@pytest.fixture
def tam() -> Client:
    return as_user(user_in("technician"))


@pytest.fixture
def bea(tam: Client) -> Client:
    return as_user(user_in("coordinator"))


def as_user(user: User) -> Client:
    client = Client()
    client.force_login(user)
    return client


def asked(about: Any) -> Question:
    tam = person_of(User.objects.get(username="a-technician"))
    return asking.ask(tam, about, at.key(), finding="Too wide.")


def sign(client: Client, question: Question, query: str, because: str = "none left",
         **more: str) -> HttpResponse:  # fmt: skip
    """All that the page shows as open, accepted for one reason."""
    page = f"/questions/{question.pk}/sign/{query}"
    shown = client.get(page).context
    keys = [one["key"] for one in shown["open"]]
    sent = {"key": at.key(), "take": shown["option"].key, "accept": keys, **more}
    return client.post(page, sent | {f"because:{key}": because for key in keys})


def pack(client: Client, query: str = f"?take={NARROW}") -> HttpResponse:
    plan = at.plan_for(Instrument.objects.get(), NARROW)
    return client.post(f"/instruments/T-1/{query}", {**at.sent(plan), "key": at.key()})


def test_signed_at_the_question_the_bench_packs_without_a_password(
    instrument: Instrument, tam: Client, bea: Client
) -> None:
    question = asked(instrument)
    sign(bea, question, f"?take={NARROW}")
    pack(tam)
    package = Package.objects.get()
    assert (package.override_by, package.override_reason) == ("a-coordinator", "none left")
    assert package.packed_by == "a-technician"
    question.refresh_from_db()
    assert question.state == "closed"


def test_the_answer_on_the_bench_leads_there(
    instrument: Instrument, tam: Client, bea: Client
) -> None:
    sign(bea, asked(instrument), f"?take={NARROW}", answer="Only today.")
    page = tam.get("/bench/").content.decode()
    assert "Only today." in page and "/instruments/T-1/?take=pouch%3AP-75" in page
    page = tam.get(f"/instruments/T-1/?take={NARROW}").content.decode()
    assert "Accepted by a-coordinator: none left" in page and "override_password" not in page


def test_it_serves_one_package(instrument: Instrument, tam: Client, bea: Client) -> None:
    sign(bea, asked(instrument), f"?take={NARROW}")
    pack(tam)
    assert pack(tam).status_code == 422
    assert Package.objects.count() == 1


def test_it_does_not_serve_a_strip(instrument: Instrument, tam: Client, bea: Client) -> None:
    sign(bea, asked(instrument), f"?take={NARROW}")
    plan = at.plan_for(instrument, NARROW)
    sent = {**at.sent(plan), "key": at.key(), "copies": "2"}
    page = tam.post(f"/instruments/T-1/?take={NARROW}", sent)
    assert "signed for one package" in page.content.decode()
    assert not Package.objects.exists()


def test_what_is_found_otherwise_by_then_was_not_signed(
    instrument: Instrument, tam: Client, bea: Client
) -> None:
    sign(bea, asked(instrument), f"?take={NARROW}")
    Instrument.objects.update(width_mm=instrument.width_mm + 7)
    assert "signed for something else than is found now" in pack(tam).content.decode()
    assert not Package.objects.exists()


def test_another_way_to_pack_it_was_not_signed(
    instrument: Instrument, tam: Client, bea: Client
) -> None:
    make.Pouch(code="P-76", outer_width_mm=75, inner_width_mm=59)
    sign(bea, asked(instrument), f"?take={NARROW}")
    sent = at.sent(at.plan_for(instrument, "pouch:P-76"))
    page = tam.post("/instruments/T-1/?take=pouch:P-76", {**sent, "key": at.key()})
    assert "Pack it as a-coordinator signed it" in page.content.decode()
    assert not Package.objects.exists()


def test_without_a_reason_nothing_is_signed(
    instrument: Instrument, tam: Client, bea: Client
) -> None:
    question = asked(instrument)
    assert sign(bea, question, f"?take={NARROW}", because=" ").status_code == 422
    question.refresh_from_db()
    assert question.state == "asked"


def test_what_the_rules_pass_is_not_signed(
    instrument: Instrument, tam: Client, bea: Client
) -> None:
    make.Pouch(code="P-200", outer_width_mm=200, outer_length_mm=400, inner_width_mm=184,
               inner_length_mm=355)  # fmt: skip
    question = asked(instrument)
    page = bea.get(f"/questions/{question.pk}/sign/").content.decode()
    assert "there is nothing to sign" in page and "Sign for one package" not in page


def test_who_may_not_override_any_more_signed_for_nothing(
    instrument: Instrument, tam: Client, bea: Client
) -> None:
    sign(bea, asked(instrument), f"?take={NARROW}")
    User.objects.get(username="a-coordinator").groups.clear()
    assert "may not do this" in pack(tam).content.decode()
    assert not Package.objects.exists()


class TestSets:
    def test_signed_for_a_set_it_serves_its_assembly(
        self, roles: None, tam: Client, bea: Client
    ) -> None:
        one = heavy_set()
        sign(bea, asked(one), "")
        user = person_of(User.objects.get(username="a-technician"))
        build = at.a_build(one, user)
        at.complete(build, user)
        page = f"/builds/{build.pk}/pack/"
        shown = tam.get(page).context
        assert shown["allowed_findings"]
        sent = {**at.sent(at.all_yes(build)), "key": at.key(), "act": "pack"}
        tam.post(page, sent)
        assert Package.objects.get().override_by == "a-coordinator"


def heavy_set() -> Any:
    """A set over the weight limit, else as it should be."""
    one = at.a_set("TS-1")
    Instrument.objects.update(weight_g=6000)
    return one
