"""A question reaches the coordinators; its answer comes back to who asked."""

from __future__ import annotations

import pytest
from django.test import Client

from assembly.ledger import Refused
from assembly.models import Question
from assembly.persons import Person
from assembly.questions import asking
from tests.conftest import user_in
from tests.factories import bench as at
from tests.factories import catalog as make

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("roles")]


def technician() -> Person:
    return at.person("Tam Birkett", "technician")


def coordinator() -> Person:
    return at.person("Bea Hartsop")


def asked(**values: str) -> Question:
    return asking.ask(technician(), make.Instrument(), at.key(), **values)


def test_what_is_asked_waits_for_a_coordinator() -> None:
    one = asked(finding="No one cycle serves it.")
    assert asking.asked() == [one]
    assert asking.answers_for(technician()) == []


def test_the_answer_comes_to_who_asked_and_to_the_thing_asked_about() -> None:
    one = asked()
    asking.answer(coordinator(), one.pk, at.key(), "Lay it aside, I come at ten.")
    assert asking.asked() == []
    assert [q.answer for q in asking.answers_for(technician())] == ["Lay it aside, I come at ten."]
    assert [q.answered_by for q in asking.about(one.about)] == ["Bea Hartsop"]
    assert asking.answers_for(coordinator()) == []


def test_an_empty_answer_is_refused() -> None:
    one = asked()
    with pytest.raises(Refused, match="Tam Birkett waits for it"):
        asking.answer(coordinator(), one.pk, at.key(), "  ")


def test_a_technician_does_not_answer() -> None:
    with pytest.raises(Refused, match="may not do this"):
        asking.answer(technician(), asked().pk, at.key(), "Go on.")


def test_the_slower_of_two_coordinators_reads_who_answered() -> None:
    one = asked()
    asking.answer(coordinator(), one.pk, at.key(), "Yes.")
    with pytest.raises(Refused, match="is answered: Bea Hartsop"):
        asking.answer(at.person("Ola Brandt"), one.pk, at.key(), "No.")


def test_the_same_is_not_asked_twice_while_it_waits() -> None:
    one = asked(words="Which basket?")
    with pytest.raises(Refused, match="asked this already"):
        asking.ask(at.person("Ola Brandt"), one.about, at.key(), words="Which basket?")
    assert asking.ask(technician(), one.about, at.key(), words="Which lid?").pk != one.pk


def test_who_asked_puts_the_answer_away() -> None:
    one = asked()
    asking.answer(coordinator(), one.pk, at.key(), "Yes.")
    with pytest.raises(Refused, match="Tam Birkett asked it"):
        asking.close(coordinator(), one.pk, at.key())
    asking.close(technician(), one.pk, at.key())
    assert asking.about(one.about) == []


@pytest.mark.parametrize("kind", ["instrument", "instrument_set", "build"])
def test_any_page_asks_about_its_thing_and_goes_back_to_it(kind: str) -> None:
    things = {"instrument": lambda: make.Instrument(), "instrument_set": at.a_set,
              "build": at.a_build}  # fmt: skip
    thing = things[kind]()
    number = {"instrument": "item_number", "instrument_set": "code", "build": "pk"}[kind]
    client = Client()
    client.force_login(user_in("technician"))
    sent = {"key": at.key(), kind: getattr(thing, number), "next": "/sets/"}
    answer = client.post("/questions/ask/", sent)
    assert answer["Location"] == "/sets/"
    assert Question.objects.get().about == thing
