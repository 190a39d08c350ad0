"""Packing, signing and reopening a set; what may not go and who may let it."""

from __future__ import annotations

from datetime import date

import pytest

from assembly.bench import builds, signing
from assembly.bench.tally import tally_of
from assembly.consequences.policy_actions import override_value
from assembly.judging.taking import NotClosed, Plan, chosen, cycles_offered
from assembly.ledger import Refused
from assembly.models import Build, Package, Shortfall
from catalog.actions import Actor
from catalog.models import Change, CycleOption, Instrument
from tests.factories import bench as at
from tests.factories import loads

pytestmark = pytest.mark.django_db
ON = date(2026, 1, 1)


def ask_for_second_check() -> None:
    override_value(Actor("bea", reason="trial"), "second_check", True, since=ON, source="SOP 4")


def with_shortage(may_go_without: bool) -> Build:
    build = at.a_build(at.a_set(may_go_without=may_go_without))
    first = tally_of(build).lines[0].line
    builds.short(at.person(), build.pk, first.pk, 1, "", at.key())
    second = tally_of(build).lines[1].line
    builds.count(at.person(), build.pk, second.pk, 2, at.key())
    return build


def conflicting(**facts: object) -> Build:
    """A complete build whose two lines have no cycle in common, the second with these facts."""
    build = at.a_build()
    second = tally_of(build).lines[1].line.instrument
    if facts:
        Instrument.objects.filter(pk=second.pk).update(**facts)
    CycleOption.objects.filter(instrument=second).update(temperature_c=121)
    at.complete(build)
    return build


class TestPack:
    def test_a_complete_set_is_packed(self, build: Build) -> None:
        at.complete(build)
        signing.pack(at.person(), build.pk, at.all_yes(build), at.key())
        build.refresh_from_db()
        assert build.state == Build.State.PACKED

    def test_with_a_piece_to_find_it_is_refused(self, build: Build) -> None:
        first = tally_of(build).lines[0].line
        builds.count(at.person(), build.pk, first.pk, 1, at.key())
        with pytest.raises(Refused, match="2 to be found"):
            signing.pack(at.person(), build.pk, at.all_yes(build), at.key())

    def test_an_open_check_is_named(self, build: Build) -> None:
        at.complete(build)
        plan = at.all_yes(build)
        answers = {key: word for key, word in plan.answers.items() if key != "filter"}
        with pytest.raises(NotClosed, match="filter the right one"):
            signing.pack(at.person(), build.pk, Plan(plan.option, answers), at.key())

    def test_a_no_leads_to_what_to_do(self, build: Build) -> None:
        at.complete(build)
        plan = at.all_yes(build)
        with pytest.raises(NotClosed) as problem:
            signing.pack(
                at.person(), build.pk, Plan(plan.option, {**plan.answers, "filter": "no"}), at.key()
            )
        assert [check.then() for check in problem.value.said_no] == [
            "Put in a new filter for this container and method."
        ]

    def test_packed_it_is_counted_no_more(self, build: Build) -> None:
        at.complete(build)
        signing.pack(at.person(), build.pk, at.all_yes(build), at.key())
        with pytest.raises(Refused, match="packed"):
            builds.undo(at.person(), build.pk, at.key())

    def test_back_to_counting_it_can_be_undone(self, build: Build) -> None:
        at.complete(build)
        signing.pack(at.person(), build.pk, at.all_yes(build), at.key())
        signing.unpack(at.person(), build.pk, at.key())
        builds.undo(at.person(), build.pk, at.key())
        assert tally_of(build).remaining == 2


class TestOverride:
    def test_conflicting_cycles_are_refused(self) -> None:
        build = conflicting()
        with pytest.raises(NotClosed, match="do not pass"):
            signing.pack(at.person(), build.pk, at.all_yes(build), at.key())

    def test_without_a_programme_an_override_is_not_enough(self) -> None:
        build = conflicting()
        with pytest.raises(NotClosed, match="Choose the cycle"):
            signing.pack(
                at.person(), build.pk, at.accepting(build, "loan set", programme=""), at.key()
            )

    @pytest.mark.parametrize("reason", ["", " "])
    def test_accepted_without_a_reason_is_refused(self, reason: str) -> None:
        build = conflicting()
        with pytest.raises(NotClosed, match="with its reason"):
            signing.pack(at.person(), build.pk, at.accepting(build, reason), at.key())

    def test_each_finding_is_accepted_by_itself(self) -> None:
        build = conflicting(weight_g=None)
        with pytest.raises(NotClosed, match="asks for 121 °C, this runs at 134"):
            signing.pack(
                at.person(), build.pk, at.accepting(build, "weighed", "common cycle"), at.key()
            )

    def test_a_finding_that_says_something_else_by_now_was_not_accepted(self) -> None:
        build = conflicting()
        plan = at.accepting(build, "maker asked")
        second = tally_of(build).lines[1].line.instrument
        CycleOption.objects.filter(instrument=second).update(temperature_c=132)
        with pytest.raises(NotClosed, match="asks for 132 °C"):
            signing.pack(at.person(), build.pk, plan, at.key())

    def test_overridden_the_package_says_by_whom_and_why(self) -> None:
        package = taken_against_the_rules("maker asked")
        assert (package.override_by, package.override_reason) == ("Bea Hartsop", "maker asked")

    def test_each_accepted_finding_is_on_record(self) -> None:
        [one] = taken_against_the_rules("maker asked").accepted
        assert (one["rule"], one["by"], one["reason"]) == (
            "common cycle", "Bea Hartsop", "maker asked")  # fmt: skip

    def test_the_programme_chosen_is_on_the_package(self) -> None:
        assert taken_against_the_rules("maker asked").method.startswith("S134 (")

    def test_taken_against_an_ifu_it_goes_in_that_programme_alone(self) -> None:
        assert taken_against_the_rules("maker asked").judged_by == {}

    def test_taken_against_an_ifu_what_is_in_it_counts_in_a_load(self) -> None:
        assert len(taken_against_the_rules("maker asked").serves["inside"]) == 2

    def test_what_the_rules_pass_is_no_override(self, build: Build) -> None:
        at.complete(build)
        signing.pack(at.person(), build.pk, at.accepting(build, "just so", programme=""), at.key())
        assert signing.sign(at.person(), build.pk, at.key()).override_by == ""


class TestNoReasonLifts:
    """A set of steam IFUs in a container for steam never goes through hydrogen peroxide."""

    @pytest.fixture
    def laparotomy(self) -> Build:
        build = conflicting()
        loads.a_programme("VP", method="h2o2", temperature_c=None, exposure_min=28,
                          drying_min=None, air_removal="", cycle_name="standard")  # fmt: skip
        return build

    def test_peroxide_is_not_offered(self, laparotomy: Build) -> None:
        answer = signing.answer_for(tally_of(laparotomy))
        assert answer is not None
        option = chosen(answer)
        assert option is not None
        assert [one.code for one in cycles_offered(answer, option)] == ["S134"]

    def test_asked_for_all_the_same_it_is_refused(self, laparotomy: Build) -> None:
        plan = at.accepting(laparotomy, "test of override", programme="VP")
        with pytest.raises(NotClosed):
            signing.pack(at.person(), laparotomy.pk, plan, at.key())

    def test_nor_where_the_container_is_validated_for_it(self, laparotomy: Build) -> None:
        container = laparotomy.instrument_set.container
        assert container is not None
        container.programmes.add(loads.a_programme("VP"))
        container.filter_material = "ptfe"
        container.save()
        plan = at.accepting(laparotomy, "test of override", programme="VP")
        with pytest.raises(NotClosed, match=r"Nobody may take VP.*No cycle on record"):
            signing.pack(at.person(), laparotomy.pk, plan, at.key())


def taken_against_the_rules(reason: str) -> Package:
    build = conflicting()
    signing.pack(at.person(), build.pk, at.accepting(build, reason), at.key())
    return signing.sign(at.person(), build.pk, at.key())


class TestShortages:
    def test_a_set_goes_without_what_it_may_go_without(self) -> None:
        build = with_shortage(True)
        signing.pack(at.person(), build.pk, at.all_yes(build), at.key())
        package = signing.sign(at.person(), build.pk, at.key())
        assert package.shortages == [f"MISSING 1 {first_name(build)} (0 of 1 in the set)"]

    def test_a_request_is_opened_for_each(self) -> None:
        build = with_shortage(True)
        signing.pack(at.person(), build.pk, at.all_yes(build), at.key())
        signing.sign(at.person(), build.pk, at.key())
        assert [(one.item_number, one.quantity) for one in Shortfall.objects.all()] == [
            ("TS-1-1", 1)
        ]

    def test_no_set_goes_without_what_it_may_not_go_without(self) -> None:
        build = with_shortage(False)
        with pytest.raises(Refused, match="may not go without"):
            signing.pack(at.person(), build.pk, at.all_yes(build), at.key())


def first_name(build: Build) -> str:
    return tally_of(build).lines[0].line.name


class TestSign:
    def test_the_package_holds_what_is_in_it(self, build: Build) -> None:
        package = at.signed(build)
        assert [(one["item_number"], one["quantity"]) for one in package.contents] == [
            ("TS-1-1", 1),
            ("TS-1-2", 2),
        ]

    def test_the_same_key_gives_the_same_package(self, build: Build) -> None:
        at.complete(build)
        signing.pack(at.person(), build.pk, at.all_yes(build), at.key())
        found = {signing.sign(at.person(), build.pk, "sign-once-key").pk for _ in range(2)}
        assert len(found) == 1

    def test_where_the_policy_asks_a_second_person_looks_before_the_lid(self, build: Build) -> None:
        ask_for_second_check()
        at.complete(build)
        with pytest.raises(Refused, match="before the lid"):
            signing.pack(at.person(), build.pk, at.all_yes(build), at.key())

    def test_asked_for_since_it_was_packed_it_is_not_signed_without(self, build: Build) -> None:
        at.complete(build)
        signing.pack(at.person(), build.pk, at.all_yes(build), at.key())
        ask_for_second_check()
        with pytest.raises(Refused, match="Go back to counting"):
            signing.sign(at.person(), build.pk, at.key())

    def test_nobody_is_their_own_second_person(self, build: Build) -> None:
        at.complete(build)
        with pytest.raises(Refused, match="somebody else"):
            signing.pack(at.person(), build.pk, at.all_yes(build), at.key(), at.person())

    def test_who_looked_does_not_sign_it_after_taking_it_over(self, build: Build) -> None:
        at.complete(build)
        ida = at.person("Ida Crow")
        signing.pack(at.person(), build.pk, at.all_yes(build), at.key(), ida)
        builds.take_over(ida, build.pk, at.key())
        with pytest.raises(Refused, match="somebody else"):
            signing.sign(ida, build.pk, at.key())

    def test_the_second_person_is_on_record(self, build: Build) -> None:
        ask_for_second_check()
        at.complete(build)
        ida = at.person("Ida Crow")
        signing.pack(at.person(), build.pk, at.all_yes(build), at.key(), ida)
        assert signing.sign(at.person(), build.pk, at.key()).checked_by == "Ida Crow"

    def test_unpacked_it_is_not_signed(self, build: Build) -> None:
        at.complete(build)
        with pytest.raises(Refused, match="being counted"):
            signing.sign(at.person(), build.pk, at.key())


class TestReopen:
    def test_the_old_label_is_void(self) -> None:
        package = at.signed()
        signing.reopen(at.person(), package.build_id, "wrong basket", at.key())
        package.refresh_from_db()
        assert (package.is_void, package.void_reason) == (True, "wrong basket")

    def test_without_a_reason_it_stays_signed(self) -> None:
        package = at.signed()
        with pytest.raises(Refused, match="reason"):
            signing.reopen(at.person(), package.build_id, " ", at.key())

    def test_signed_again_it_has_a_new_package(self) -> None:
        package = at.signed()
        signing.reopen(at.person(), package.build_id, "wrong basket", at.key())
        again = at.signed(Build.objects.get(pk=package.build_id))
        assert (again.code != package.code, Package.objects.filter(void_at=None).count()) == (
            True,
            1,
        )

    def test_its_requests_are_closed(self) -> None:
        build = with_shortage(True)
        signing.pack(at.person(), build.pk, at.all_yes(build), at.key())
        signing.sign(at.person(), build.pk, at.key())
        signing.reopen(at.person(), build.pk, "found it", at.key())
        assert not Shortfall.objects.filter(closed_at=None).exists()

    def test_it_is_on_record(self) -> None:
        package = at.signed()
        signing.reopen(at.person(), package.build_id, "wrong basket", at.key())
        assert Change.objects.filter(reason="wrong basket", object_key=package.code).exists()

    def test_an_open_build_is_not_reopened(self, build: Build) -> None:
        with pytest.raises(Refused, match="being counted"):
            signing.reopen(at.person(), build.pk, "why not", at.key())


def test_a_build_given_up_leaves_the_lists_and_stays_on_record(build: Build) -> None:
    signing.give_up(at.person(), build.pk, "set recalled", at.key())
    build.refresh_from_db()
    assert (build.state, tally_of(build).events[-1].reason) == ("void", "set recalled")
