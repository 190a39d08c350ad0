"""A baseline is taken of what was counted complete and signed, and void with what changes it."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from assembly.bench import builds, signing
from assembly.bench.tally import tally_of
from assembly.bench.weighing.baselines import in_force, newest_of, take_baseline, void_baseline
from assembly.bench.weighing.checks import field_for
from assembly.ledger import Refused
from assembly.models import Build, BuildEvent, Repair, SetBaseline, Shortfall
from assembly.rules.policy.values import default_policy
from assembly.shortfalls.replenishing import all_back
from assembly.upkeep import repairs, sharpening
from catalog.models import Basket, CountSheet, Instrument, InstrumentSet
from tests.factories import bench as at
from tests.factories import catalog as make
from tests.rules.given import ON

pytestmark = pytest.mark.django_db
POLICY = default_policy(ON)


@pytest.fixture
def a_set() -> InstrumentSet:
    """One of 40 g, two of 70 g, all of which it may go without."""
    made = at.a_set(may_go_without=True)
    for number, grams in ((1, 40), (2, 70)):
        Instrument.objects.filter(item_number=f"TS-1-{number}").update(weight_g=grams)
    return made


def counted(of: InstrumentSet) -> Build:
    build = at.a_build(of)
    at.complete(build)
    return build


def one_short(of: InstrumentSet) -> Build:
    """Without the one of 40 g, and saying so."""
    build = at.a_build(of)
    first, second = (one.line.pk for one in tally_of(build).lines)
    builds.short(at.person(), build.pk, first, 1, "", at.key())
    builds.count(at.person(), build.pk, second, 2, at.key())
    return build


def sign(build: Build) -> None:
    signing.pack(at.person(), build.pk, at.all_yes(build), at.key())
    signing.sign(at.person(), build.pk, at.key())


def said(event: BuildEvent) -> str:
    return str(event.data["said"][0])


def why(of: InstrumentSet) -> str:
    (one,) = newest_of(of)
    return one.void


class TestReading:
    def test_that_is_as_it_should_be(self, a_set: InstrumentSet) -> None:
        at.a_baseline(a_set)
        event = at.weighed(counted(a_set), "2001.5")
        assert said(event) == "Weighs as it should: 1.5 g heavier, within 4.9 g."
        assert not event.data["alarm"]

    def test_that_is_an_alarm_names_what_is_missing_and_changes_no_count(
        self, a_set: InstrumentSet
    ) -> None:
        at.a_baseline(a_set)
        build = counted(a_set)
        before = tally_of(build).inside
        event = at.weighed(build, "1960.2")
        name = Instrument.objects.get(item_number="TS-1-1").name
        assert event.data["alarm"] and f"1 × {name} missing" in event.data["said"][1]
        assert event.data["said"][-1] == "The count stands: the scale only asks."
        assert tally_of(build).inside == before
        signing.pack(at.person(), build.pk, at.all_yes(build), at.key())

    def test_what_is_said_to_be_short_is_taken_off_first(self, a_set: InstrumentSet) -> None:
        at.a_baseline(a_set)
        assert not at.weighed(one_short(a_set), "1960").data["alarm"]

    def test_and_not_where_nobody_knows_what_it_weighs(self, a_set: InstrumentSet) -> None:
        at.a_baseline(a_set)
        Instrument.objects.filter(item_number="TS-1-1").update(weight_g=None)
        assert said(at.weighed(at.a_build(a_set))).startswith("It cannot be compared: not all of")

    def test_without_a_baseline_says_so(self, a_set: InstrumentSet) -> None:
        at.a_baseline(a_set, number=1)
        assert said(at.weighed(counted(a_set), number=2)).startswith("No baseline")

    def test_another_number_has_its_own(self, a_set: InstrumentSet) -> None:
        at.a_baseline(a_set, "2000", number=1)
        at.a_baseline(a_set, "2040", number=2)
        build = counted(a_set)
        assert at.weighed(build, "2000", number=2).data["alarm"]
        assert not at.weighed(build, "2000", number=1).data["alarm"]

    def test_is_forgotten_by_the_page_once_something_is_counted(self, a_set: InstrumentSet) -> None:
        build = at.a_build(a_set)
        at.weighed(build)
        assert tally_of(build).weighed_open
        at.complete(build)
        assert tally_of(build).weighed_open is None

    def test_is_refused_once_it_is_packed(self, a_set: InstrumentSet) -> None:
        build = counted(a_set)
        signing.pack(at.person(), build.pk, at.all_yes(build), at.key())
        with pytest.raises(Refused, match="Nothing was changed"):
            at.weighed(build)

    def test_that_no_set_weighs_is_refused(self, a_set: InstrumentSet) -> None:
        with pytest.raises(Refused, match="A reading of 200000 g is not taken"):
            at.weighed(counted(a_set), "200000")


class TestField:
    def test_is_shown_where_there_is_a_baseline_and_not_otherwise(
        self, a_set: InstrumentSet
    ) -> None:
        assert field_for(tally_of(at.a_build(a_set)), False, POLICY) is None
        at.a_baseline(a_set, number=3)
        field = field_for(tally_of(at.a_build(a_set)), False, POLICY)
        assert field and (field.number, round(field.sure_g, 1)) == (3, 7.6)

    def test_asks_which_where_there_are_several(self, a_set: InstrumentSet) -> None:
        at.a_baseline(a_set, number=1)
        at.a_baseline(a_set, number=2)
        field = field_for(tally_of(at.a_build(a_set)), False, POLICY)
        assert field and field.number is None


class TestTaken:
    def take(self, reading: BuildEvent) -> SetBaseline:
        of = reading.build.instrument_set
        return take_baseline(at.person(), of.pk, reading.pk, at.key())

    def test_of_what_was_counted_complete_and_signed(self, a_set: InstrumentSet) -> None:
        made = at.a_baseline(a_set, "2000.4", number=2)
        assert (float(made.grams), made.number, made.revision) == (2000.4, 2, 1)
        assert (made.step_g, made.repeat_g) == (1, 0.5)
        assert list(in_force(a_set)) == [2]

    def test_the_same_key_gives_the_same(self, a_set: InstrumentSet) -> None:
        build = counted(a_set)
        reading = at.weighed(build)
        at.signed(build)
        key = at.key()
        first = take_baseline(at.person(), a_set.pk, reading.pk, key)
        assert take_baseline(at.person(), a_set.pk, reading.pk, key) == first

    def test_not_before_it_is_signed(self, a_set: InstrumentSet) -> None:
        with pytest.raises(Refused, match="its assembly is not signed"):
            self.take(at.weighed(counted(a_set)))

    def test_not_of_what_was_short(self, a_set: InstrumentSet) -> None:
        build = one_short(a_set)
        reading = at.weighed(build)
        sign(build)
        with pytest.raises(Refused, match="the set was not complete"):
            self.take(reading)

    def test_not_where_something_was_counted_after_it(self, a_set: InstrumentSet) -> None:
        build = counted(a_set)
        reading = at.weighed(build)
        builds.undo(at.person(), build.pk, at.key())
        at.signed(build)
        with pytest.raises(Refused, match="something was counted after it"):
            self.take(reading)

    def test_not_of_an_alarm_while_its_baseline_stands(self, a_set: InstrumentSet) -> None:
        known = at.a_baseline(a_set)
        build = counted(a_set)
        reading = at.weighed(build, "1930")
        at.signed(build)
        with pytest.raises(Refused, match="void the baseline that it was held against first"):
            self.take(reading)
        void_baseline(at.person(), a_set.pk, known.pk, "another basket", at.key())
        assert self.take(reading).grams == 1930

    def test_not_twice_nor_of_another_set(self, a_set: InstrumentSet) -> None:
        made = at.a_baseline(a_set)
        with pytest.raises(Refused, match="a baseline already"):
            self.take(made.reading)
        with pytest.raises(Refused, match="not on record"):
            take_baseline(at.person(), a_set.pk, 987654, at.key())


def to_repair(of: InstrumentSet) -> Repair:
    first = Instrument.objects.get(item_number="TS-1-1")
    return repairs.to_repair(at.person(), first, "bent", at.key(), instrument_set=of)


def sharpened(of: InstrumentSet) -> None:
    first = Instrument.objects.get(item_number="TS-1-1")
    sharpening.sharpened(at.person(), first, at.key(), instrument_set=of)


def substituted(of: InstrumentSet) -> None:
    build = at.a_build(of)
    line = tally_of(build).lines[0].line
    other = make.Instrument()
    line.substitutes.add(other)
    builds.substitute(at.person(), build.pk, line.pk, other.pk, 1, at.key())


def reopened(of: InstrumentSet) -> None:
    made = SetBaseline.objects.get()
    signing.reopen(at.person(), made.reading.build_id, "look again", at.key())


def revised(of: InstrumentSet) -> None:
    CountSheet.objects.filter(instrument_set=of).update(state="retired")


def in_another_basket(of: InstrumentSet) -> None:
    of.basket = Basket.objects.create(
        code="B-9", name="other", inner_length_mm=500, inner_width_mm=240, inner_height_mm=90
    )
    of.save()


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (to_repair, "a piece went to repair"),
        (sharpened, "a piece was sharpened"),
        (substituted, "a substitute went in"),
        (reopened, "its assembly was opened again"),
        (revised, "revision 1 is not in force any more"),
        (in_another_basket, "the set lies in another basket"),
    ],
)
def test_whatever_changes_its_weight_voids_it(
    a_set: InstrumentSet, change: Callable[[InstrumentSet], object], words: str
) -> None:
    at.a_baseline(a_set)
    assert why(a_set) == ""
    change(a_set)
    assert why(a_set).startswith(words) and not in_force(a_set)


class TestVoid:
    def test_a_piece_put_back_into_it(self, a_set: InstrumentSet) -> None:
        at.a_baseline(a_set)
        sign(one_short(a_set))
        assert why(a_set) == ""
        all_back(at.person(), Shortfall.objects.get())
        assert why(a_set).startswith("a piece was put back into it")

    def test_not_by_what_was_undone_at_the_bench(self, a_set: InstrumentSet) -> None:
        at.a_baseline(a_set)
        build = counted(a_set)
        line = tally_of(build).lines[0].line
        builds.damaged(at.person(), build.pk, line.pk, "bent", at.key())
        assert why(a_set).startswith("a piece went to repair")
        builds.undo(at.person(), build.pk, at.key())
        assert why(a_set) == ""

    def test_not_by_what_befalls_another_set(self, a_set: InstrumentSet) -> None:
        at.a_baseline(a_set)
        to_repair(at.a_set("TS-8"))
        assert why(a_set) == ""

    def test_by_hand_with_the_reason(self, a_set: InstrumentSet) -> None:
        made = at.a_baseline(a_set)
        with pytest.raises(Refused, match="Write why"):
            void_baseline(at.person(), a_set.pk, made.pk, " ", at.key())
        first = void_baseline(at.person(), a_set.pk, made.pk, "wet drape", at.key())
        assert void_baseline(at.person(), a_set.pk, made.pk, "again", at.key()) == first
        assert why(a_set) == "wet drape (Tam Birkett)"

    def test_a_newer_one_takes_its_place(self, a_set: InstrumentSet) -> None:
        at.a_baseline(a_set)
        newer = at.a_baseline(a_set, "2001")
        assert [one.baseline for one in newest_of(a_set)] == [newer]
