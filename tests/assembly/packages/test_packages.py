"""Single packages: recorded once, refused when a check is, void for a reason."""

from __future__ import annotations

import pytest
from django.db import IntegrityError, transaction

from assembly.judging.decisions import decide_for_instrument
from assembly.judging.taking import NotClosed, Plan, options
from assembly.ledger import Refused
from assembly.models import Package
from assembly.packages import recording as packages
from assembly.packages.recording import package_code, read_package_code
from catalog.models import Change, Instrument
from tests.factories import bench as at
from tests.factories import catalog as make

pytestmark = pytest.mark.django_db


@pytest.fixture
def instrument() -> Instrument:
    make.Pouch(code="P-150")
    return make.Instrument(item_number="T-1")


def pack(instrument: Instrument, plan: Plan, key: str = "") -> Package:
    answer = decide_for_instrument(instrument)
    return packages.pack_single(at.person(), instrument, answer, plan, key or at.key())


def test_the_same_key_gives_the_same_package(instrument: Instrument) -> None:
    found = {pack(instrument, at.plan_for(instrument), "pack-once-key").pk for _ in range(2)}
    assert len(found) == 1


def test_a_package_keeps_the_decision_of_its_moment(instrument: Instrument) -> None:
    package = pack(instrument, at.plan_for(instrument))
    instrument.length_mm = 500
    instrument.save()
    package.refresh_from_db()
    assert package.decision["facts"]["length_mm"] == 140.0


def test_a_no_is_no_package(instrument: Instrument) -> None:
    with pytest.raises(NotClosed):
        pack(instrument, at.plan_for(instrument, air="no"))
    assert not Package.objects.exists()


def test_what_the_rules_refuse_needs_an_override(instrument: Instrument) -> None:
    make.Pouch(code="P-75", outer_width_mm=75, inner_width_mm=59)
    with pytest.raises(NotClosed, match="coordinator"):
        pack(instrument, at.plan_for(instrument, "pouch:P-75"))


def test_overridden_it_is_on_record_with_the_reason(instrument: Instrument) -> None:
    make.Pouch(code="P-75", outer_width_mm=75, inner_width_mm=59)
    plan = at.plan_for(instrument, "pouch:P-75")
    pack(instrument, at.overridden(decide_for_instrument(instrument), plan, "none left"))
    change = Change.objects.get(kind="package")
    assert (change.reason, change.after["rules overridden by"]) == ("none left", "Bea Hartsop")


def test_what_cannot_be_told_needs_an_override_too(instrument: Instrument) -> None:
    instrument.weight_g = None
    instrument.save()
    with pytest.raises(NotClosed, match="do not pass"):
        pack(instrument, at.plan_for(instrument))


def test_what_cannot_be_told_is_named_on_the_package(instrument: Instrument) -> None:
    instrument.weight_g = None
    instrument.save()
    plan = at.plan_for(instrument)
    package = pack(
        instrument, at.overridden(decide_for_instrument(instrument), plan, "scale broken")
    )
    assert any("weigh" in words for words in package.not_known)


def test_an_alternative_says_what_it_costs_in_room(instrument: Instrument) -> None:
    make.Pouch(code="P-200", outer_width_mm=200, outer_length_mm=300, inner_width_mm=184)
    other = next(o for o in options(decide_for_instrument(instrument)) if not o.recommended)
    assert other.cost == "50 mm more room in width"


def test_void_needs_a_reason(instrument: Instrument) -> None:
    package = pack(instrument, at.plan_for(instrument))
    with pytest.raises(Refused, match="reason"):
        packages.void_package(at.person(), package.pk, "")


def test_void_twice_keeps_the_first_reason(instrument: Instrument) -> None:
    package = pack(instrument, at.plan_for(instrument))
    for reason in ("seal torn", "another"):
        packages.void_package(at.person(), package.pk, reason)
    package.refresh_from_db()
    assert package.void_reason == "seal torn"


def test_a_sets_package_is_void_by_reopening_only() -> None:
    with pytest.raises(Refused, match="Reopen"):
        packages.void_package(at.person(), at.signed().pk, "torn")


def test_the_database_takes_no_override_without_a_reason(instrument: Instrument) -> None:
    package = pack(instrument, at.plan_for(instrument))
    package.override_by = "somebody"
    with pytest.raises(IntegrityError), transaction.atomic():
        package.save()


@pytest.mark.parametrize("number", [1, 123, 999_999, 1_234_567])
def test_a_code_reads_back(number: int) -> None:
    code = package_code(number)
    assert read_package_code(code.lower()) == code


@pytest.mark.parametrize("place", [3, 4, 5, 6, 7, 8])
def test_one_wrong_digit_is_noticed(place: int) -> None:
    code = package_code(123_456)
    wrong = code[:place] + str((int(code[place]) + 1) % 10) + code[place + 1 :]
    assert read_package_code(wrong) is None


def test_two_exchanged_digits_are_noticed() -> None:
    code = package_code(123_456)
    assert read_package_code(code.replace("34", "43")) is None
