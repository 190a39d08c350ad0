"""The department's own policy values: set, refused, shown, used."""

from __future__ import annotations

import re
from datetime import date
from io import StringIO

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError
from django.test import Client
from django.utils import timezone

from assembly.consequences.policy_actions import apply_preset, override_value
from assembly.judging.decisions import decide_for_instrument
from assembly.judging.facts_from_catalog import policy_in_force
from assembly.models import PolicyOverride
from assembly.rules.policy.values import PolicyError
from catalog.actions import Actor
from catalog.models import Change, Instrument
from tests.factories import catalog as make

pytestmark = pytest.mark.django_db

BEA = Actor("bea", reason="our pouches' IFU asks for it")
FORM = {
    "name": "side_clearance_mm", "value": "30", "since": "2026-01-01",
    "source": "Tarnside IFU 12", "clause": "p. 3", "reason": "the IFU asks for it",
}  # fmt: skip


def set_value(name: str = "side_clearance_mm", value: object = 30, **more: object) -> None:
    override_value(BEA, name, value, since=date(2026, 1, 1), source="Tarnside IFU 12", **more)  # type: ignore[arg-type]


def test_an_own_value_is_in_force_with_its_own_source() -> None:
    set_value()
    entry = policy_in_force().entry("side_clearance_mm")
    assert (entry.value, entry.cited) == (30.0, "Tarnside IFU 12")


def test_before_its_day_the_shipped_value_holds() -> None:
    set_value()
    assert policy_in_force(date(2025, 12, 31)).number("side_clearance_mm") == 25.0


def test_an_own_value_below_a_later_floor_gives_way_to_the_shipped_one() -> None:
    PolicyOverride.objects.create(
        name="closing_seal_mm", value=5, since=date(2026, 1, 1), source="SOP 4", reason="trial",
        set_by="bea", set_at=timezone.now(),
    )  # fmt: skip
    assert policy_in_force().number("closing_seal_mm") == 6.0


def test_a_decision_uses_the_own_value() -> None:
    instrument = make.Instrument(width_mm=70, height_mm=12, length_mm=180)
    make.Pouch()  # 134 mm inside: 132 needed as shipped, 142 with 30 mm a side
    set_value()
    answer = decide_for_instrument(Instrument.objects.get(pk=instrument.pk))
    assert answer.decision.recommended is None


def test_setting_is_on_record() -> None:
    set_value()
    change = Change.objects.get()
    assert (change.actor, change.before, change.reason) == ("bea", {"value": 25.0}, BEA.reason)


@pytest.mark.parametrize(
    ("name", "value"),
    [("no_such_value", 1), ("side_clearance_mm", -1), ("roll_seal_mm", 5.9),
     ("roll_peel_allowance_mm", 9), ("closing_seal_mm", 5.9), ("peel_overhang_mm", 9),
     ("roll_side_seal_floor_mm", 5.9), ("fill_reading", "loose"), ("side_clearance_mm", None),
     ("side_clearance_mm", 0), ("base_clearance_mm", 0), ("closing_clearance_mm", 24),
     ("fill_limit", 0.76), ("fill_limit", 1), ("gross_limit_g", 1e15),
     ("gross_limit_g", 11_340), ("load_limit_g", 10_001), ("net_limit_g", 11_340),
     ("wrap_tape_mm", 49), ("rim_clearance_mm", 0), ("double_play_mm", 0)],
)  # fmt: skip
def test_a_value_out_of_bounds_is_refused(name: str, value: object) -> None:
    with pytest.raises(PolicyError):
        set_value(name, value)


def test_what_a_set_weighs_stays_limited() -> None:
    with pytest.raises(PolicyError, match="at least one must stay set of: Most gross weight"):
        set_value("gross_limit_g", None)
    set_value("net_limit_g", 8500)
    set_value("gross_limit_g", None)
    assert policy_in_force().number_or_none("gross_limit_g") is None


def test_a_ceiling_names_its_source() -> None:
    with pytest.raises(PolicyError, match=r"read 1; at most 0.75 \(ISO/TS 16775:2014"):
        set_value("fill_limit", 1)


def test_a_value_without_a_source_is_refused() -> None:
    with pytest.raises(PolicyError, match="source"):
        override_value(BEA, "side_clearance_mm", 30, since=date(2026, 1, 1), source=" ")


def test_a_value_without_a_reason_is_refused() -> None:
    with pytest.raises(PolicyError, match="reason"):
        override_value(Actor("bea"), "side_clearance_mm", 30, since=date(2026, 1, 1), source="x")


def test_a_value_on_record_is_not_altered() -> None:
    set_value()
    with pytest.raises(TypeError):
        PolicyOverride.objects.get().save()


def test_a_preset_sets_every_value_with_its_own_source() -> None:
    apply_preset(BEA, "eu", since=date(2026, 1, 1))
    policy = policy_in_force()
    assert (policy.number("load_limit_g"), policy.number_or_none("gross_limit_g")) == (
        10000.0,
        None,
    )


class TestPage:
    def test_it_lists_every_value_with_its_source(self, technician: Client) -> None:
        page = technician.get("/policy/").content.decode()
        assert "ANSI/AAMI ST77" in page and "Sheet left free at each side seal" in page

    def test_no_key_and_no_digest_is_on_the_screen(self, coordinator: Client) -> None:
        page = coordinator.get("/policy/").content.decode()
        seen = re.sub(r"<[^>]*>", " ", page)
        assert "side_clearance_mm" not in seen and policy_in_force().digest not in page

    def test_each_group_stands_once(self, technician: Client) -> None:
        page = technician.get("/policy/").content.decode()
        heads = re.findall(r"<summary><h2>(.*?) <span", page)
        assert len(heads) == len(set(heads)) > 5

    def test_a_search_leaves_the_values_that_it_names(self, technician: Client) -> None:
        page = technician.get("/policy/", {"q": "side seal free"}).content.decode()
        assert (
            "Sheet left free at each side seal" in page
            and "gross weight" not in page.split("presets")[0]
        )

    def test_it_says_from_where_to_where_a_value_may_be_set(self, technician: Client) -> None:
        assert "25 mm to 100 mm" in technician.get("/policy/").content.decode()

    def test_a_technician_sees_no_form(self, technician: Client) -> None:
        assert "Set it" not in technician.get("/policy/").content.decode()

    def test_a_coordinator_sets_a_value(self, coordinator: Client) -> None:
        coordinator.post("/policy/set/", FORM)
        assert PolicyOverride.objects.get().value == 30.0

    def test_a_refused_value_says_why_and_keeps_what_was_typed(self, coordinator: Client) -> None:
        page = coordinator.post("/policy/set/", {**FORM, "value": "-3"})
        text = page.content.decode()
        assert page.status_code == 422 and "at least 5 mm" in text and "Tarnside IFU 12" in text

    def test_a_preset_is_taken_over(self, coordinator: Client) -> None:
        coordinator.post("/policy/preset/", {"preset": "nl"})
        assert PolicyOverride.objects.filter(name="net_limit_g", value=8500.0).exists()


class TestCommand:
    def said(self, *arguments: str) -> str:
        out = StringIO()
        call_command("policy", *arguments, stdout=out)
        return out.getvalue()

    def test_it_lists_value_unit_source_and_last_check(self) -> None:
        said = self.said()
        assert "closing_clearance_mm: 30 mm" in said and "last checked" in said

    def test_what_was_checked_lately_is_not_stale(self) -> None:
        assert self.said("--stale", "36500").startswith("0 values")

    def test_it_sets_a_value(self) -> None:
        self.said("--set", "side_clearance_mm=30", "--source", "IFU", "--reason", "asked for")
        assert policy_in_force().number("side_clearance_mm") == 30.0

    def test_a_wrong_value_is_a_clear_error(self) -> None:
        with pytest.raises(CommandError, match="at least 6"):
            self.said("--set", "roll_seal_mm=5", "--source", "x", "--reason", "y")

    def test_stale_values_are_listed(self, monkeypatch: pytest.MonkeyPatch) -> None:
        from django.utils import timezone

        monkeypatch.setattr(timezone, "localdate", lambda: date(2030, 1, 1))
        assert "side_clearance_mm" in self.said("--stale", "365")


class TestBand:
    """Beside the switch: the sets that the band of a sterilizer would free."""

    ASKED = "/policy/?freed=temperature_band"

    def a_set(self, *temperatures: int) -> None:
        make.models.Programme.objects.create(
            code="S134", method="steam", temperature_c=134, air_removal="dynamic",
            exposure_min=4, drying_min=30,
        )  # fmt: skip
        sheet = make.CountSheet(instrument_set__code="TS-1")
        for temperature in temperatures:
            instrument = make.Instrument(cycles=False)
            make.CycleOption(instrument=instrument, temperature_c=temperature, exposure_min=4)
            make.Line(count_sheet=sheet, instrument=instrument)

    def test_a_set_that_it_would_free_is_listed(self, technician: Client) -> None:
        self.a_set(132, 134)
        page = technician.get(self.ASKED).content.decode()
        assert "it would free" in page and "TS-1" in page and "by S134" in page

    def test_a_set_that_it_would_not_free_is_not(self, technician: Client) -> None:
        self.a_set(121, 134)
        assert "It would free no set." in technician.get(self.ASKED).content.decode()

    def test_a_set_that_goes_without_it_is_not_listed(self, technician: Client) -> None:
        self.a_set(134, 134)
        assert "It would free no set." in technician.get(self.ASKED).content.decode()

    def test_it_is_not_worked_out_unasked(self, technician: Client) -> None:
        self.a_set(132, 134)
        page = technician.get("/policy/").content.decode()
        assert "Which sets would it free?" in page and "TS-1" not in page
