"""What another value, supply or sterilizer would change is what it does once it is in force."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError
from django.utils import timezone

from assembly.consequences.policy_actions import override_value
from assembly.consequences.supposing import Said, supposed_by
from assembly.consequences.what_if import Consequences, steps_of, what_if
from assembly.consequences.whole_catalog import rows_now
from assembly.judging.decisions import decide_for_instrument
from assembly.judging.facts_from_catalog import instrument_facts
from assembly.models import Loaner, PolicyOverride
from catalog.actions import Actor
from catalog.models import Change, Instrument, Sterilizer
from tests.factories import catalog as make
from tests.factories.loads import a_programme

pytestmark = pytest.mark.django_db


def asked(**said: Any) -> Consequences:
    return what_if(supposed_by(Said(**said)))


def changes(found: Consequences) -> list[tuple[str, str, str]]:
    return [(one.code, one.before, one.after) for one in found.changed]


@pytest.fixture
def plates() -> None:
    """One that just fits, one with room, one that is not measured, one that is retired."""
    make.Pouch(code="P1")
    make.Pouch(code="P2", inner_width_mm=184, outer_width_mm=200)
    sizes = {"length_mm": 170, "height_mm": 12, "hinged": False}
    make.Instrument(item_number="A-1", width_mm=71, **sizes)
    make.Instrument(item_number="A-2", width_mm=30, **sizes)
    make.Instrument(item_number="A-3", width_mm=None, **sizes)
    make.Instrument(item_number="A-4", width_mm=71, retired=True, **sizes)


class TestTheWholeCatalogAsArrays:
    def test_each_row_has_the_facts_of_its_instrument(self) -> None:
        make.Instrument(tip="sharp", protector="small", tip_across_mm="2.5", forbids=["wrap"])
        make.Instrument(cycles=False, protector=None, length_mm=None, form="basin", hollow=True)
        make.Instrument(lumen_mm=1, lumen_material="steel", channels=2, parts_apart="3 parts")
        make.Instrument(width_open_mm="80.5", item_class="utensils", lies_only_as_given=True)
        twice = make.Instrument(parts_apart="", hinged=None)
        make.CycleOption(instrument=twice, method="eo", temperature_c=55, exposure_max=None)
        rows = rows_now()
        told = [rows.catalog.facts(row) for row in range(len(rows.keys))]
        every = Instrument.objects.order_by("item_number").prefetch_related("cycles")
        expected = [instrument_facts(one) for one in every]
        assert [replace(one, name="") for one in told] == [replace(o, name="") for o in expected]

    def test_it_takes_as_many_queries_for_many(self, django_assert_num_queries: Any) -> None:
        for _ in range(12):
            make.Instrument()
        with django_assert_num_queries(4):
            rows_now()

    def test_an_empty_catalog_is_no_mistake(self) -> None:
        assert rows_now().keys == ()


@pytest.mark.usefixtures("plates")
class TestValues:
    def test_who_needs_more_room_goes_into_the_next_pouch(self) -> None:
        """71 and 12 high, with 10 free at each side, are 103 of 134; with 26 they are 135."""
        found = asked(values={"side_clearance_mm": "26"})
        assert (changes(found), found.instruments) == ([("A-1", "pouch P1", "pouch P2")], 3)

    def test_once_in_force_each_is_decided_as_was_said(self) -> None:
        found = asked(values={"side_clearance_mm": "26"})
        told = {one.code: one.after for one in found.changed}
        override_value(Actor("bea", reason="trial"), "side_clearance_mm", 26,
                       since=date(2026, 1, 1), source="SOP 4")  # fmt: skip
        for one in Instrument.objects.filter(item_number__in=told):
            taken = decide_for_instrument(one).decision.recommended
            assert taken and f"{taken.kind} {taken.code}" == told[one.item_number]

    def test_nothing_is_put_in_force_and_nothing_on_record(self) -> None:
        asked(values={"side_clearance_mm": "26"})
        assert not PolicyOverride.objects.exists() and not Change.objects.exists()

    def test_what_is_lent_without_its_ifu_stays_undecided(self) -> None:
        one = Instrument.objects.get(item_number="A-1")
        Loaner.objects.create(instrument=one, key="lent-0001", what="plate", vendor="Tarnside",
                              came_by="bea", came_at=timezone.now())  # fmt: skip
        assert not asked(values={"side_clearance_mm": "26"}).changed


@pytest.mark.usefixtures("plates")
class TestSupplies:
    def test_without_its_pouch_each_takes_the_next(self) -> None:
        assert changes(asked(without=("P1",))) == [
            ("A-1", "pouch P1", "pouch P2"), ("A-2", "pouch P1", "pouch P2"),
        ]  # fmt: skip

    def test_a_supply_that_is_not_in_stock_is_supposed_there(self) -> None:
        make.Pouch(code="P0", in_stock=False, inner_width_mm=94, outer_width_mm=110)
        assert changes(asked(supplies=("p0",))) == [("A-2", "pouch P1", "pouch P0")]

    def test_a_supply_from_a_file_is_supposed_there(self) -> None:
        text = json.dumps({"kind": "pouch", "code": "P0", "inner_width_mm": 94, "rated_g": 400,
                           "inner_length_mm": 255, "outer_width_mm": 110, "outer_length_mm": 300,
                           "material": "paper-film"})  # fmt: skip
        assert changes(asked(files={"new.json": text})) == [("A-2", "pouch P1", "pouch P0")]

    def test_sets_are_not_decided_twice_where_nothing_of_theirs_changes(self) -> None:
        line = make.Line(instrument__item_number="B-1")
        found = asked(without=("P1",))
        assert found.sets == 1 and line.count_sheet.instrument_set.code not in found.undecided


class TestSets:
    def test_a_set_that_goes_over_is_named(self) -> None:
        programme = a_programme()
        sheet = make.CountSheet()
        sheet.instrument_set.container.programmes.add(programme)
        make.Line(count_sheet=sheet, quantity=10, instrument__weight_g=600)
        found = asked(values={"gross_limit_g": "9000"})
        assert found.over == (sheet.instrument_set.code,)

    def test_one_that_is_over_already_does_not_go_over(self) -> None:
        make.Line(quantity=20, instrument__weight_g=600)
        assert asked(values={"gross_limit_g": "9000"}).over == ()

    def test_its_progress_ends_at_its_steps(self) -> None:
        make.Line()
        told: list[int] = []
        what_if(supposed_by(Said(values={"gross_limit_g": "9000"})), told.append)
        assert told[-1] == steps_of() == 2


@pytest.mark.usefixtures("plates")
class TestSterilizers:
    def test_without_the_only_one_that_runs_its_cycle_nothing_serves(self) -> None:
        one = Sterilizer.objects.create(code="ST1")
        one.programmes.add(a_programme())
        before = [before for _, before, _ in changes(asked(sterilizers=("ST1",)))]
        assert set(before) <= {"pouch P1", "undecided"} and before

    def test_what_another_runs_too_stays(self) -> None:
        programme = a_programme()
        for code in ("ST1", "ST2"):
            Sterilizer.objects.create(code=code).programmes.add(programme)
        with pytest.raises(ValueError, match="Nothing is supposed"):
            asked(sterilizers=("ST1",))

    def test_one_out_of_use_is_supposed_to_run_its_cycles(self) -> None:
        a_programme("EO", method="eo", temperature_c=55)
        one = Sterilizer.objects.create(code="ST9", active=False)
        one.programmes.add(a_programme("S134", active=False))
        after = {after for _, _, after in changes(asked(sterilizers=("ST9",)))}
        assert "pouch P1" in after


def said(*arguments: str) -> str:
    out = StringIO()
    call_command("what_if", *arguments, stdout=out)
    return out.getvalue()


@pytest.mark.usefixtures("plates")
class TestCommand:
    def test_json_names_what_changes(self) -> None:
        told = json.loads(said("--value", "side_clearance_mm=26", "--json"))
        assert told["changed"] == [
            {"what": "instrument", "code": "A-1", "before": "pouch P1", "after": "pouch P2"}
        ]
        assert (told["undecided"], told["over"]) == ([], [])

    def test_words_say_that_nothing_was_put_in_force(self) -> None:
        text = said("--without", "P1")
        assert "instrument A-1: pouch P1 -> pouch P2" in text and "Nothing was put in force" in text

    @pytest.mark.parametrize(
        ("arguments", "words"),
        [((), "Nothing is supposed"), (("--value", "x"), "takes NAME=VALUE"),
         (("--value", "x=1"), "x: is not a value"), (("--value", "fill_limit=2"), "at most 0.75"),
         (("--without", "P9"), "P9: not in use"), (("--with", "P1"), "P1: in use already"),
         (("--with", "P9"), "P9: no supply on record"), (("--with", "no.json"), "cannot be read"),
         (("--sterilizer", "S"), "S: no such sterilizer"),
         (("--value", "gross_limit_g=not set"), "at least one must stay set")],
    )  # fmt: skip
    def test_what_cannot_be_is_refused(self, arguments: tuple[str, ...], words: str) -> None:
        with pytest.raises(CommandError, match=words):
            said(*arguments)

    @pytest.mark.parametrize("text", ["{", "3", '{"kind": "sack"}', '[{"method": "sun"}]'])
    def test_a_file_that_cannot_be_read_is_named(self, tmp_path: Path, text: str) -> None:
        file = tmp_path / "new.json"
        file.write_text(text, encoding="utf-8")
        with pytest.raises(CommandError, match=r"new\.json: "):
            said("--with", str(file))
