"""Loads as pages list them: what waits for one, those being gathered or run, earlier ones."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from django.db.models import Count, F, Q, QuerySet, Window
from django.db.models.functions import RowNumber

from assembly.judging.facts_from_catalog import department, policy_in_force, programme_facts
from assembly.models import Load, LoadState, Package
from assembly.packages.standing import waiting_for_a_load
from assembly.sterilizing.gathering import next_numbers
from assembly.sterilizing.serving import Served, serving
from catalog.models import Programme, Sterilizer

MOST_EARLIER = MOST_WAITING = 40


@dataclass(frozen=True, slots=True)
class Waiting:
    """Packages that wait for a load and that the same programmes serve: how ``many``, and the
    oldest of them, as many as a page shows."""

    programmes: tuple[str, ...]
    many: int
    shown: tuple[Package, ...]

    @property
    def more(self) -> int:
        return self.many - len(self.shown)

    @property
    def words(self) -> str:
        """The programmes by their codes where there are several; one in full."""
        if len(self.programmes) < 2:
            return "".join(self.programmes)
        return " or ".join(words.partition(" (")[0] for words in self.programmes)


def waiting() -> list[Waiting]:
    """What waits for a load, by the programmes that may serve it: those of one together."""
    served = Served(department().programmes or (), policy_in_force())
    found: dict[tuple[str, ...], list[Package]] = {}
    for package in _oldest_of_each(waiting_for_a_load().defer("checks", "contents")):
        found.setdefault(served.words(package), []).append(package)
    return [_together(words, found[words]) for words in sorted(found)]


def _oldest_of_each(packages: QuerySet[Package]) -> QuerySet[Package]:
    """Those that a page can show of the packages with the same facts, oldest first: each with its
    ``place`` among them, and how many they are (``alike_waiting``)."""
    same = [F("serves"), F("method")]
    place = Window(RowNumber(), partition_by=same, order_by=["packed_at", "pk"])
    alike = Window(Count("pk"), partition_by=same)
    return packages.annotate(place=place, alike_waiting=alike).filter(place__lte=MOST_WAITING)


def _together(words: tuple[str, ...], packages: list[Any]) -> Waiting:
    many = sum(one.alike_waiting for one in packages if one.place == 1)
    return Waiting(words, many, tuple(packages[:MOST_WAITING]))


def counted(loads: QuerySet[Load]) -> QuerySet[Load]:
    """Loads with ``inside``, how many packages each holds."""
    return loads.annotate(inside=Count("loaded", filter=Q(loaded__taken_out_at=None)))


def now() -> QuerySet[Load]:
    """Loads being gathered or run, the longest running first."""
    running = Load.objects.filter(state__in=(LoadState.GATHERING, LoadState.RUNNING))
    return counted(running).order_by("begun_at", "pk")


def earlier() -> QuerySet[Load]:
    """Loads that ended, the last first."""
    ended = Load.objects.exclude(state__in=(LoadState.GATHERING, LoadState.RUNNING))
    return counted(ended)[:MOST_EARLIER]


def gathering_for(package: Package) -> list[Load]:
    """Loads being gathered whose programme serves the package."""
    return serving(package, counted(Load.objects.filter(state=LoadState.GATHERING)))


@dataclass(frozen=True, slots=True)
class Offer:
    """A sterilizer with the programmes that it runs, and the cycle that comes next."""

    sterilizer: Sterilizer
    programmes: tuple[tuple[Programme, str, int], ...]
    """Each with its words and how many packages wait that it serves; the most first."""
    cycle: int
    number: int | None
    """The load's; None where the sterilizer shows none."""


def offers(groups: Iterable[Waiting]) -> list[Offer]:
    """What a load can be begun for; first where most of the packages waiting would go in."""
    wanted: Counter[str] = Counter()
    for group in groups:
        wanted.update(dict.fromkeys(group.programmes, group.many))
    found = []
    for sterilizer in Sterilizer.objects.filter(active=True).prefetch_related("programmes__claims"):
        runs = [
            (one, words, wanted[words])
            for one in sterilizer.programmes.all()
            if one.active and (words := str(programme_facts(one)))
        ]
        runs.sort(key=lambda run: (-run[2], run[0].code))
        if runs:
            found.append(Offer(sterilizer, tuple(runs), *next_numbers(sterilizer)))
    return sorted(found, key=lambda offer: -offer.programmes[0][2])


def proposed(
    groups: Iterable[Waiting], loads: Iterable[Load], offers: Iterable[Offer]
) -> list[str]:
    """Which load or cycle takes most of what waits, then most of what is left, in sentences.

    A load that is being gathered is filled before another one is begun. Nothing where nothing
    waits.
    """
    left = list(groups)
    of = sum(one.many for one in left)
    begun = {one.programme: one for one in loads if one.state == LoadState.GATHERING}
    runs: dict[str, list[str]] = {}
    for offer in offers:
        for _, words, _ in offer.programmes:
            runs.setdefault(words, []).append(offer.sterilizer.code)
    said = []
    while left and (best := _best(left, begun, runs)):
        taken = [one for one in left if best in one.programmes]
        count = sum(one.many for one in taken)
        what = f"All {of}" if count == of else f"{count} of {of}"
        load = begun.get(best)
        where = f"load {load}" if load else f"a load of {' or '.join(runs[best])}"
        said.append(f"{what} can go in {best.partition(' (')[0]}: {where}.")
        left = [one for one in left if one not in taken]
    if none := sum(one.many for one in left):
        said.append(f"{none} of {of} can go in no cycle that is run here.")
    return said


def _best(groups: list[Waiting], begun: Mapping[str, Load], runs: Mapping[str, list[str]]) -> str:
    """The programme that takes most of them; "" where none that is run takes any."""
    takes: Counter[str] = Counter()
    for group in groups:
        takes.update(dict.fromkeys(group.programmes, group.many))
    known = [words for words in takes if words in runs or words in begun]
    return min(known, key=lambda words: (-takes[words], words not in begun, words), default="")
