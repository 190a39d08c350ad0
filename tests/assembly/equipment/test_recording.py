"""Tests on record: what they need, what they stop, who may sign them off."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.utils import timezone

from assembly.equipment.recording import put_on_record, read, sign_off, take_back
from assembly.equipment.standing import kinds_of, last_good_biological, standing_of
from assembly.judging.facts_from_catalog import policy_in_force
from assembly.ledger import Refused
from assembly.models import Biological, EquipmentTest, Load, LoadState, PolicyOverride
from assembly.sterilizing import gathering, releasing
from catalog.models import Change, Instrument, Sealer, Sterilizer
from tests.factories import bench as at
from tests.factories import catalog as make
from tests.factories import loads
from tests.factories import requests as ask

pytestmark = pytest.mark.django_db


@pytest.fixture
def st1() -> Sterilizer:
    """In use, and nothing on record of today."""
    return loads.a_sterilizer(untested=True)


@pytest.fixture
def sealer() -> Sealer:
    return loads.a_sealer(read_c=None)


def stands(thing: Sterilizer | Sealer, kind: str) -> tuple[str, bool]:
    [found] = standing_of([thing], policy_in_force(), (kind,))
    return str(found.finding.status), found.stops


def days_ago(test: EquipmentTest, days: int) -> None:
    then = timezone.now() - timedelta(days=days)
    EquipmentTest.objects.filter(pk=test.pk).update(day=then.date(), done_at=then)


class TestPutOnRecord:
    def test_who_when_and_what(self, st1: Sterilizer) -> None:
        test = loads.tested(st1, "air removal", lot="BD 77")
        assert (test.state, test.done_by, test.lot) == ("passed", "Tam Birkett", "BD 77")
        assert test.day == timezone.localdate()
        assert Change.objects.filter(object_key=f"air-removal test of ST1 {test.day}").exists()

    def test_the_same_key_is_the_same_test(self, st1: Sterilizer) -> None:
        key = at.key()
        made = [put_on_record(at.person(), st1, "leak", key, passed=True) for _ in range(2)]
        assert made[0] == made[1] and EquipmentTest.objects.count() == 1

    @pytest.mark.parametrize(
        ("kind", "more", "said"),
        [
            ("leak", {}, "passed or failed"),
            ("biological", {}, "lot number"),
            ("biological", {"lot": "B1", "passed": True}, "read after its time"),
            ("seal", {"passed": True}, "no test of ST1"),
            ("weather", {"passed": True}, "no test of ST1"),
        ],
    )
    def test_refused_what_is_not_whole(
        self, st1: Sterilizer, kind: str, more: dict[str, object], said: str
    ) -> None:
        with pytest.raises(Refused, match=said):
            put_on_record(at.person(), st1, kind, at.key(), **more)  # type: ignore[arg-type]
        assert not EquipmentTest.objects.exists()

    @pytest.mark.parametrize(
        ("read_c", "said"), [(None, "what PS1 reads"), ("18", "60 to 300"), ("301", "60 to 300")]
    )
    def test_a_seal_test_says_what_was_read(
        self, sealer: Sealer, read_c: str | None, said: str
    ) -> None:
        with pytest.raises(Refused, match=said):
            loads.tested(sealer, "seal", read_c=read_c and Decimal(read_c))

    def test_what_is_retired_is_not_tested(self, sealer: Sealer) -> None:
        Sealer.objects.update(active=False)
        sealer.refresh_from_db()
        with pytest.raises(Refused, match="retired"):
            loads.tested(sealer, "seal", read_c=Decimal(180))


class TestHowItStands:
    def test_none_is_due_and_stops_by_the_policy(self, st1: Sterilizer) -> None:
        assert stands(st1, "air removal") == ("cannot tell", True)
        assert stands(st1, "leak") == ("cannot tell", False)

    def test_yesterdays_is_not_todays(self, st1: Sterilizer) -> None:
        days_ago(loads.tested(st1, "air removal"), 1)
        assert stands(st1, "air removal") == ("cannot tell", True)

    def test_failed_stops_until_a_later_one_passes(self, st1: Sterilizer) -> None:
        days_ago(loads.tested(st1, "leak", passed=False), 30)
        assert stands(st1, "leak") == ("not met", True)
        loads.tested(st1, "leak")
        assert stands(st1, "leak") == ("met", False)

    def test_failed_after_it_passed_stops(self, st1: Sterilizer) -> None:
        loads.tested(st1, "air removal")
        loads.tested(st1, "air removal", passed=False)
        assert stands(st1, "air removal") == ("not met", True)

    def test_signed_off_it_runs_on_today(self, st1: Sterilizer) -> None:
        failed = loads.tested(st1, "air removal", passed=False)
        sign_off(at.person(), failed.pk, at.key(), "sheet was damp, engineer looked")
        assert stands(st1, "air removal") == ("met", False)

    def test_a_technician_signs_nothing_off(self, st1: Sterilizer) -> None:
        failed = loads.tested(st1, "air removal", passed=False)
        with pytest.raises(Refused, match="may not do this"):
            sign_off(at.person("Ola Brandt", "technician"), failed.pk, at.key(), "fine")

    @pytest.mark.parametrize("verb", [sign_off, take_back])
    def test_neither_goes_without_a_reason(self, st1: Sterilizer, verb: object) -> None:
        failed = loads.tested(st1, "air removal", passed=False)
        with pytest.raises(Refused, match="stays on record"):
            verb(at.person(), failed.pk, at.key(), " ")  # type: ignore[operator]

    def test_one_of_a_day_to_come_is_none_of_today_and_hides_none(self, st1: Sterilizer) -> None:
        days_ago(loads.tested(st1, "air removal"), -1)
        assert stands(st1, "air removal") == ("cannot tell", True)
        days_ago(loads.tested(st1, "air removal"), 0)
        days_ago(loads.tested(st1, "air removal"), -1)
        assert stands(st1, "air removal") == ("met", False)

    def test_taken_back_it_never_was(self, st1: Sterilizer) -> None:
        take_back(at.person(), loads.tested(st1, "air removal").pk, at.key(), "it was ST2")
        assert stands(st1, "air removal") == ("cannot tell", True)

    def test_an_indicator_in_the_incubator_is_done_for_its_week(self, st1: Sterilizer) -> None:
        loads.tested(st1, "biological", passed=None, lot="B1")
        assert stands(st1, "biological") == ("met", False)

    def test_another_that_waits_lifts_no_growth(self, st1: Sterilizer) -> None:
        grew = loads.tested(st1, "biological", passed=None, lot="B1")
        loads.tested(st1, "biological", passed=None, lot="B1")
        read(at.person(), grew.pk, at.key(), passed=False, reason="ST1 out of use")
        assert stands(st1, "biological") == ("not met", True)

    def test_a_gravity_sterilizer_has_no_air_removal_test(self, st1: Sterilizer) -> None:
        st1.programmes.set([loads.a_programme("G121", air_removal="gravity")])
        assert kinds_of(st1) == ("biological",)


class TestALoadIsStarted:
    @pytest.fixture
    def load(self, instrument: Instrument) -> Load:
        return loads.a_load(ask.a_package(instrument), untested=True)

    def test_not_without_the_air_removal_test_of_the_day(self, load: Load) -> None:
        with pytest.raises(Refused, match=r"No air-removal test of ST1 is on record for \d"):
            gathering.start(at.person(), load.pk, at.key())
        load.refresh_from_db()
        assert load.state == LoadState.GATHERING

    def test_with_it(self, load: Load) -> None:
        loads.tested(load.sterilizer, "air removal")
        assert gathering.start(at.person(), load.pk, at.key()).state == LoadState.RUNNING

    def test_what_is_due_besides_stays_with_the_step(self, load: Load) -> None:
        loads.tested(load.sterilizer, "air removal")
        step = gathering.start(at.person(), load.pk, at.key()).steps.last()
        assert "No leak test of ST1 is on record" in step.reason

    def test_by_policy_it_is_a_caution(self, load: Load) -> None:
        PolicyOverride.objects.create(
            name="tests_that_stop", value=["seal"], since=date(2026, 1, 1), source="house",
            reason="x", set_by="Bea", set_at=timezone.now(),
        )  # fmt: skip
        step = gathering.start(at.person(), load.pk, at.key()).steps.last()
        assert "No air-removal test" in step.reason

    def test_not_after_a_failed_leak_test(self, load: Load) -> None:
        loads.tested(load.sterilizer, "air removal")
        loads.tested(load.sterilizer, "leak", passed=False)
        with pytest.raises(Refused, match="leak test of ST1 failed"):
            gathering.start(at.person(), load.pk, at.key())

    def test_gravity_needs_none(self, load: Load) -> None:
        Load.objects.filter(pk=load.pk).update(runs=load.runs | {"air_removal": "gravity"})
        assert gathering.start(at.person(), load.pk, at.key()).state == LoadState.RUNNING

    def test_unknown_air_removal_is_asked_as_dynamic(self, load: Load) -> None:
        Load.objects.filter(pk=load.pk).update(runs={})
        with pytest.raises(Refused, match="No air-removal test"):
            gathering.start(at.person(), load.pk, at.key())


class TestBiological:
    @pytest.fixture
    def released(self) -> Load:
        return loads.released(ask.a_package(make.Instrument()), biological=loads.NOT_READ)

    def placed(self, load: Load) -> EquipmentTest:
        return self.incubated(
            loads.tested(load.sterilizer, "biological", passed=None, lot="B1", load=load)
        )

    def incubated(self, test: EquipmentTest, minutes: int = 180) -> EquipmentTest:
        """The same, put into the incubator so long ago."""
        ago = timezone.now() - timedelta(minutes=minutes)
        EquipmentTest.objects.filter(pk=test.pk).update(done_at=ago)
        return test

    @pytest.mark.parametrize("minutes", [0, 179])
    def test_no_growth_is_not_read_before_its_time(self, released: Load, minutes: int) -> None:
        test = self.incubated(self.placed(released), minutes)
        with pytest.raises(Refused, match="no growth is read after 180 min, not before"):
            read(at.person(), test.pk, at.key(), passed=True)
        read(at.person(), test.pk, at.key(), passed=False, reason="growth is seen at any time")
        released.refresh_from_db()
        assert released.biological == Biological.GROWTH

    @pytest.mark.parametrize(
        ("passed", "said"), [(True, Biological.NO_GROWTH), (False, Biological.GROWTH)]
    )
    def test_read_its_load_learns_it(self, released: Load, passed: bool, said: str) -> None:
        test = self.placed(released)
        read(at.person(), test.pk, at.key(), passed=passed, reason="recalled")
        released.refresh_from_db()
        assert released.biological == said

    def test_taken_back_its_load_waits_again(self, released: Load) -> None:
        test = self.placed(released)
        read(at.person(), test.pk, at.key(), passed=True)
        take_back(at.person(), test.pk, at.key(), "the control did not grow")
        released.refresh_from_db()
        assert released.biological == Biological.NOT_READ

    @pytest.mark.parametrize(
        ("said", "why"), [(loads.NO_GROWTH, "waits to be read"), (loads.NONE, "is on record")]
    )
    def test_nobody_releases_against_what_is_on_record(self, said: str, why: str) -> None:
        load = loads.running(ask.a_package(make.Instrument()))
        self.placed(load)
        with pytest.raises(Refused, match=why):
            releasing.release(at.person(), load.pk, loads.all_yes(), said, at.key())

    def test_nor_after_it_grew(self) -> None:
        load = loads.running(ask.a_package(make.Instrument()))
        test = self.placed(load)
        read(at.person(), test.pk, at.key(), passed=False, reason="held")
        with pytest.raises(Refused, match="grew"):
            releasing.release(at.person(), load.pk, loads.all_yes(), loads.NO_GROWTH, at.key())

    def test_growth_needs_words(self, released: Load) -> None:
        with pytest.raises(Refused, match="what is done about it"):
            read(at.person(), self.placed(released).pk, at.key(), passed=False)

    def test_of_another_sterilizer_it_is_refused(self, released: Load) -> None:
        with pytest.raises(Refused, match="runs in ST1, not in ST2"):
            loads.tested(loads.a_sterilizer("ST2"), "biological", passed=None, lot="B1",
                         load=released)  # fmt: skip

    def test_the_last_good_one_is_a_test_or_a_load(self, st1: Sterilizer) -> None:
        now = timezone.now()
        assert last_good_biological(st1, now) is None
        loads.tested(st1, "air removal")
        load = loads.released(ask.a_package(make.Instrument()), biological=loads.NO_GROWTH)
        assert load.started_at
        found = last_good_biological(st1, now + timedelta(minutes=1))
        assert found and (found.load, found.at) == (load, load.started_at)
        test = self.incubated(loads.tested(st1, "biological", passed=None, lot="B1"))
        read(at.person(), test.pk, at.key(), passed=True)
        self.incubated(test, 0)
        found = last_good_biological(st1, now + timedelta(minutes=1))
        assert found and (found.test, found.load) == (test, None)
        assert last_good_biological(st1, load.started_at) is None

    def test_one_signed_off_is_no_good_one(self, st1: Sterilizer) -> None:
        test = loads.tested(st1, "biological", passed=None, lot="B1")
        read(at.person(), test.pk, at.key(), passed=False, reason="stopped")
        sign_off(at.person(), test.pk, at.key(), "vial was cracked")
        assert last_good_biological(st1, timezone.now()) is None
