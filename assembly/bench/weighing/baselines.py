"""What a physical set weighs complete: taken from a reading, and void with whatever changes it.

A baseline is in force while nothing is on record since its reading that may have changed what the
set weighs. That is worked out at each look, so that no verb can forget to say it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.db.models import Exists, Max, OuterRef, QuerySet, Subquery
from django.utils import timezone

from assembly.bench.tally import CHANGES_IT
from assembly.judging.facts_from_catalog import policy_in_force
from assembly.ledger import Refused, begin_new, lock_one, verb
from assembly.models import (
    BaselineVoid,
    Build,
    BuildEvent,
    PiecesBack,
    Repair,
    SetBaseline,
    Sharpening,
)
from assembly.persons import ASSEMBLE, Person
from assembly.rules.computing.weigh_check import Scale, scale_of
from assembly.rules.days import time_words
from catalog.actions import record
from catalog.models import Change, CountSheet, InstrumentSet

Kind = BuildEvent.Kind
MOST_READINGS = 6
"""So many readings are offered to become a baseline, the newest. Our own bound."""
SINCE = {
    "repaired_at": "a piece went to repair",
    "sharpened_at": "a piece was sharpened",
    "swapped_at": "a substitute went in",
    "replenished_at": "a piece was put back into it",
    "reopened_at": "its assembly was opened again",
}
"""What may have changed what a set weighs, and how it is said."""


@dataclass(frozen=True, slots=True)
class Known:
    """What a set weighs complete (g), by which scale; None: today's."""

    grams: float
    scale: Scale | None = None


@dataclass(frozen=True, slots=True)
class Standing:
    """A baseline, its scale, and why it is not relied on; "" while it is in force."""

    baseline: SetBaseline
    scale: Scale
    void: str

    @property
    def known(self) -> Known:
        return Known(float(self.baseline.grams), self.scale)


def newest() -> QuerySet[SetBaseline]:
    """The newest baseline of each number of each set, by set and number."""
    each = SetBaseline.objects.values("instrument_set", "number").order_by()
    return (
        SetBaseline.objects.filter(pk__in=each.annotate(last=Max("pk")).values("last"))
        .select_related("instrument_set__basket", "reading__build__count_sheet", "void")
        .annotate(**_changes("reading__"))
        .order_by("instrument_set__code", "number")
    )


def standing(rows: Sequence[SetBaseline]) -> list[Standing]:
    """How each of :func:`newest` stands. Its scale is as it was; what else moves a reading is
    today's policy."""
    noise = scale_of(policy_in_force()).noise_g if rows else 0.0
    return [Standing(one, Scale(one.step_g, one.repeat_g, noise), _void(one)) for one in rows]


def newest_of(instrument_set: InstrumentSet) -> list[Standing]:
    """The newest baseline of each number of a set."""
    return standing(list(newest().filter(instrument_set=instrument_set)))


def in_force(instrument_set: InstrumentSet) -> dict[int, Standing]:
    """What the scale is held against, by the number of the physical set."""
    return {one.baseline.number: one for one in newest_of(instrument_set) if not one.void}


def _changes(reading: str = "") -> dict[str, Subquery]:
    """When each thing first changed the set, after it was read. A set's number is on no record of
    a repair: what befalls one of several alike is taken to befall each."""

    def first(rows: QuerySet[Any], path: str, at: str, of: str = "build__instrument_set") -> Any:
        after = rows.filter(**{path: OuterRef(reading + of), f"{at}__gt": OuterRef(f"{reading}at")})
        return Subquery(after.order_by(at).values(at)[:1])

    repairs = Repair.objects.exclude(outcome=Repair.Outcome.UNDONE).filter(from_spares=False)
    events = BuildEvent.objects.filter(undone_by=None)
    swapped, reopened = (events.filter(kind=one) for one in (Kind.SUBSTITUTED, Kind.REOPENED))
    return {
        "repaired_at": first(repairs, "instrument_set", "sent_at"),
        "sharpened_at": first(Sharpening.objects.all(), "instrument_set", "at"),
        "swapped_at": first(swapped, "build__instrument_set", "at"),
        "replenished_at": first(PiecesBack.objects.all(), "shortfall__instrument_set", "at"),
        "reopened_at": first(reopened, "build", "at", "build"),
    }


def _void(one: SetBaseline) -> str:
    """Why it is not relied on."""
    if void := getattr(one, "void", None):
        return f"{void.reason} ({void.by})"
    if changed := _changed(one):
        return changed
    if one.reading.build.count_sheet.state != CountSheet.State.CURRENT:
        return f"revision {one.revision} is not in force any more"
    basket = one.instrument_set.basket
    if (basket.code if basket else "") != one.basket:
        return "the set lies in another basket"
    return ""


def _changed(one: Any) -> str:
    """The first thing that changed the set since; ``one`` has the times of :func:`_changes`."""
    times = sorted((at, words) for key, words in SINCE.items() if (at := getattr(one, key)))
    return f"{times[0][1]}, {time_words(timezone.localtime(times[0][0]))}" if times else ""


# --- from a reading --------------------------------------------------------------------------


def readings_of(
    instrument_set: InstrumentSet, known_now: Iterable[Standing]
) -> list[tuple[BuildEvent, str]]:
    """The newest readings before the lid that are no baseline yet, each with why it cannot become
    one; "" where it can. ``known_now`` are the set's baselines."""
    found = _readings().filter(build__instrument_set=instrument_set, baseline=None)
    known = {one.baseline.pk for one in known_now if not one.void}
    return [(one, _hindrance(one, known)) for one in found.order_by("-pk")[:MOST_READINGS]]


def _readings() -> QuerySet[BuildEvent]:
    later = BuildEvent.objects.filter(build=OuterRef("build"), pk__gt=OuterRef("pk"))
    return (
        BuildEvent.objects.filter(kind=Kind.WEIGHED)
        .select_related("build__count_sheet", "build__instrument_set__basket")
        .annotate(counted_since=Exists(later.filter(kind__in=CHANGES_IT)))
        .annotate(**_changes())
    )


def _hindrance(one: Any, known: set[int]) -> str:
    if one.build.state != Build.State.SIGNED:
        return "its assembly is not signed"
    if not one.data["complete"]:
        return "the set was not complete"
    if one.counted_since:
        return "something was counted after it"
    if one.build.count_sheet.state != CountSheet.State.CURRENT:
        return f"revision {one.build.count_sheet.revision} is not in force any more"
    if one.data["alarm"] and one.data["baseline"] in known:
        return "it was an alarm: void the baseline that it was held against first"
    return _changed(one)


@verb(ASSEMBLE)
def take_baseline(person: Person, set_pk: int, reading: int, key: str) -> SetBaseline:
    """This reading is what its set weighs complete, from now on.

    Refused unless the set was counted complete, not touched since, and signed. The same key gives
    the same.
    """
    build_pk = BuildEvent.objects.filter(pk=reading).values_list("build", flat=True).first()
    if build_pk is None:
        raise Refused("That reading is not on record. Load the page again.")
    lock_one(Build, build_pk)
    if before := begin_new(SetBaseline, key, under=InstrumentSet(pk=set_pk)):
        return before
    event = _readings().filter(pk=reading, build__instrument_set=set_pk, baseline=None).first()
    if event is None:
        raise Refused("That is no reading of this set, or a baseline already.")
    instrument_set = event.build.instrument_set
    known = {one.baseline.pk for one in in_force(instrument_set).values()}
    if why := _hindrance(event, known):
        raise Refused(f"It cannot be a baseline: {why}. Weigh it at the next assembly.")
    scale, basket = scale_of(policy_in_force()), instrument_set.basket
    made = SetBaseline.objects.create(
        key=key, instrument_set=instrument_set, number=event.data["number"], reading=event,
        grams=Decimal(event.data["grams"]), step_g=scale.step_g, repeat_g=scale.repeat_g,
        revision=event.build.count_sheet.revision, basket=basket.code if basket else "",
        at=timezone.now(), **person.by,
    )  # fmt: skip
    record(person.actor(), Change.Verb.ADDED, made, str(made), None,
           {"number": made.number, "grams": made.grams, "assembly": event.build_id})  # fmt: skip
    return made


@verb(ASSEMBLE)
def void_baseline(
    person: Person, set_pk: int, baseline: int, reason: str, key: str
) -> BaselineVoid:  # fmt: skip
    """It is not relied on any more, and why. Voided again changes nothing."""
    if before := begin_new(BaselineVoid, key, under=InstrumentSet(pk=set_pk)):
        return before
    found = SetBaseline.objects.filter(pk=baseline, instrument_set=set_pk).first()
    if found is None:
        raise Refused("That baseline is not on record. Load the page again.")
    if not reason.strip():
        raise Refused("Write why it is not relied on: it stays on record.")
    if before := BaselineVoid.objects.filter(baseline=found).first():
        return before
    made = BaselineVoid.objects.create(
        key=key, baseline=found, reason=reason.strip()[:300], at=timezone.now(), **person.by
    )
    record(person.actor(made.reason), Change.Verb.CHANGED, found, str(found),
           {"state": "in force"}, {"state": "void"})  # fmt: skip
    return made
