"""What condenses on sets on record: the list, one set, the command."""

from __future__ import annotations

import json
from io import StringIO
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from assembly.planning.wet_risk import risk_of, with_figures
from assembly.sterilizing import wet
from catalog.models import Basket, Container, CycleOption, Instrument, InstrumentSet, Programme
from tests.factories import bench as at
from tests.factories import catalog as make
from tests.factories import loads

pytestmark = pytest.mark.django_db


def a_set(code: str = "TS-1", made_of: str = "aluminum") -> InstrumentSet:
    """Three pieces of 600 g in a basket of 650 g and a container of 3,200 g."""
    found = at.a_set(code)
    Instrument.objects.filter(lines__count_sheet__instrument_set=found).update(weight_g=600)
    Container.objects.filter(pk=found.container_id).update(made_of=made_of)
    found.basket = Basket.objects.create(
        code=f"BK-{code}", name="basket", tare_g=650, made_of="steel",
        inner_length_mm=480, inner_width_mm=250,
    )  # fmt: skip
    found.save()
    return InstrumentSet.objects.select_related("container", "basket").get(pk=found.pk)


def row(code: str = "TS-1") -> Any:
    return with_figures().get(code=code)


def told(*words: str) -> str:
    out = StringIO()
    call_command("wet_risk", *words, stdout=out)
    return out.getvalue()


def risk(one: InstrumentSet) -> Any:
    found = risk_of(one)
    assert found is not None
    return found


def test_by_hand() -> None:
    """3 x 600 + 650 + 3,200 = 5,650 g of metal on 1,200 cm²; 2,450 g x 0.50 x 109 / 2162 and
    3,200 g x 0.90 x 109 / 2162 = 61.8 + 145.2 g."""
    a_set()
    assert row().mass_g == 5_650
    assert row().per_cm2 == pytest.approx(4.708, abs=0.001)
    assert row().water_g == pytest.approx(207.0, abs=0.1)
    assert (row().heaviest_g, row().not_known) == (600, 0)


@pytest.mark.parametrize("made_of", ["steel", "aluminum", "titanium", "plastic", ""])
@pytest.mark.parametrize("weight_g", [600, None])
def test_the_list_says_what_the_rule_says(made_of: str, weight_g: int | None) -> None:
    one = a_set(made_of=made_of)
    first = Instrument.objects.get(item_number="TS-1-1")
    first.weight_g = weight_g
    first.save()
    found, listed = risk(one).wetting, row()
    assert listed.mass_g == pytest.approx(found.metal_g)
    assert listed.water_g == pytest.approx(found.condensate_g)
    assert listed.per_cm2 == pytest.approx(found.metal_per_cm2)
    assert bool(listed.not_known) == found.at_least
    assert listed.not_known == len(found.unweighed) + len(found.of_unknown)


def test_without_basket_and_container_nothing_is_known_of_its_tray() -> None:
    one = at.a_set()
    InstrumentSet.objects.filter(pk=one.pk).update(container=None)
    assert row().per_cm2 is None
    one.refresh_from_db()
    assert risk(one).unknown == ["The size of its tray is not on record."]


def test_a_set_for_which_nothing_is_recommended_gets_no_longer_drying() -> None:
    one = at.a_set()
    Programme.objects.update(active=False)
    assert risk(one).advice[-1].words.startswith("Nothing is recommended for the set as it is")


def test_where_no_steam_condenses_it_says_so() -> None:
    one, eo = at.a_set(), {"method": "eo", "air_removal": "", "temperature_c": 55}
    Programme.objects.update(**eo)
    CycleOption.objects.update(**eo)
    assert "ethylene oxide, where no steam condenses" in risk(one).advice[-1].words


def test_a_container_that_nobody_weighed_is_not_known() -> None:
    one = a_set()
    Container.objects.filter(pk=one.container_id).update(tare_g=None, made_of="")
    assert row().not_known == 2


def test_most_water_stands_first() -> None:
    a_set("TS-1")
    a_set("TS-2")
    Instrument.objects.filter(item_number__startswith="TS-2").update(weight_g=900)
    assert [one.code for one in with_figures()] == ["TS-2", "TS-1"]


def test_a_set_without_a_count_sheet_in_force_has_no_risk() -> None:
    assert risk_of(make.InstrumentSet(code="TS-9")) is None


def test_how_often_it_was_named_wet_stands_beside() -> None:
    package = at.signed(at.a_build(at.a_set()))
    load = loads.running(package)
    wet.name_wet(at.person(), load.pk, package, "heavy", at.key())
    a_set("TS-2")
    assert (row().wet, row("TS-2").wet) == (1, 0)


class TestCommand:
    def test_it_ranks(self) -> None:
        a_set()
        text = told()
        assert "TS-1" in text and "207 g of water" in text and "never a limit" in text

    def test_what_is_not_on_record_makes_it_at_least(self) -> None:
        a_set()
        Instrument.objects.filter(item_number="TS-1-1").update(weight_g=None)
        assert "at least" in told()

    def test_json_of_all(self) -> None:
        a_set()
        [found] = json.loads(told("--json"))
        assert found["set"] == "TS-1" and found["mass_g"] == 5_650

    def test_json_of_one_has_its_advice_and_no_limit(self) -> None:
        a_set()
        found = json.loads(told("TS-1", "--json"))
        assert found["limit"] is None
        assert all(one["source"] for one in found["advice"])

    def test_one_set_in_words(self) -> None:
        a_set()
        Container.objects.update(liner=True)
        assert "A liner that takes up moisture may lie in" in told("TS-1")

    def test_a_code_of_no_set_is_said(self) -> None:
        with pytest.raises(CommandError, match="TS-9 is no set"):
            told("TS-9")
