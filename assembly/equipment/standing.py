"""How the tests of each sterilizer and sealer stand today, and what may run or close on it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, datetime

from django.db.models import Max, Q
from django.utils import timezone
from django.utils.text import slugify

from assembly.judging.facts_from_catalog import policy_in_force
from assembly.ledger import Refused
from assembly.models import Biological, EquipmentTest, Load
from assembly.rules.days import day_words
from assembly.rules.findings import Finding, Status
from assembly.rules.limits.equipment import DayFacts, asked_of, day_finding, due_from, stops
from assembly.rules.policy.values import Policy
from catalog.models import Sealer, Sterilizer

Kind, State = EquipmentTest.Kind, EquipmentTest.State
GOOD = (State.PASSED, State.SIGNED_OFF)
Thing = Sterilizer | Sealer


@dataclass(frozen=True, slots=True)
class Standing:
    """One kind of test of one thing today; ``last`` is the last one done, ``good`` the last that
    passed or was signed off, ``waiting`` are biological indicators that nobody has read."""

    thing: Thing
    kind: str
    finding: Finding
    stops: bool
    due: date | None
    last: EquipmentTest | None
    good: EquipmentTest | None
    failed: EquipmentTest | None
    waiting: tuple[EquipmentTest, ...]

    @property
    def label(self) -> str:
        return Kind(self.kind).label

    @property
    def id(self) -> str:
        """What tells it apart on a page."""
        return slugify(f"{self.what}-{self.thing.pk}-{self.kind}")

    @property
    def what(self) -> str:
        """What is tested, as addresses say it."""
        return "sealer" if isinstance(self.thing, Sealer) else "sterilizer"

    @property
    def mark(self) -> tuple[str, str]:
        """How it stands, as a page marks it: the state of a rule, and the word."""
        if self.failed:
            return Status.NOT_MET, "failed"
        if self.is_due:
            return (Status.NOT_MET, "due, stops") if self.stops else ("urgent", "due")
        if self.finding.status is not Status.MET:
            return Status.DOES_NOT_APPLY, "not asked"
        if self.waiting and self.last == self.waiting[-1]:
            return Status.CANNOT_TELL, "not read yet"
        signed = self.good is not None and self.good.state == State.SIGNED_OFF
        return Status.MET, "signed off" if signed else "passed"

    @property
    def told(self) -> str:
        """The last one: when, by whom, with what; and when the next is due."""
        one = self.last
        if one is None:
            return "None on record yet."
        day = "today" if one.day == timezone.localdate() else day_words(one.day)
        parts = [f"{day} {timezone.localtime(one.done_at):%H:%M}", one.done_by]
        parts += [one.detail] if one.detail else []
        later = self.due if not (self.is_due or self.failed) else None
        next_one = f"; next {day_words(later)}" if later else ""
        return f"{', '.join(parts)}{next_one}."

    @property
    def lot(self) -> str:
        """The lot of the last one: a box lasts for many."""
        return self.last.lot if self.last else ""

    @property
    def is_due(self) -> bool:
        return self.finding.status is Status.CANNOT_TELL


def in_use() -> list[Thing]:
    """Every sterilizer in use with its programmes, then every sealer."""
    sterilizers = Sterilizer.objects.filter(active=True).prefetch_related("programmes")
    return [*sterilizers, *Sealer.objects.filter(active=True)]


def kinds_of(thing: Thing) -> tuple[str, ...]:
    """The tests that a sealer, or a sterilizer by the programmes that it runs, needs."""
    if isinstance(thing, Sealer):
        return (Kind.SEAL,)
    runs = [asked_of(one.method, one.air_removal) for one in thing.programmes.all() if one.active]
    return tuple(kind for kind in Kind if any(kind in each for each in runs))


def standing_of(
    things: Iterable[Thing], policy: Policy, kinds: tuple[str, ...] | None = None
) -> list[Standing]:
    """Every test that each thing needs (or those of ``kinds``), as it stands today: two queries
    whatever there is, where programmes are prefetched."""
    today, things = timezone.localdate(), list(things)
    tests = _that_count(things, today)
    return [
        _standing(thing, kind, tests.get((type(thing), thing.pk, kind), []), today, policy)
        for thing in things
        for kind in (kinds_of(thing) if kinds is None else kinds)
    ]


Tests = dict[tuple[type, int, str], list[EquipmentTest]]


def _that_count(things: list[Thing], today: date) -> Tests:
    """The last test of each kind of each thing, its last good one up to today and last failed one,
    and those not read; in the order in which they were done."""
    of = Q(sterilizer__in=[one.pk for one in things if isinstance(one, Sterilizer)])
    of |= Q(sealer__in=[one.pk for one in things if isinstance(one, Sealer)])
    counted = EquipmentTest.objects.filter(of).exclude(state=State.TAKEN_BACK)
    last = counted.order_by().values("sterilizer", "sealer", "kind").annotate(
        last=Max("pk"), good=Max("pk", filter=Q(state__in=GOOD, day__lte=today)),
        failed=Max("pk", filter=Q(state=State.FAILED)),
    )  # fmt: skip
    wanted = {pk for row in last for pk in (row["last"], row["good"], row["failed"]) if pk}
    found: Tests = {}
    for one in counted.filter(Q(pk__in=wanted) | Q(state=State.WAITS)).order_by("pk"):
        key = (Sealer, one.sealer_id) if one.sealer_id else (Sterilizer, one.sterilizer_id)
        found.setdefault((*key, one.kind), []).append(one)
    return found


def _standing(
    thing: Thing, kind: str, tests: list[EquipmentTest], today: date, policy: Policy
) -> Standing:
    good = [one for one in tests if one.state in GOOD and one.day <= today]
    failed = [one for one in tests if one.state == State.FAILED]
    if good and failed and good[-1].pk > failed[-1].pk:
        failed = []
    # An indicator that lies in the incubator is done for its rhythm, though nothing is known yet.
    done = [one for one in tests if one.state == State.WAITS or one in good]
    named, since = f"{Kind(kind).label.lower()} of {thing}", done[-1].day if done else None
    tested = DayFacts(kind, named, since, failed[-1].day if failed else None)
    finding = day_finding(tested, today, policy)
    return Standing(
        thing, kind, finding, stops(finding, policy), due_from(tested, policy),
        tests[-1] if tests else None, good[-1] if good else None, failed[-1] if failed else None,
        tuple(one for one in tests if one.state == State.WAITS),
    )  # fmt: skip


def for_a_load(load: Load, policy: Policy) -> list[Standing]:
    """The tests that a load's programme needs and that are not as they should be: those that
    stop it first."""
    asked = asked_of(load.method, load.runs.get("air_removal"))
    return _open(standing_of([load.sterilizer], policy, asked))


def _open(every: list[Standing]) -> list[Standing]:
    return sorted((one for one in every if one.stops or one.is_due), key=lambda one: not one.stops)


def biological_in(load: Load, policy: Policy) -> Standing:
    """The biological indicators of its sterilizer; ``waiting`` are those of this load alone."""
    [found] = standing_of([load.sterilizer], policy, (Kind.BIOLOGICAL,))
    return replace(found, waiting=tuple(one for one in found.waiting if one.load_id == load.pk))


def check_indicator(load: Load, biological: str) -> None:
    """Refused where what is said of a load's biological indicator is not what is on record."""
    for test in load.tests.filter(kind=Kind.BIOLOGICAL).exclude(state=State.TAKEN_BACK):
        if biological == Biological.NONE:
            raise Refused(f"A biological indicator is on record for this load, lot {test.lot}.")
        if biological == Biological.NO_GROWTH and test.state == State.WAITS:
            raise Refused(f"The biological indicator of this load, lot {test.lot}, waits to be "
                          "read: put its reading on record on this page first.")  # fmt: skip
        if biological == Biological.NO_GROWTH and test.state != State.PASSED:
            raise Refused(f"The biological indicator of this load, lot {test.lot}, grew.")


def open_today(things: Iterable[Thing]) -> list[Standing]:
    """What stops or is due now of these: what stops first."""
    return _open(standing_of(things, policy_in_force()))


@dataclass(frozen=True, slots=True)
class Good:
    """A biological indicator that did not grow: when its cycle was run, and which."""

    at: datetime
    load: Load | None
    test: EquipmentTest | None


def last_good_biological(sterilizer: Sterilizer, before: datetime) -> Good | None:
    """The last biological indicator without growth that ran in this sterilizer before a moment:
    one on record as a test, or one that a load was released or read with. None where none is.

    A test that was signed off is none: it failed.
    """
    load = Load.objects.filter(
        sterilizer=sterilizer, biological=Biological.NO_GROWTH, started_at__lt=before
    ).order_by("started_at", "pk").last()  # fmt: skip
    tests = sterilizer.tests.filter(kind=Kind.BIOLOGICAL, state=State.PASSED, done_at__lt=before)
    test = tests.select_related("load").order_by("done_at", "pk").last()
    found = [Good(load.started_at, load, None)] if load and load.started_at else []
    if test:
        started = test.load.started_at if test.load else None
        found.append(Good(started or test.done_at, test.load, test))
    return max(found, key=lambda one: one.at, default=None)
