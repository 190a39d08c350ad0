"""When each source of a request can be there: from rows to the stages that are left.

Read once for a page, however many requests it shows.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from functools import cached_property
from statistics import median

from django.db.models import Min, Q
from django.utils import timezone

from assembly.equipment.standing import Standing
from assembly.equipment.standing import standing_of as equipment_standing
from assembly.judging.facts_from_catalog import policy_in_force, programme_facts
from assembly.models import Build, Load, LoadState, Package, RequestPackage, RequestState
from assembly.packages.implants import implants_on_record, loads_with_implants, numbers_in
from assembly.packages.standing import NOT_YET, Word, load_in, standing_of
from assembly.rules.computing.ready import (
    Ready,
    Stage,
    after_cycle,
    by_policy,
    cycle_stages,
    earliest,
    implant_note,
    soonest,
    way,
)
from assembly.rules.facts.cycles import Programme
from assembly.rules.facts.from_json import read_programme
from assembly.rules.limits.equipment import asked_of
from assembly.rules.policy.values import Policy
from assembly.sterilizing.lists import now as now_in_hand
from assembly.sterilizing.racking import is_full
from catalog.models import InstrumentSet, Sterilizer

LOADED = "if it is loaded at once"
SENT = "if it is sent at once"
RELEASED = "if it is released at once"


@dataclass(frozen=True, slots=True)
class Run:
    """A cycle of a sterilizer that is in use, and when that can start it.

    ``free`` None: now; else ``waits`` says what is before it. ``unknown`` says why it cannot be
    told.
    """

    sterilizer: str
    programme: Programme
    free: datetime | None = None
    unknown: str = ""
    waits: str = ""


class Timing:
    """What all times of one page are reckoned from."""

    def __init__(self) -> None:
        self.now: datetime = timezone.now()
        self.policy: Policy = policy_in_force()
        self._full: dict[int, bool | None] = {}

    @cached_property
    def _in_hand(self) -> list[Load]:
        """Loads being filled or run, in the order in which they were begun: one query."""
        return list(now_in_hand())

    @cached_property
    def runs(self) -> list[Run]:
        """Every cycle of every sterilizer that is in use: six queries."""
        running = {load.sterilizer_id: load for load in self._in_hand
                   if load.state == LoadState.RUNNING}  # fmt: skip
        found = Sterilizer.objects.filter(active=True).prefetch_related("programmes__claims")
        tests: dict[int, list[Standing]] = {}
        for test in equipment_standing(found, self.policy):
            tests.setdefault(test.thing.pk, []).append(test)
        runs = []
        for one in found:
            free, unknown = self._free(running.get(one.pk))
            for row in one.programmes.all():
                if row.active:
                    run = Run(one.code, programme_facts(row), free, unknown)
                    asked = asked_of(row.method, row.air_removal)
                    stopping = [each for each in tests.get(one.pk, ())
                                if each.stops and each.kind in asked]  # fmt: skip
                    runs.append(self._tested(run, stopping))
        return runs

    def _tested(self, run: Run, stopping: Iterable[Standing]) -> Run:
        """The run after the tests that stop its sterilizer today; unknown where one failed."""
        for test in stopping:
            name = test.label.lower()
            if test.failed:
                return replace(run, unknown=f"the {name} of {run.sterilizer} failed")
            first = timedelta(minutes=self.policy.number("day_test_min"))
            free = max(run.free or self.now, self.now) + first
            run = replace(run, free=free, waits=f"{run.sterilizer} has its {name} first")
        return run

    def _free(self, load: Load | None) -> tuple[datetime | None, str]:
        """When a sterilizer with this load in it can be started again, or why nobody knows."""
        if load is None or load.started_at is None:
            return None, ""
        ready = earliest(load.started_at, _cycle_of(load))
        if ready.at is None:
            return None, _not_free(load, ready)
        return ready.at, ""

    # --- what is filled and not started ---

    def _queued(self, run: Run, own: int) -> tuple[Run, Load | None]:
        """The run after the loads that go before it, and the load that it is: its ``own``, or one
        that takes it; None: a new one.

        What is filled and not started is taken to start as soon as its sterilizer is free.
        """
        for load in self._in_hand:
            filled = load.state == LoadState.GATHERING and load.inside  # type: ignore[attr-defined]
            if not filled or load.sterilizer_code != run.sterilizer:
                continue
            if load.pk == own or not (own or self._room(load, run) is False):
                return run, load
            ready = earliest(max(run.free or self.now, self.now), _cycle_of(load))
            if ready.at is None:
                return replace(run, unknown=_not_free(load, ready)), None
            said = run.waits or (f"{run.sterilizer} is busy" if run.free else "")
            waits = f"{said}, then runs load {load}" if said else (
                f"{run.sterilizer} runs load {load} first")  # fmt: skip
            run = replace(run, free=ready.at, waits=waits)
        return run, None

    def _room(self, load: Load, run: Run) -> bool | None:
        """Whether a load takes one more for this cycle; None where its room cannot be told, by the
        sizes or by what its cycle claims for a lumen."""
        if load.programme != str(run.programme):
            return False
        if load.pk not in self._full:
            self._full[load.pk] = None if run.programme.claims else is_full(load, self.policy)
        full = self._full[load.pk]
        return None if full is None else not full

    # --- stages of packages ---

    def at_hand(self) -> Ready:
        """Sterile and here: only the way is left."""
        return replace(earliest(self.now, [way(self.policy)]), when=SENT)

    def of_package(self, package: Package) -> Ready | None:
        """A package as it stands, read `with_standing`; None where it will not do."""
        standing = standing_of(package)
        load = load_in(package)
        if standing.may_go and standing.word in NOT_YET:
            return Ready(self.now, None, unknown="releases are kept elsewhere")
        if standing.may_go:
            return self.at_hand()
        if load and standing.word == Word.IN_A_LOAD:
            return self._in_load(load)
        if standing.word in (Word.UNSEALED, *NOT_YET):
            implant = bool(self.implants & numbers_in(package.contents))
            return self.to_be_loaded(package.programmes, implant=implant)
        return None

    @cached_property
    def implants(self) -> frozenset[str]:
        """The item numbers of implants: one query."""
        return implants_on_record()

    @cached_property
    def _loads_with_implants(self) -> set[int]:
        return loads_with_implants((LoadState.GATHERING, LoadState.RUNNING))

    def _in_load(self, load: Load) -> Ready:
        if load.state == LoadState.RUNNING and load.started_at:
            return self._running(load, load.started_at)
        programme = read_programme(load.runs) if load.runs else None
        runs = [one for one in self.runs
                if one.sterilizer == load.sterilizer_code and one.programme.code
                == (programme.code if programme else "")]  # fmt: skip
        return self._loaded((), runs, str(load.programme), own=load.pk)

    def _running(self, load: Load, started: datetime) -> Ready:
        programme = read_programme(load.runs) if load.runs else None
        implant = load.pk in self._loads_with_implants
        *stages, last = after_cycle(programme.method, self.policy, implant) if programme else (
            way(self.policy),)  # fmt: skip
        last = replace(last, not_before=self.now, waits="waits for its release")
        ready = earliest(started, (*_cycle_of(load), *stages, last))
        return self._noted(ready, RELEASED, implant)

    def to_be_loaded(
        self, cycles: Sequence[str], before: Iterable[Stage] = (), *, implant: bool = False
    ) -> Ready:
        """Packed, or to be packed in the stages ``before``, for one of these cycles."""
        runs = [one for one in self.runs if str(one.programme) in cycles]
        stages = (*before, by_policy("to the start of its load", "load_way_min", self.policy))
        return self._loaded(stages, runs, " or ".join(cycles), implant=implant)

    def _loaded(
        self, before: tuple[Stage, ...], runs: Sequence[Run], cycles: str, *,
        implant: bool = False, own: int = 0,
    ) -> Ready:  # fmt: skip
        """The soonest of the sterilizers that serve it; in its ``own`` load where it has one."""
        if not runs:
            why = f"no sterilizer in use runs {cycles}" if cycles else "its cycle is not on record"
            return Ready(self.now, None, unknown=why)
        return soonest([self._by(run, before, implant, own) for run in runs])

    def _by(self, run: Run, before: tuple[Stage, ...], implant: bool, own: int) -> Ready:
        free = run.free
        run, load = (run, None) if run.unknown else self._queued(run, own)
        if run.unknown:
            return Ready(self.now, None, unknown=run.unknown)
        waits = run.waits or f"{run.sterilizer} is busy until then"
        cycle = cycle_stages(run.programme, run.free, waits)
        implant = implant or bool(load and load.pk in self._loads_with_implants)
        after = after_cycle(run.programme.method, self.policy, implant)
        ready = earliest(self.now, (*before, *cycle, *after))
        notes = []
        if run.free != free:
            notes.append("A load that is filled is taken to start as soon as "
                         f"{run.sterilizer} is free.")  # fmt: skip
        if load and not own:
            doubt = "" if self._room(load, run) else ", if there is room: that cannot be told here"
            notes.append(f"It goes into load {load}{doubt}.")
        return self._noted(replace(ready, notes=tuple(notes)), LOADED, implant)

    def _noted(self, ready: Ready, when: str, implant: bool) -> Ready:
        note = "" if implant else implant_note(self.policy)
        notes = (*ready.notes, note) if note else ready.notes
        return replace(ready, when=when, notes=notes)

    # --- stages of the hands ---

    @cached_property
    def packing(self) -> Stage:
        """How long one instrument takes, from "being packed" to its seal: one query."""
        packing = Q(request__steps__state=RequestState.PACKING)
        times = (
            RequestPackage.objects.filter(
                package__kind=Package.Kind.SINGLE, package__sealed_at__gte=self._since
            )
            .values("request")
            .annotate(
                began=Min("request__steps__at", filter=packing),
                sealed=Min("package__sealed_at"),
            )
            .values_list("began", "sealed")
        )
        return self._median("packing", times, "packing_single_min")

    def assembling(self, instrument_set: InstrumentSet) -> Stage:
        """How long this set takes, from its beginning to its signature: one query."""
        return self.assembling_each([instrument_set.pk])[instrument_set.pk]

    def assembling_each(self, sets: Iterable[int]) -> dict[int, Stage]:
        """The same of each of these sets, by its key: one query for all."""
        times: dict[int, list[tuple[datetime, datetime | None]]] = {pk: [] for pk in sets}
        signed = Build.objects.filter(
            instrument_set__in=times, state=Build.State.SIGNED, ended_at__gte=self._since
        )
        for pk, started, ended in signed.values_list("instrument_set", "started_at", "ended_at"):
            times[pk].append((started, ended))
        return {pk: self._median("assembling", found, "packing_set_min")
                for pk, found in times.items()}  # fmt: skip

    @property
    def _since(self) -> datetime:
        return self.now - timedelta(days=self.policy.number("packing_days"))

    def _median(
        self, name: str, times: Iterable[tuple[datetime | None, datetime | None]], value: str
    ) -> Stage:
        """The department's own, where enough are on record; else the policy's."""
        known = [(end - start) / timedelta(minutes=1)
                 for start, end in times if start and end and end > start]  # fmt: skip
        enough = self.policy.number("packing_enough")
        if len(known) < enough:
            few = f"too few on record here, {len(known)} of {enough:g}"
            assumed = by_policy(name, value, self.policy)
            return replace(assumed, source=f"{assumed.source}; {few}")
        days = self.policy.number("packing_days")
        words = f"median of {len(known)} in {days:g} days on record here"
        return Stage(name, round(median(known), 1), words, own=True)

    def left_of(self, build: Build, whole: Stage | None = None) -> Stage:
        """What is left of an assembly that goes on, by how long such a one takes (``whole``)."""
        whole = whole or self.assembling(build.instrument_set)
        gone = (self.now - build.started_at) / timedelta(minutes=1)
        left = max(0.0, (whole.minutes or 0.0) - gone)
        words = f"{whole.minutes:g} min ({whole.source}), begun {gone:.0f} min ago"
        return Stage("assembling, what is left", round(left, 1), words, own=whole.own)


def _not_free(load: Load, ready: Ready) -> str:
    return f"when {load.sterilizer_code} is free is not known: {ready.unknown}"


def _cycle_of(load: Load) -> tuple[Stage, ...]:
    """The stages of the cycle that a load runs."""
    if not load.runs:
        return (Stage("cycle", None, f"the times of load {load} are not on record"),)
    return cycle_stages(read_programme(load.runs))
