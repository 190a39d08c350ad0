"""What a package used up is on record as it is packed: for use by month, and what is on hand.

How many indicators go into a package is the policy's (``tests/rules/telling``). A wrapped pack has
two layers, of one bonded sheet or of two (``rules/facts/supplies.py``).
"""

from __future__ import annotations

from importlib import import_module
from unittest.mock import Mock

import pytest

from assembly.judging.decisions import Answer, decide_for_instrument
from assembly.judging.taking import chosen, options
from assembly.models import Package, SupplyUse
from assembly.packages import lots, recording
from assembly.packages.uses import uses_of
from catalog.models import Instrument, Protector, Roll, Wrap
from tests.factories import bench as at
from tests.factories import catalog as make
from tests.factories import requests as ask

pytestmark = pytest.mark.django_db


def used(package: Package) -> dict[str, int]:
    return {one.supply: one.amount for one in package.uses.all()}


def by_option(answer: Answer, start: str) -> dict[str, tuple[int, float | None]]:
    """What the option whose key starts so would use, with the length of what is cut."""
    option = next(one for one in options(answer) if one.key.startswith(start))
    found = uses_of(answer, option, answer.guidance_in(option.candidate))
    return {one["supply"]: (one["amount"], one.get("mm")) for one in found}


@pytest.fixture
def instrument() -> Instrument:
    make.Pouch()
    return make.Instrument(item_number="T-1")


def test_a_pouch_its_indicator_and_its_label(instrument: Instrument) -> None:
    package = ask.a_package(instrument)
    taken = package.decision["taken"]
    assert used(package) == {taken: 1, "indicator:steam": 1, "label:package": 1}


def test_a_set_its_filter_and_its_indicators() -> None:
    package = at.signed()
    container = package.decision["taken"].partition(":")[2]
    policy_says = 2  # one in each of two opposite corners
    assert used(package) == {
        f"filter:{container}": 1, "indicator:steam": policy_says, "label:package": 1
    }  # fmt: skip


def test_a_piece_of_roll_has_its_length_and_a_wrap_its_sheets(instrument: Instrument) -> None:
    Roll.objects.create(code="R-1", nominal_width_mm=150, side_seal_mm=8, material="paper-film")
    for code, layers in (("W-1", 1), ("W-2", 2)):
        Wrap.objects.create(code=code, width_mm=900, length_mm=900, layers=layers, material="sms")
    answer = decide_for_instrument(instrument)
    roll = by_option(answer, "roll:R-1")["roll:R-1"]
    assert roll[0] == 1 and roll[1]
    assert by_option(answer, "wrap:W-1")["wrap:W-1"] == (2, None)
    assert by_option(answer, "wrap:W-2")["wrap:W-2"] == (1, None)


def test_protectors_are_counted_by_the_piece_where_their_size_is_known() -> None:
    make.Pouch()
    Protector.objects.create(code="V-1", name="vented")
    instrument = make.Instrument(item_number="T-1", protector="vented")
    answer = decide_for_instrument(instrument, pieces=2)
    option = chosen(answer)
    assert option
    uses = uses_of(answer, option, answer.guidance_in(option.candidate))
    assert {"supply": "protector:V-1", "amount": 2} in uses
    Protector.objects.create(code="V-2", name="Vented")
    answer = decide_for_instrument(instrument)
    assert "protector:vented" in by_option(answer, option.key)


def test_each_of_several_alike_used_its_own(instrument: Instrument) -> None:
    plan = at.plan_for(instrument)
    recording.pack_single(
        at.person(), instrument, decide_for_instrument(instrument),
        plan.__class__(plan.option, plan.answers, copies=3), at.key(),
    )  # fmt: skip
    assert SupplyUse.objects.filter(supply__startswith="pouch:").count() == 3


def test_it_names_the_lot_that_was_open(instrument: Instrument) -> None:
    lots.open_lot(at.person(), "indicator:steam", "L-7", at.key())
    package = ask.a_package(instrument)
    assert {one.supply: one.lot for one in package.uses.exclude(lot="")} == {
        "indicator:steam": "L-7"
    }


def test_a_lot_of_protectors_is_borne_too() -> None:
    make.Pouch()
    Protector.objects.create(code="V-1", name="vented", vented=True, material="silicone",
                             bore_mm=5, length_mm=20, wall_mm=1,
                             labelled_methods=["steam"])  # fmt: skip
    instrument = make.Instrument(item_number="T-1", protector="vented")
    lots.open_lot(at.person(), "protector:V-1", "L-8", at.key())
    assert ask.a_package(instrument).lots.get().lot == "L-8"


def test_what_was_packed_before_it_was_on_record_counts_too(instrument: Instrument) -> None:
    double, in_wrap = ask.a_package(instrument), ask.a_package(instrument)
    boxed = at.signed()
    packages = Mock()
    packages.objects.order_by().values_list.return_value = [
        (double.pk, "pouch:IN-1:OUT-1"), (in_wrap.pk, "wrap:W-1:envelope"), (boxed.pk, boxed.taken)
    ]  # fmt: skip
    then = Mock(get_model=lambda _, name: {"SupplyUse": SupplyUse, "Package": packages}[name])
    SupplyUse.objects.all().delete()
    import_module("assembly.migrations.0023_uses_on_record").uses_on_record(then, None)
    container = boxed.taken.partition(":")[2]
    assert used(double) == {"pouch:IN-1": 1, "pouch:OUT-1": 1, "label:package": 1}
    assert used(in_wrap) == {"wrap:W-1": 1, "label:package": 1}
    assert used(boxed) == {f"filter:{container}": 1, "label:package": 1}
