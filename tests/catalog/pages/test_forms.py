"""The forms: sizes as typed, unknown as unknown, and nothing typed lost."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from django import forms
from django.test import Client
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as some

from catalog import actions
from catalog.forms.fields import FoldDepthField, LengthField, NumberField, WeightField
from catalog.models import Change, Container, Instrument, InstrumentSet, Pouch, Programme, Wrap
from tests.factories import catalog as make


class TestSizes:
    @pytest.mark.parametrize(
        ("typed", "mm"),
        [("125", "125"), ("12,5 cm", "125"), ("6 1/2 in", "165.1"), ("125 mm", "125")],
    )
    def test_a_length_is_read_in_any_unit(self, typed: str, mm: str) -> None:
        assert LengthField().clean(typed) == Decimal(mm)

    def test_a_weight_is_read_in_any_unit(self) -> None:
        assert WeightField().clean("0.03 kg") == 30

    @pytest.mark.parametrize("typed", ["", "  ", "?", "not known", "tbc", "-"])
    def test_nothing_and_not_known_are_unknown(self, typed: str) -> None:
        assert LengthField().clean(typed) is None

    @pytest.mark.parametrize(
        ("typed", "code"),
        [("0", "zero"), ("-3", "negative"), ("14-16 cm", "range"), ("1e9 mm", "not_a_size"),
         ("900000 mm", "large"), ("long", "no_number")],
    )  # fmt: skip
    def test_what_is_no_size_is_refused(self, typed: str, code: str) -> None:
        with pytest.raises(forms.ValidationError) as found:
            LengthField().clean(typed)
        assert found.value.code == code

    @given(some.decimals("0.001", "99999", places=3))
    def test_a_length_shown_in_a_form_is_saved_unchanged(self, mm: Decimal) -> None:
        field = LengthField()
        assert field.clean(field.prepare_value(mm)) == mm

    @given(some.decimals("0.1", "99999", places=1))
    def test_a_weight_shown_in_a_form_is_saved_unchanged(self, g: Decimal) -> None:
        field = WeightField()
        assert field.clean(field.prepare_value(g)) == g

    @given(some.text(max_size=30))
    def test_any_text_is_a_size_or_a_refusal(self, typed: str) -> None:
        try:
            assert LengthField().clean(typed) is None or LengthField().clean(typed) > 0
        except forms.ValidationError as refused:
            assert refused.messages[0]

    def test_a_flat_pouch_has_a_fold_of_zero(self) -> None:
        assert FoldDepthField().clean("0 mm") == 0

    def test_a_fold_that_is_not_said_is_asked_for(self) -> None:
        with pytest.raises(forms.ValidationError):
            FoldDepthField().clean("")

    @pytest.mark.parametrize("typed", ["ten", "-1", "2000", "1.23"])
    def test_what_is_no_time_is_refused(self, typed: str) -> None:
        with pytest.raises(forms.ValidationError):
            NumberField(unit="min").clean(typed)

    def test_a_time_with_comma_and_unit(self) -> None:
        assert NumberField(unit="min").clean("3,5 min") == Decimal("3.5")


def cycles(*rows: dict[str, str], initial: int = 0) -> dict[str, str]:
    """The form set's data."""
    data = {"cycles-TOTAL_FORMS": str(len(rows)), "cycles-INITIAL_FORMS": str(initial)}
    for place, row in enumerate(rows):
        data |= {f"cycles-{place}-{name}": value for name, value in row.items()}
    return data


STEAM = {"method": "steam", "temperature_c": "134", "exposure_min": "3", "exposure_max": "18",
         "drying_min": "20"}  # fmt: skip
PROBE = {"item_number": "T-1", "name": "Probe", "length_mm": "14,5 cm", "weight_g": "1 oz"}


def send(client: Client, path: str, data: dict[str, Any]) -> Any:
    return client.post(path, data)


@pytest.mark.django_db
class TestInstrument:
    def test_a_new_one_is_saved_with_its_cycle(self, coordinator: Client) -> None:
        send(coordinator, "/new-instrument/", {**PROBE, **cycles(STEAM)})
        probe = Instrument.objects.get(item_number="T-1")
        assert (probe.length_mm, probe.weight_g, str(probe.cycles.get())) == (
            145, Decimal("28.3"), "Steam 134 °C, 3 to 18 min, dry 20 min",
        )  # fmt: skip

    def test_what_is_left_empty_is_unknown(self, coordinator: Client) -> None:
        send(coordinator, "/new-instrument/", {**PROBE, **cycles()})
        probe = Instrument.objects.get()
        assert (probe.width_mm, probe.protector, probe.hinged, probe.hollow) == (None,) * 4

    def test_no_protector_needed_is_not_the_same_as_unknown(self, coordinator: Client) -> None:
        send(coordinator, "/new-instrument/", {**PROBE, "protector": "none needed", **cycles()})
        assert Instrument.objects.get().protector == ""

    def test_it_is_on_record_with_the_person(self, coordinator: Client) -> None:
        send(coordinator, "/new-instrument/", {**PROBE, **cycles()})
        assert Change.objects.get().actor == "a-coordinator"

    @pytest.mark.parametrize("number", ["t-1", " T-1 "])
    def test_a_number_that_is_taken_is_refused(self, coordinator: Client, number: str) -> None:
        make.Instrument(item_number="T-1")
        answer = send(coordinator, "/new-instrument/", {**PROBE, "item_number": number, **cycles()})
        assert "There is one with this number already" in answer.content.decode()

    def test_a_slash_in_a_number_is_refused(self, coordinator: Client) -> None:
        send(coordinator, "/new-instrument/", {**PROBE, "item_number": "A/1", **cycles()})
        assert not Instrument.objects.exists()

    def test_nothing_typed_is_lost_on_an_error(self, coordinator: Client) -> None:
        wrong = {**PROBE, "length_mm": "14-16 cm", "notes": "kept on", **cycles(STEAM)}
        page = send(coordinator, "/new-instrument/", wrong).content.decode()
        assert all(typed in page for typed in ("14-16 cm", "kept on", "1 oz", 'value="134"'))

    def test_a_cycle_without_method_is_asked_about(self, coordinator: Client) -> None:
        wrong = {**PROBE, **cycles({"temperature_c": "134"})}
        assert "no method" in send(coordinator, "/new-instrument/", wrong).content.decode()

    def test_a_line_of_the_ifu_is_read_as_it_stands(self, coordinator: Client) -> None:
        line = {"as_written": "270-275 °F prevac 4 min dry 20; gravity 121C 30 min"}
        send(coordinator, "/new-instrument/", {**PROBE, **cycles(line)})
        assert [str(one) for one in Instrument.objects.get().cycles.all()] == [
            "Steam (dynamic air removal) 132 to 135 °C, 4 min, dry 20 min",
            "Steam (gravity) 121 °C, 30 min"]  # fmt: skip

    @pytest.mark.parametrize(
        ("row", "words"),
        [({"as_written": "as usual"}, "cannot be read"), ({"as_written": "60 min"}, "no method"),
         ({"as_written": "134C 3 min", **STEAM}, "not both")],
    )  # fmt: skip
    def test_a_line_that_cannot_be_taken_says_so(
        self, coordinator: Client, row: dict[str, str], words: str
    ) -> None:
        answer = send(coordinator, "/new-instrument/", {**PROBE, **cycles(row)})
        assert (words in answer.content.decode(), Instrument.objects.count()) == (True, 0)

    def test_an_implausible_size_is_a_question(self, coordinator: Client) -> None:
        page = send(coordinator, "/new-instrument/", {**PROBE, "length_mm": "16 m", **cycles()})
        assert ('name="sure"' in page.content.decode(), Instrument.objects.count()) == (True, 0)

    def test_an_implausible_size_said_to_be_right_is_taken(self, coordinator: Client) -> None:
        data = {**PROBE, "length_mm": "16 m", "sure": "on", **cycles()}
        send(coordinator, "/new-instrument/", data)
        assert Instrument.objects.get().length_mm == 16_000

    def test_the_next_one_keeps_group_and_maker(self, coordinator: Client) -> None:
        data = {**PROBE, "group": "Probing", "again": "1", **cycles()}
        answer = send(coordinator, "/new-instrument/", data)
        assert "group=Probing" in answer["Location"]

    def test_saving_what_is_there_changes_nothing(self, coordinator: Client) -> None:
        make.Instrument(item_number="T-1", length_mm=Decimal("169.862"))
        page = coordinator.get("/instruments/T-1/edit/")
        data = {f.html_name: f.value() for f in page.context["form"] if f.value() is not None}
        data |= {f.html_name: f.value() or "" for each in page.context["rows"] for f in each}
        data |= {"cycles-TOTAL_FORMS": "3", "cycles-INITIAL_FORMS": "1"}
        data = {name: value for name, value in data.items() if value is not False}
        field = page.context["form"].fields["length_mm"]
        data["length_mm"] = field.prepare_value(Decimal("169.862"))
        send(coordinator, "/instruments/T-1/edit/", data)
        assert not Change.objects.exists()

    def test_the_item_number_stays(self, coordinator: Client) -> None:
        make.Instrument(item_number="T-1")
        data = {**PROBE, "item_number": "T-2", **cycles()}
        send(coordinator, "/instruments/T-1/edit/", data)
        assert Instrument.objects.get().item_number == "T-1"

    def test_what_somebody_else_saved_meanwhile_is_not_overwritten(
        self, coordinator: Client
    ) -> None:
        make.Instrument(item_number="T-1", weight_g=40)
        seen = coordinator.get("/instruments/T-1/edit/").context["form"].initial["seen"]
        Instrument.objects.update(weight_g=44)
        data = {**PROBE, "seen": seen, **cycles()}
        page = send(coordinator, "/instruments/T-1/edit/", data).content.decode()
        assert ("Somebody else saved" in page, Instrument.objects.get().weight_g) == (True, 44)

    def test_sent_again_it_is_saved(self, coordinator: Client) -> None:
        make.Instrument(item_number="T-1", weight_g=40)
        seen = coordinator.get("/instruments/T-1/edit/").context["form"].initial["seen"]
        Instrument.objects.update(weight_g=44)
        again = send(coordinator, "/instruments/T-1/edit/", {**PROBE, "seen": seen, **cycles()})
        seen = again.context["form"]["seen"].value()
        send(coordinator, "/instruments/T-1/edit/", {**PROBE, "seen": seen, **cycles()})
        assert Instrument.objects.get().weight_g == Decimal("28.3")

    def test_retiring_needs_a_reason(self, coordinator: Client) -> None:
        make.Instrument(item_number="T-1")
        send(coordinator, "/instruments/T-1/retire/", {"reason": " "})
        assert not Instrument.objects.get().retired

    def test_retiring_keeps_it_and_the_reason(self, coordinator: Client) -> None:
        make.Instrument(item_number="T-1")
        send(coordinator, "/instruments/T-1/retire/", {"reason": "worn"})
        assert (Instrument.objects.get().retired, Change.objects.get().reason) == (True, "worn")

    def test_a_retired_one_comes_back(self, coordinator: Client) -> None:
        make.Instrument(item_number="T-1", retired=True)
        send(coordinator, "/instruments/T-1/retire/", {"reason": "found"})
        assert Change.objects.get().verb == Change.Verb.RESTORED

    def test_the_page_says_where_it_is_used(self, coordinator: Client) -> None:
        line = make.Line(instrument__item_number="T-1", count_sheet__instrument_set__code="S-1")
        line.substitutes.add(make.Instrument(item_number="T-2"))
        assert "may stand in for" in coordinator.get("/instruments/T-2/").content.decode()


@pytest.mark.django_db
class TestSet:
    def test_a_new_set_with_the_size_of_its_pack(self, coordinator: Client) -> None:
        data = {"code": "S-1", "name": "Small", "pack_length_mm": "58 cm"}
        answer = send(coordinator, "/new-set/", data)
        made = InstrumentSet.objects.get()
        assert (made.pack_length_mm, made.pack_width_mm, answer["Location"]) == (
            580, None, "/sets/S-1/new-draft/",
        )  # fmt: skip

    def test_in_a_container_and_in_a_wrap_is_refused(self, coordinator: Client) -> None:
        wrap = Wrap.objects.create(code="W", name="Wrap")
        data = {"code": "S-1", "name": "S", "container": make.Container().pk, "wrap": wrap.pk}
        page = send(coordinator, "/new-set/", data).content.decode()
        assert "not in both" in page

    def test_retiring_a_set(self, coordinator: Client) -> None:
        make.InstrumentSet(code="S-1")
        send(coordinator, "/sets/S-1/retire/", {"reason": "merged"})
        assert InstrumentSet.objects.get().retired


SUPPLIES: list[tuple[str, dict[str, Any]]] = [
    ("pouch", {"inner_width_mm": "13.4 cm", "gusset_mm": "0"}),
    ("roll", {"nominal_width_mm": "4 in"}),
    ("wrap", {"width_mm": "1 m", "layers": "2"}),
    ("container", {"tare_g": "3.2 kg"}),
    ("basket", {"rated_g": "11.3 kg"}),
    ("protector", {"bore_mm": "3", "vented": "yes"}),
    ("programme", {"method": "steam", "temperature_c": "134", "exposure_min": "3"}),
]


@pytest.mark.django_db
class TestSupply:
    @pytest.mark.parametrize(("kind", "data"), SUPPLIES)
    def test_every_kind_is_entered_and_on_record(
        self, coordinator: Client, kind: str, data: dict[str, Any]
    ) -> None:
        send(coordinator, f"/new-supply/{kind}/", {"code": "N-1", "name": "New", **data})
        assert [(each.kind, each.object_key) for each in Change.objects.all()] == [(kind, "N-1")]

    def test_units_are_as_typed(self, coordinator: Client) -> None:
        send(coordinator, "/new-supply/container/", {"code": "C", "name": "C", "tare_g": "3.2 kg"})
        assert Container.objects.get().tare_g == 3200

    def test_no_method_ticked_is_unknown(self, coordinator: Client) -> None:
        data = {"code": "P", "name": "P", "gusset_mm": "0"}
        send(coordinator, "/new-supply/pouch/", data)
        assert Pouch.objects.get().labelled_methods is None

    def test_three_layers_are_refused(self, coordinator: Client) -> None:
        data = {"code": "W", "name": "W", "layers": "3"}
        assert "one or two layers" in send(coordinator, "/new-supply/wrap/", data).content.decode()

    def test_the_programmes_of_a_container_are_on_record(self, coordinator: Client) -> None:
        programme = Programme.objects.create(code="P134", method="steam")
        container = make.Container(code="C-1")
        data = {"code": "C-1", "name": container.name, "programmes": [programme.pk],
                "inner_length_mm": "560", "inner_width_mm": "265", "inner_height_mm": "130",
                "tare_g": "3200", "rated_g": "11300", "in_stock": "on"}  # fmt: skip
        send(coordinator, "/supplies/container/C-1/edit/", data)
        assert Change.objects.get().after == {"programmes": ["P134"]}

    def test_out_of_stock_is_a_change_on_record(self, coordinator: Client) -> None:
        make.Pouch(code="P-9")
        data = {"code": "P-9", "name": "Pouch P-9", "material": "paper-film", "gusset_mm": "0",
                "closure": "heat-seal", "outer_width_mm": "150", "outer_length_mm": "300",
                "inner_width_mm": "134", "inner_length_mm": "255", "rated_g": "400"}  # fmt: skip
        send(coordinator, "/supplies/pouch/P-9/edit/", data)
        assert Change.objects.get().after == {"in_stock": False}

    def test_a_kind_that_is_none_is_not_found(self, coordinator: Client) -> None:
        assert coordinator.get("/new-supply/teapot/").status_code == 404


@pytest.mark.django_db
class TestMissing:
    def test_what_blocks_most_sets_comes_first(self, coordinator: Client) -> None:
        make.Instrument(item_number="T-0", weight_g=None)
        blocks = make.Instrument(item_number="T-9", weight_g=None)
        make.Line(instrument=blocks)
        make.Line(instrument=blocks)
        rows = coordinator.get("/what-is-missing/").context["table"].rows
        assert [(row.record.item_number, row.record.sets_blocked) for row in rows] == [
            ("T-9", 2), ("T-0", 0),
        ]  # fmt: skip

    def test_an_instrument_with_everything_is_not_listed(self, coordinator: Client) -> None:
        make.Instrument(ifu_review_on=date(2999, 1, 1))
        assert "Nothing is missing" in coordinator.get("/what-is-missing/?q=x").content.decode()

    @pytest.mark.parametrize(
        ("values", "what"),
        [({"height_mm": None}, "height"), ({"weight_g": None}, "weight"), ({"cycles": []}, "cycle"),
         ({"ifu_review_on": date(2020, 1, 1)}, "IFU review, due 1 Jan 2020")],
    )  # fmt: skip
    def test_each_missing_fact_is_named(
        self, coordinator: Client, values: dict[str, Any], what: str
    ) -> None:
        make.Instrument(**values)
        table = coordinator.get("/what-is-missing/").context["table"]
        assert [row.get_cell("missing") for row in table.rows] == [what]

    def test_a_retired_instrument_is_not_listed(self, coordinator: Client) -> None:
        make.Instrument(weight_g=None, retired=True)
        assert len(coordinator.get("/what-is-missing/").context["table"].rows) == 0


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("verb", "thing", "address", "number"),
    [("add_instrument", make.Instrument, reverse("catalog:add_instrument"), "item_number"),
     ("add_set", make.InstrumentSet, reverse("catalog:add_set"), "code"),
     ("add_supply", make.Pouch, "/new-supply/pouch/", "code")],
)  # fmt: skip
def test_the_slower_of_two_with_one_number_reads_a_sentence(
    coordinator: Client, monkeypatch: pytest.MonkeyPatch, verb: str, thing: Any, address: str,
    number: str,
) -> None:  # fmt: skip
    add = getattr(actions, verb)

    def after_another(*values: Any) -> Any:
        thing(**{number: "T-9"})
        return add(*values)

    monkeypatch.setattr(actions, verb, after_another)
    sent = {number: "T-9", "name": "Typed", "group": "g", "gusset_mm": "0",
            "cycles-TOTAL_FORMS": "0", "cycles-INITIAL_FORMS": "0"}  # fmt: skip
    page = coordinator.post(address, sent)
    assert "Somebody else saved the same one" in page.content.decode()
    assert page.status_code == 200 and 'value="T-9"' in page.content.decode()
