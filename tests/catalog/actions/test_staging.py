"""Many instruments at once: nothing of it is seen before all of it is."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from catalog import actions
from catalog.actions.staging import Staging, in_one_step
from catalog.models import (
    Change,
    CycleOption,
    Identifier,
    Instrument,
    StagedCycle,
    StagedInstrument,
)
from tests.factories import catalog as make

pytestmark = pytest.mark.django_db

LENA = actions.Actor("Lena", batch="spreadsheet 7")
NEW = [({"item_number": f"N-{n}", "name": "Probe", "length_mm": 140}, [{"method": "steam"}])
       for n in range(3)]  # fmt: skip


def stage(what: Callable[[Staging], None], within: Callable[[], None] = lambda: None) -> None:
    in_one_step(LENA, what, within)


def changed(one: Instrument, **values: object) -> None:
    stage(lambda staging: staging.change([(one, values, None)]))


def test_until_the_step_nothing_is_in_the_catalog() -> None:
    seen = []
    stage(lambda staging: staging.add(NEW), lambda: seen.append(Instrument.objects.count()))
    assert (seen, Instrument.objects.count()) == ([0], 3)


def test_the_cycles_come_with_their_instruments() -> None:
    stage(lambda staging: staging.add(NEW))
    found = CycleOption.objects.values_list("instrument__item_number", "method")
    assert list(found) == [("N-0", "steam"), ("N-1", "steam"), ("N-2", "steam")]


def test_what_is_refused_at_the_last_moment_leaves_nothing() -> None:
    def refuse() -> None:
        raise RuntimeError("it changed meanwhile")

    with pytest.raises(RuntimeError):
        stage(lambda staging: staging.add(NEW), refuse)
    left = (Instrument, CycleOption, Change, StagedInstrument, StagedCycle)
    assert [model.objects.count() for model in left] == [0, 0, 0, 0, 0]


def test_nothing_is_left_beside_the_catalog() -> None:
    stage(lambda staging: staging.add(NEW))
    assert (StagedInstrument.objects.count(), StagedCycle.objects.count()) == (0, 0)


def test_what_a_killed_process_had_staged_does_not_come_in_with_the_next() -> None:
    Staging(LENA).add(NEW)
    stage(lambda staging: staging.add([({"item_number": "N-9", "name": "Hook"}, [])]))
    assert [one.item_number for one in Instrument.objects.all()] == ["N-9"]


def test_what_a_bench_changes_meanwhile_stays() -> None:
    one = make.Instrument(spares_on_hand=5)
    stage(
        lambda staging: staging.change([(one, {"name": "Probe"}, None)]),
        lambda: actions.move_spares(LENA, one, -2) and None,
    )
    one.refresh_from_db()
    assert (one.name, one.spares_on_hand) == ("Probe", 3)


def test_a_change_has_the_record_of_the_single_verb() -> None:
    first, second = make.Instrument(), make.Instrument()
    changed(first, weight_g=41, notes="new")
    actions.change_instrument(LENA, second, {"weight_g": 41, "notes": "new"})
    many, single = Change.objects.order_by("pk")
    assert (many.verb, many.before, many.after) == (single.verb, single.before, single.after)


def test_cycles_that_are_not_given_stay() -> None:
    one = make.Instrument()
    changed(one, weight_g=41)
    assert one.cycles.count() == 1


def test_cycles_that_are_given_take_the_place_of_the_others() -> None:
    one, other = make.Instrument(), make.Instrument()
    new = [{"method": "eo"}, {"method": "steam", "temperature_c": 132}]
    stage(lambda staging: staging.change([(one, {}, new)]))
    assert [cycle.method for cycle in one.cycles.all()] == ["eo", "steam"]
    assert other.cycles.count() == 1


def test_values_that_are_taken_back_to_not_known_are_not_known() -> None:
    one = make.Instrument(weight_g=40)
    changed(one, weight_g=None)
    one.refresh_from_db()
    assert one.weight_g is None


class TestAnotherNumber:
    def renumbered(self) -> Instrument:
        one = make.Instrument(item_number="A-3")
        changed(one, item_number="A-33")
        return Instrument.objects.get(pk=one.pk)

    def test_it_is_the_same_instrument(self) -> None:
        assert self.renumbered().item_number == "A-33"

    def test_the_old_number_leads_to_it(self) -> None:
        one = self.renumbered()
        found = Identifier.objects.get(value="A-3")
        assert (found.instrument, found.kind) == (one, "text")

    def test_a_new_instrument_may_have_the_old_number_for_its_own(self) -> None:
        self.renumbered()
        stage(lambda staging: staging.add([({"item_number": "A-3", "name": "Hook"}, [])]))
        assert not Identifier.objects.exists()

    def test_back_again_it_has_one_number(self) -> None:
        changed(self.renumbered(), item_number="A-3")
        assert [each.value for each in Identifier.objects.all()] == ["A-33"]


def test_the_retired_are_on_record_with_the_reason() -> None:
    one = make.Instrument()
    stage(lambda staging: staging.retire([one], True, "not in the list"))
    one.refresh_from_db()
    change = Change.objects.get()
    assert (one.retired, change.verb, change.reason) == (True, "retired", "not in the list")


def test_what_is_removed_is_gone_with_its_cycles_and_on_record() -> None:
    one, other = make.Instrument(item_number="A-3"), make.Instrument()
    stage(lambda staging: staging.remove(Instrument.objects.filter(pk=one.pk)))
    assert [each.pk for each in Instrument.objects.all()] == [other.pk]
    assert [cycle.instrument_id for cycle in CycleOption.objects.all()] == [other.pk]
    assert (Change.objects.get().before or {})["item_number"] == "A-3"
