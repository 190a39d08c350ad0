"""Values proposed decide nothing until a coordinator confirms them."""

from __future__ import annotations

from decimal import Decimal

import pytest

from assembly.judging.decisions import decide_for_instrument
from assembly.ledger import Refused
from assembly.models import Proposal
from assembly.persons import Person
from assembly.questions import proposing
from assembly.questions.would_be import would_be
from assembly.rules.findings import Outcome
from catalog.models import Change, Instrument
from tests.factories import bench as at
from tests.factories import catalog as make

pytestmark = pytest.mark.django_db


def technician() -> Person:
    return at.person("Tam Birkett", "technician")


def coordinator() -> Person:
    return at.person("Bea Hartsop")


def bare(**values: object) -> Instrument:
    return make.Instrument(**{"weight_g": None, "ratchet": None, **values})


def proposed(instrument: Instrument, **values: object) -> Proposal:
    values = values or {"weight_g": Decimal("31.5")}
    return proposing.propose(technician(), instrument.pk, values, at.key())


def test_a_value_proposed_changes_neither_the_record_nor_the_decision() -> None:
    make.Pouch()
    instrument = bare()
    before = decide_for_instrument(instrument).decision
    proposed(instrument)
    instrument.refresh_from_db()
    assert instrument.weight_g is None
    assert decide_for_instrument(instrument).decision == before


def test_what_it_would_be_is_worked_out_and_marked() -> None:
    make.Pouch()
    instrument = bare()
    assert decide_for_instrument(instrument).decision.outcome is not Outcome.RECOMMENDED
    proposed(instrument)
    would = would_be(instrument)
    assert would is not None
    assert would.answer.decision.outcome is Outcome.RECOMMENDED
    assert "Tam Birkett measured, not confirmed" in would.marked
    assert instrument.weight_g is None


def test_where_nothing_is_proposed_there_is_nothing_it_would_be() -> None:
    assert would_be(bare()) is None


def test_confirmed_it_is_on_record_with_who_measured_and_who_confirmed() -> None:
    instrument = bare()
    one = proposed(instrument)
    proposing.confirm(coordinator(), one.pk, at.key())
    instrument.refresh_from_db()
    change = Change.objects.filter(object_key=instrument.item_number).latest("pk")
    assert instrument.weight_g == Decimal("31.5")
    assert (change.actor, change.after) == ("Bea Hartsop", {"weight_g": "31.5"})
    assert "measured by Tam Birkett" in change.reason


def test_that_it_has_none_is_proposed_and_confirmed_the_same_way() -> None:
    instrument = bare(hollow=None)
    one = proposed(instrument, ratchet=False, hollow=False)
    proposing.confirm(coordinator(), one.pk, at.key())
    instrument.refresh_from_db()
    assert (instrument.ratchet, instrument.hollow) == (False, False)


def test_the_same_press_twice_is_one_proposal() -> None:
    instrument, key = bare(), at.key()
    values = {"weight_g": Decimal(30)}
    first = proposing.propose(technician(), instrument.pk, values, key)
    assert proposing.propose(technician(), instrument.pk, values, key) == first
    assert Proposal.objects.count() == 1


def test_who_may_not_change_the_catalog_does_not_confirm() -> None:
    one = proposed(bare())
    with pytest.raises(Refused, match="may not do this"):
        proposing.confirm(technician(), one.pk, at.key())


def test_what_came_on_record_meanwhile_is_not_overwritten() -> None:
    instrument = bare()
    one = proposed(instrument)
    Instrument.objects.filter(pk=instrument.pk).update(weight_g=44)
    with pytest.raises(Refused, match="on record already: 44 g"):
        proposing.confirm(coordinator(), one.pk, at.key())
    instrument.refresh_from_db()
    one.refresh_from_db()
    assert (instrument.weight_g, one.state) == (44, Proposal.State.PROPOSED)


@pytest.mark.parametrize(
    ("values", "why"),
    [
        ({}, "Nothing was measured"),
        ({"length_mm": Decimal(100)}, "on record already"),
        ({"notes": "x"}, "nothing that can be proposed"),
        ({"forbids": ["wrap"]}, "nothing that can be proposed"),
    ],
)
def test_what_cannot_be_proposed_is_refused(values: dict[str, object], why: str) -> None:
    instrument = bare()
    with pytest.raises(Refused, match=why):
        proposing.propose(technician(), instrument.pk, values, at.key())
    assert not Proposal.objects.exists()


def test_the_same_value_is_not_proposed_twice() -> None:
    instrument = bare()
    proposed(instrument)
    with pytest.raises(Refused, match="proposed already, by Tam Birkett"):
        proposed(instrument)


def test_turned_down_it_needs_a_reason_and_may_be_proposed_anew() -> None:
    instrument = bare()
    one = proposed(instrument)
    with pytest.raises(Refused, match="Write why"):
        proposing.turn_down(coordinator(), one.pk, at.key())
    proposing.turn_down(coordinator(), one.pk, at.key(), "weighed with its protector")
    one.refresh_from_db()
    assert (one.state, one.steps.last().reason) == ("turned down", "weighed with its protector")
    assert proposed(instrument).state == Proposal.State.PROPOSED


def test_only_who_proposed_it_takes_it_back() -> None:
    one = proposed(bare())
    with pytest.raises(Refused, match="Tam Birkett proposed it"):
        proposing.take_back(at.person("Ola Brandt", "technician"), one.pk, at.key())
    proposing.take_back(technician(), one.pk, at.key())
    assert proposing.waiting() == []


def test_an_empty_protector_on_record_is_an_answer() -> None:
    """None is unknown and "" is none needed: two different facts."""
    assert "protector" in proposing.unknown(bare(protector=None))
    assert "protector" not in proposing.unknown(bare(protector=""))


def test_with_no_parts_on_record_the_parts_are_not_asked_about() -> None:
    make.Pouch()
    instrument = bare(weight_g=30)
    asked = decide_for_instrument(instrument).guidance
    assert asked is not None
    assert "parts" in [check.key for check in asked.checks]
    one = proposed(instrument, parts_apart="")
    proposing.confirm(coordinator(), one.pk, at.key())
    known = decide_for_instrument(Instrument.objects.get(pk=instrument.pk)).guidance
    assert known is not None
    assert "parts" not in [check.key for check in known.checks]
