"""Counting a set: each verb, what it refuses, and that nothing is counted twice."""

from __future__ import annotations

from decimal import Decimal

import pytest
from django.db import IntegrityError, transaction
from django.utils import timezone

from assembly.bench import builds
from assembly.bench.tally import Tally, tally_of
from assembly.ledger import Refused
from assembly.models import Build, BuildEvent, Repair
from catalog.models import Change
from tests.factories import bench as at
from tests.factories import catalog as make

pytestmark = pytest.mark.django_db


def line(build: Build, number: int) -> int:
    return tally_of(build).lines[number].line.pk


def counts(tally: Tally) -> list[int]:
    return [one.inside for one in tally.lines]


class TestStart:
    def test_the_lines_are_those_of_the_count_sheet(self, build: Build) -> None:
        assert [one.line.wanted for one in tally_of(build).lines] == [1, 2]

    def test_a_count_sheet_changed_later_does_not_change_the_build(self, build: Build) -> None:
        build.count_sheet.lines.update(quantity=9)
        assert [one.line.wanted for one in tally_of(build).lines] == [1, 2]

    def test_the_same_key_is_the_same_build(self) -> None:
        found = at.a_set()
        one = builds.start(at.person(), found, "the-same-key")
        assert builds.start(at.person(), found, "the-same-key") == one

    def test_a_set_without_an_approved_sheet_is_refused(self) -> None:
        with pytest.raises(Refused, match="approved"):
            builds.start(at.person(), make.InstrumentSet(), at.key())

    def test_it_is_on_record(self, build: Build) -> None:
        assert Change.objects.filter(object_key=f"build {build.pk}", verb="added").exists()


class TestCount:
    def test_pieces_are_in(self, build: Build) -> None:
        builds.count(at.person(), build.pk, line(build, 1), 2, at.key())
        assert counts(tally_of(build)) == [0, 2]

    def test_the_same_key_counts_once(self, build: Build) -> None:
        for _ in range(2):
            done = builds.count(at.person(), build.pk, line(build, 1), 1, "twice-sent")
        assert (counts(tally_of(build)), done.again) == ([0, 1], True)

    def test_more_than_belong_in_are_refused(self, build: Build) -> None:
        with pytest.raises(Refused, match="only 2 more"):
            builds.count(at.person(), build.pk, line(build, 1), 3, at.key())

    def test_the_same_key_after_the_line_is_full_is_still_no_refusal(self, build: Build) -> None:
        builds.count(at.person(), build.pk, line(build, 0), 1, "the-last-one")
        assert builds.count(at.person(), build.pk, line(build, 0), 1, "the-last-one").again

    def test_a_line_of_another_build_is_refused(self, build: Build) -> None:
        other = at.a_build(at.a_set("TS-2"))
        with pytest.raises(Refused, match="not in this set"):
            builds.count(at.person(), build.pk, line(other, 0), 1, at.key())

    @pytest.mark.parametrize("bad", ["", "short", "x" * 65])
    def test_a_request_without_a_proper_key_is_refused(self, build: Build, bad: str) -> None:
        with pytest.raises(Refused, match="key"):
            builds.count(at.person(), build.pk, line(build, 0), 1, bad)

    def test_the_database_itself_takes_a_key_once(self, build: Build) -> None:
        builds.count(at.person(), build.pk, line(build, 0), 1, "only-once")
        with pytest.raises(IntegrityError), transaction.atomic():
            BuildEvent(build=build, number=99, key="only-once", kind="counted", by="Tam Birkett",
                       at=timezone.now()).save()  # fmt: skip

    def test_an_event_is_not_altered(self, build: Build) -> None:
        event = builds.count(at.person(), build.pk, line(build, 0), 1, at.key())
        with pytest.raises(TypeError, match="not altered"):
            event.save()


class TestShortDamagedOver:
    def test_a_short_line_is_accounted_for(self, build: Build) -> None:
        builds.short(at.person(), build.pk, line(build, 0), 1, "", at.key())
        one = tally_of(build).lines[0]
        assert (one.remaining, one.short, one.state) == (0, 1, "short")

    def test_a_piece_found_after_all_makes_the_line_whole(self, build: Build) -> None:
        builds.short(at.person(), build.pk, line(build, 0), 1, "", at.key())
        builds.count(at.person(), build.pk, line(build, 0), 1, at.key())
        assert tally_of(build).lines[0].state == "done"

    def test_more_short_than_missing_is_refused(self, build: Build) -> None:
        with pytest.raises(Refused, match="cannot be"):
            builds.short(at.person(), build.pk, line(build, 0), 2, "", at.key())

    def test_a_damaged_piece_goes_to_repair_with_its_reason(self, build: Build) -> None:
        builds.damaged(at.person(), build.pk, line(build, 0), "Ratchet does not hold", at.key())
        repair = Repair.objects.get()
        assert (repair.item_number, repair.reason) == ("TS-1-1", "Ratchet does not hold")

    def test_a_damaged_piece_is_not_in(self, build: Build) -> None:
        builds.damaged(at.person(), build.pk, line(build, 0), "Bent", at.key())
        assert tally_of(build).lines[0].remaining == 1

    def test_a_damaged_piece_of_a_full_line_comes_out_again(self, build: Build) -> None:
        builds.count(at.person(), build.pk, line(build, 1), 2, at.key())
        builds.damaged(at.person(), build.pk, line(build, 1), "Bent", at.key())
        assert counts(tally_of(build)) == [0, 1]

    def test_a_damaged_piece_without_a_reason_is_refused(self, build: Build) -> None:
        with pytest.raises(Refused, match="what is wrong"):
            builds.damaged(at.person(), build.pk, line(build, 0), "  ", at.key())

    def test_one_too_many_is_laid_aside_and_not_in(self, build: Build) -> None:
        builds.count(at.person(), build.pk, line(build, 0), 1, at.key())
        builds.over(at.person(), build.pk, line(build, 0), at.key())
        tally = tally_of(build)
        assert (tally.inside, tally.over) == (1, 1)

    def test_one_too_many_of_a_line_still_open_is_refused(self, build: Build) -> None:
        with pytest.raises(Refused, match="still missing"):
            builds.over(at.person(), build.pk, line(build, 0), at.key())


class TestSubstitute:
    def test_an_accepted_one_is_in_instead(self) -> None:
        other = make.Instrument()
        instrument_set = at.a_set()
        instrument_set.current.lines.first().substitutes.add(other)
        build = at.a_build(instrument_set)
        builds.substitute(at.person(), build.pk, line(build, 0), other.pk, 1, at.key())
        assert [one.instrument for one in tally_of(build).contents] == [other]

    def test_any_other_is_refused(self, build: Build) -> None:
        with pytest.raises(Refused, match="no accepted substitute"):
            builds.substitute(
                at.person(), build.pk, line(build, 0), make.Instrument().pk, 1, at.key()
            )


class TestUndo:
    def test_the_last_step_is_taken_back(self, build: Build) -> None:
        builds.count(at.person(), build.pk, line(build, 0), 1, at.key())
        builds.count(at.person(), build.pk, line(build, 1), 2, at.key())
        builds.undo(at.person(), build.pk, at.key())
        assert counts(tally_of(build)) == [1, 0]

    def test_undo_twice_takes_back_two_steps(self, build: Build) -> None:
        for number in (0, 1):
            builds.count(at.person(), build.pk, line(build, number), 1, at.key())
        for _ in range(2):
            builds.undo(at.person(), build.pk, at.key())
        assert counts(tally_of(build)) == [0, 0]

    def test_what_was_undone_stays_on_record(self, build: Build) -> None:
        builds.count(at.person(), build.pk, line(build, 0), 1, at.key())
        builds.undo(at.person(), build.pk, at.key())
        kinds = [event.kind for event in tally_of(build).events]
        assert kinds == ["started", "counted", "undo"]

    def test_an_undone_damage_needs_no_repair(self, build: Build) -> None:
        builds.damaged(at.person(), build.pk, line(build, 0), "Bent", at.key())
        builds.undo(at.person(), build.pk, at.key())
        assert Repair.objects.get().closed_at is not None

    def test_an_undo_of_what_is_no_longer_last_is_refused(self, build: Build) -> None:
        seen = builds.count(at.person(), build.pk, line(build, 0), 1, at.key())
        builds.count(at.person(), build.pk, line(build, 1), 1, at.key())
        with pytest.raises(Refused, match="since"):
            builds.undo(at.person(), build.pk, at.key(), seen.pk)

    def test_with_nothing_done_there_is_nothing_to_undo(self, build: Build) -> None:
        with pytest.raises(Refused, match="nothing to undo"):
            builds.undo(at.person(), build.pk, at.key())


class TestReading:
    def test_the_scale_replaces_the_sum(self, build: Build) -> None:
        at.complete(build)
        builds.weigh(at.person(), build.pk, Decimal("4321.5"), at.key())
        assert tally_of(build).reading_g == 4321.5

    def test_a_piece_counted_after_it_makes_it_stale(self, build: Build) -> None:
        builds.weigh(at.person(), build.pk, Decimal(4321), at.key())
        builds.count(at.person(), build.pk, line(build, 0), 1, at.key())
        assert tally_of(build).reading_g is None

    def test_it_belongs_to_what_was_weighed(self, build: Build) -> None:
        code = make.Container().code
        builds.weigh(at.person(), build.pk, Decimal(4321), at.key(), "4.321 kg", code)
        assert tally_of(build).weighed_in == code

    def test_what_is_no_container_or_wrap_in_stock_is_refused(self, build: Build) -> None:
        with pytest.raises(Refused, match="no container or wrap in stock"):
            builds.weigh(at.person(), build.pk, Decimal(4321), at.key(), "4.321 kg", "CUPBOARD")

    @pytest.mark.parametrize("grams", ["0", "-5", "NaN", "Infinity", "100000"])
    def test_a_reading_that_no_scale_shows_is_refused(self, build: Build, grams: str) -> None:
        with pytest.raises(Refused, match="not taken"):
            builds.weigh(at.person(), build.pk, Decimal(grams), at.key())


class TestWhoseItIs:
    def test_somebody_else_does_not_count(self, build: Build) -> None:
        with pytest.raises(Refused, match="Tam Birkett holds this set"):
            builds.count(at.person("Ida Crow"), build.pk, line(build, 0), 1, at.key())

    def test_the_holder_sees_who_asks(self, build: Build) -> None:
        builds.ask_for(at.person("Ida Crow"), build.pk, at.key())
        asked = tally_of(build).asked
        assert asked is not None and asked.by == "Ida Crow"

    def test_handed_over_it_belongs_to_who_asked(self, build: Build) -> None:
        builds.ask_for(at.person("Ida Crow"), build.pk, at.key())
        builds.hand_over(at.person(), build.pk, at.key())
        build.refresh_from_db()
        assert build.holder_name == "Ida Crow"

    def test_taken_over_it_says_from_whom(self, build: Build) -> None:
        builds.take_over(at.person("Ida Crow"), build.pk, at.key())
        taken = tally_of(build).taken
        assert taken is not None and taken.data == {"from": "Tam Birkett", "to": "Ida Crow"}

    def test_after_a_hand_over_the_first_holder_counts_no_more(self, build: Build) -> None:
        builds.take_over(at.person("Ida Crow"), build.pk, at.key())
        with pytest.raises(Refused, match="Ida Crow holds"):
            builds.count(at.person(), build.pk, line(build, 0), 1, at.key())

    def test_nobody_asks_for_their_own(self, build: Build) -> None:
        with pytest.raises(Refused, match="hold it already"):
            builds.ask_for(at.person(), build.pk, at.key())

    def test_nothing_is_handed_to_nobody(self, build: Build) -> None:
        with pytest.raises(Refused, match="Nobody asks"):
            builds.hand_over(at.person(), build.pk, at.key())


def test_a_refused_verb_leaves_no_event(build: Build) -> None:
    with pytest.raises(Refused):
        builds.count(at.person(), build.pk, line(build, 0), 5, at.key())
    assert BuildEvent.objects.filter(build=build).count() == 1
