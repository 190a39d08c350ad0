"""Where something that is missing could come from, in the order in which it is tried.

A sterile single package, one that is on its way to be sterile, a loose spare, a complete set
that can spare it, a substitute that the count sheet accepts. Three answers for each: it is
there, it is not, or nobody has put on record whether it is. The last never counts as there.
What is there says when it can be where it is wanted.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from django.db.models import Prefetch, Q, QuerySet
from django.utils import timezone

from assembly.judging.decisions import decide_for_instrument
from assembly.models import Build, Package, Request, SetNeed, StockLevel
from assembly.models.requests import RUNNING
from assembly.packages.implants import numbers_in
from assembly.packages.shelf import in_words, lying_singles, place_words, to_be_had
from assembly.packages.standing import every_with_standing, standing_of
from assembly.requests.clocks import clock, span
from assembly.requests.coming import coming, last_cycles
from assembly.requests.timing import Timing
from assembly.requests.working import WORKING, State, pieces_for
from assembly.rules.computing.ready import Ready, soonest
from catalog.models import CountSheet, Instrument, InstrumentSet, Line

THERE, NONE, CANNOT_TELL = "there", "none", "cannot tell"


@dataclass(frozen=True, slots=True)
class Source:
    """One possible source: how many, where, and what to know about it.

    ``count`` None: nobody has counted. ``number`` is the item number or set code. ``ready`` is
    when it can be there, None where nothing is; ``wanted`` when it is needed. ``cycles`` are
    those that a loose piece would be packed for.
    """

    kind: str
    answer: str
    count: int | None
    place: str
    words: str
    number: str = ""
    ready: Ready | None = None
    wanted: datetime | None = None
    cycles: tuple[str, ...] = ()

    @property
    def about(self) -> str:
        """When it can be there, on the clock; "" where that cannot be told."""
        at = self.ready.shown if self.ready else None
        return clock(at, timezone.now()) if at else ""

    @property
    def late(self) -> str:
        """How much later than wanted, in words; "" where it is not."""
        late = self.ready.late(self.wanted) if self.ready and self.wanted else None
        return span(late) if late else ""


def can_serve(sources: list[Source]) -> bool:
    """Whether anything on record is there."""
    return any(one.answer == THERE for one in sources)


def first_of(sources: list[Source], quantity: int = 1) -> Source | None:
    """The source by which so many are there, the nearest taken first; None where no time can be
    told for so many."""
    known = [(one.ready.at, place, one) for place, one in enumerate(sources)
             if one.answer == THERE and one.ready and one.ready.at]  # fmt: skip
    there = 0
    for _, _, one in sorted(known):
        there += one.count or 0
        if there >= quantity:
            return one
    return None


@dataclass(frozen=True, slots=True)
class Offered:
    """The sources of one line as a page shows them: when so many are there, and how late it is.

    ``chosen`` is the number or code of the other source that is to serve it, "" for none, None
    where nobody chose; ``number`` its own.
    """

    what: str
    number: str
    sources: list[Source]
    wanted: datetime
    many: int = 1
    chosen: str | None = None

    @property
    def serves(self) -> bool:
        return can_serve(self.sources)

    @property
    def taken(self) -> str:
        """What is to serve it: what was chosen; else, where nothing of its own is there, the first
        other that is; "" for its own."""
        if self.chosen is not None or can_serve(self._of(self.number)):
            return self.chosen or ""
        return next((one.number for one in self.others if one.answer == THERE), "")

    @property
    def first(self) -> Source | None:
        """The source by which so many are there, of those that are taken."""
        return first_of(self._of(self.taken or self.number), self.many)

    def _of(self, number: str) -> list[Source]:
        return [one for one in self.sources if one.number == number]

    @property
    def others(self) -> list[Source]:
        """Sources that can be chosen instead: something else than what was asked for."""
        return [one for one in self.sources
                if one.answer != NONE and one.number not in ("", self.number)]  # fmt: skip

    @property
    def behind(self) -> str:
        """How late so many are there, in words; "" where they are not."""
        return self.first.late if self.first else ""

    @property
    def by(self) -> str:
        return clock(self.wanted, timezone.now())


def offered_together(lines: Sequence[Offered]) -> dict[str, Any]:
    """The lines of one request with the time of the whole: the latest of them.

    ``last`` is the line that it waits for, None where a time cannot be told.
    """
    firsts = [one.first for one in lines]
    known = all(one and one.ready and one.ready.at for one in firsts)
    last = max(lines, key=_ready_at) if known and lines else None
    return {"offers": lines, "last": last, "serves": all(one.serves for one in lines),
            "behind": last.behind if last else "",
            "by": lines[0].by if lines else ""}  # fmt: skip


def _ready_at(one: Offered) -> datetime:
    ready = one.first.ready if one.first else None
    return ready.at if ready and ready.at else one.wanted


def sources_for(
    instrument: Instrument | None,
    wanted_set: InstrumentSet | None,
    needed_by: datetime,
    missing_from: InstrumentSet | None = None,
    opened: Package | None = None,
    timing: Timing | None = None,
) -> list[Source]:
    """All sources in order; empty for what the catalog does not know. What is out of use is none
    itself; what may stand in for it is.

    ``opened`` is the package that came up short: it can spare nothing.
    """
    timing = timing or Timing()
    singles = Package.objects.filter(kind=Package.Kind.SINGLE, instrument=instrument)
    if wanted_set and wanted_set.retired:
        found = []
    elif instrument and instrument.retired:
        found = list(substitutes(instrument, missing_from, timing))
    elif wanted_set:
        found = [_timed(packed_sets(wanted_set), timing.at_hand), *_sets_coming(wanted_set, timing)]
    elif instrument:
        found = [
            _timed(sterile_single(instrument), timing.at_hand),
            *_coming(singles, timing),
            _to_pack(loose_spare(instrument), instrument, timing),
            *(_timed(one, timing.at_hand) for one in complete_sets(instrument, needed_by, opened)),
            *substitutes(instrument, missing_from, timing),
        ]
    else:
        found = []
    return [replace(one, wanted=needed_by) for one in found]


def _timed(source: Source, ready: Callable[[], Ready]) -> Source:
    """With its time, where it is there."""
    return replace(source, ready=ready()) if source.answer == THERE else source


def _to_pack(source: Source, instrument: Instrument, timing: Timing) -> Source:
    """A loose piece: packed, then in a load. Its cycle is that of the last package of it; where
    there was none, what the rules recommend now."""
    if source.answer != THERE:
        return source
    cycles = tuple(last_cycles([instrument.pk]).get(instrument.pk, ()))
    if not cycles and (taken := decide_for_instrument(instrument).decision.recommended):
        cycles = tuple(str(cycle) for cycle in (taken.details.get("cycle"),) if cycle)
    implant = bool(instrument.implant)
    ready = timing.to_be_loaded(cycles, [timing.packing], implant=implant)
    return replace(source, ready=ready, cycles=cycles)


def _coming(packages: QuerySet[Package], timing: Timing) -> list[Source]:
    """What is packed and not on the shelf, by how far it is."""
    found = []
    for kind, held in coming(packages).items():
        ready = [one for one in map(timing.of_package, held) if one]
        codes = ", ".join(one.code for one in held[:3]) + (", …" if len(held) > 3 else "")
        found.append(Source(kind, THERE, len(held), "", codes, held[0].number,
                            soonest(ready) if ready else None))  # fmt: skip
    return found


def _sets_coming(wanted: InstrumentSet, timing: Timing) -> list[Source]:
    """Packages of the set that are not on the shelf yet, and who is assembling one."""
    packages = Package.objects.filter(kind=Package.Kind.SET, number=wanted.code)
    return [*_coming(packages, timing), *_assembled(wanted, packages, timing)]


def _assembled(
    wanted: InstrumentSet, packages: QuerySet[Package], timing: Timing
) -> Iterable[Source]:
    going_on = Build.objects.filter(
        instrument_set=wanted, state__in=(Build.State.OPEN, Build.State.PACKED)
    ).select_related("instrument_set")
    for build in going_on:
        last = packages.filter(void_at=None).exclude(method="").first()
        implant = bool(last and timing.implants & numbers_in(last.contents))
        cycles = last.programmes if last else []
        ready = timing.to_be_loaded(cycles, [timing.left_of(build)], implant=implant)
        yield Source("Being assembled", THERE, 1, "", f"by {build.holder_name}", wanted.code,
                     ready)  # fmt: skip


def sterile_single(instrument: Instrument) -> Source:
    """Single packages on the shelf that no request was promised."""
    places = lying_singles(instrument=instrument).get(instrument.pk, Counter())
    count = places.total()
    return Source("Sterile single package", THERE if count else NONE, count,
                  in_words(places.items()), "on the shelf" if count else "none on the shelf",
                  instrument.item_number)  # fmt: skip


def loose_spare(instrument: Instrument) -> Source:
    """Loose spares by the catalog's count, less what taken requests are packing of them."""
    kind, number, counted = "Loose spare", instrument.item_number, instrument.spares_on_hand
    level = StockLevel.objects.filter(instrument=instrument).first()
    place = level.spares_place if level else ""
    if counted is None:
        return Source(kind, CANNOT_TELL, None, place, "nobody has counted the spares", number)
    promised = _promised(instrument)
    left = max(0, counted - promised)
    words = "to be packed and sterilized first" if left else "no loose spare on hand"
    if promised:
        words += f"; {promised} of {counted} promised to other requests"
    return Source(kind, THERE if left else NONE, left, place or "place not on record", words,
                  number)  # fmt: skip


def _promised(instrument: Instrument) -> int:
    """Pieces that requests in hand still need, beyond those in their packages.

    What is packed is off the count already, so it is not promised a second time. What is
    taken and not being packed is fetched from the shelf first.
    """
    itself = Q(instrument=instrument, instead=None, instead_set=None)
    found = Request.objects.filter(itself | Q(instead=instrument), state__in=WORKING)
    needs = {State.TAKEN: 0, State.PACKING: 0}
    held = Prefetch("ties__package", every_with_standing())
    for one in found.prefetch_related(held):
        needs[State(one.state)] += _still_needed(one)
    if not needs[State.TAKEN]:
        return needs[State.PACKING]
    on_shelf = to_be_had().filter(kind=Package.Kind.SINGLE, instrument=instrument).count()
    return needs[State.PACKING] + max(0, needs[State.TAKEN] - on_shelf)


def _still_needed(request: Request) -> int:
    packages = [tie.package for tie in request.ties.all()
                if tie.let_go_at is None and standing_of(tie.package).to_be_had]  # fmt: skip
    return max(0, request.quantity - pieces_for(request, packages))


# --- sets -----------------------------------------------------------------------------


def packed_sets(wanted: InstrumentSet) -> Source:
    """Packages of the wanted set on the shelf."""
    packages = to_be_had().filter(kind=Package.Kind.SET, build__instrument_set=wanted)
    whole = sum(1 for one in packages if not one.shortages)
    count = len(packages)
    words = f"{whole} complete, {count - whole} with shortages" if count else "none on the shelf"
    return Source("Set on the shelf", THERE if count else NONE, count,
                  place_words(packages) if count else "", words, wanted.code)  # fmt: skip


def complete_sets(
    instrument: Instrument, needed_by: datetime, opened: Package | None = None
) -> list[Source]:
    """Complete sets on the shelf that hold the instrument, those that can spare it first."""
    packages = to_be_had().filter(kind=Package.Kind.SET).select_related("build__instrument_set")
    by_set: dict[InstrumentSet, list[Package]] = {}
    for package in packages:
        whole = not package.shortages and package != opened
        if whole and package.build and _is_in(instrument, package):
            by_set.setdefault(package.build.instrument_set, []).append(package)
    found = [_spared_by(one, held, needed_by) for one, held in by_set.items()]
    if not found:
        return [Source("Complete set", NONE, 0, "", "none on the shelf holds one")]
    order = {THERE: 0, CANNOT_TELL: 1, NONE: 2}
    return sorted(found, key=lambda one: (order[one.answer], one.number))


def _is_in(instrument: Instrument, package: Package) -> bool:
    return any(one["item_number"] == instrument.item_number for one in package.contents)


def _spared_by(one: InstrumentSet, packages: list[Package], needed_by: datetime) -> Source:
    """A set can spare an instrument when more lie ready than are needed until then.

    Nobody has said when it is needed next: it cannot be told, and somebody has to ask.
    """
    place = place_words(Package.objects.filter(pk__in=[package.pk for package in packages]))
    now, count = timezone.now(), len(packages)
    needs = SetNeed.still().filter(instrument_set=one, needed_at__gt=now)
    asked = Request.objects.filter(wanted_set=one, state__in=RUNNING)
    first = needs.first()
    if first is None and not asked.exists():
        return Source("Complete set", CANNOT_TELL, count, place,
                      f"{one.name}: nobody has put on record when it is needed next; ask first",
                      one.code)  # fmt: skip
    before = needs.filter(needed_at__lte=needed_by).count()
    before += asked.filter(needed_by__lte=needed_by).count()
    if count > before:
        words = f"{one.name}: not needed before {_next_need(one, needed_by)}; reopen it first"
        return Source("Complete set", THERE, count - before, place, words, one.code)
    words = f"{one.name}: needed before then, {before} of {count}"
    return Source("Complete set", NONE, 0, place, words, one.code)


def _next_need(one: InstrumentSet, after: datetime) -> str:
    need = SetNeed.still().filter(instrument_set=one, needed_at__gt=after).first()
    asked = Request.objects.filter(wanted_set=one, state__in=RUNNING, needed_by__gt=after).first()
    times = [t for t in (need and need.needed_at, asked and asked.needed_by) if t]
    when = timezone.localtime(min(times) if times else after)
    return f"{when:%a %d %b %H:%M}"


# --- substitutes ----------------------------------------------------------------------


def substitutes(
    instrument: Instrument, missing_from: InstrumentSet | None, timing: Timing
) -> list[Source]:
    """What a current count sheet accepts instead; of the set it is missing from, if known."""
    lines = Line.objects.filter(instrument=instrument, count_sheet__state=CountSheet.State.CURRENT)
    if missing_from:
        lines = lines.filter(count_sheet__instrument_set=missing_from)
    accepted = Instrument.objects.filter(substitute_on__in=lines, retired=False).distinct()
    found = [_substitute(one, instrument, lines, timing) for one in accepted]
    if not found:
        return [Source("Accepted substitute", NONE, 0, "", "the count sheet names none")]
    return sorted(found, key=lambda one: one.answer != THERE)


def _substitute(one: Instrument, instead_of: Instrument, lines: object, timing: Timing) -> Source:
    shelf, spare = sterile_single(one), loose_spare(one)
    codes = sorted({line.count_sheet.instrument_set.code for line in one.substitute_on.filter(
        instrument=instead_of, count_sheet__state=CountSheet.State.CURRENT
    ).select_related("count_sheet__instrument_set")})  # fmt: skip
    words = f"{one.name}, accepted on {', '.join(codes)}"
    kind = "Accepted substitute"
    if shelf.answer == THERE:
        lies = Source(kind, THERE, shelf.count, shelf.place, f"{words}; on the shelf",
                      one.item_number)  # fmt: skip
        return _timed(lies, timing.at_hand)
    loose = Source(kind, spare.answer, spare.count, spare.place, f"{words}; {spare.words}",
                   one.item_number)  # fmt: skip
    return _to_pack(loose, one, timing)
