"""Loads as pages list them: what waits for one, those being gathered or run, earlier ones."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby

from django.db.models import Count, Q, QuerySet

from assembly.judging.facts_from_catalog import policy_in_force, programme_facts
from assembly.judging.taking import supplies_in
from assembly.models import Load, LoadState, Package
from assembly.packages.standing import packages_in, waiting_for_a_load
from assembly.rules.findings import Caution
from assembly.rules.telling.checks import Packed, loading
from assembly.sterilizing.gathering import next_cycle
from catalog.models import Programme, Sterilizer
from catalog.vocabulary import Kind

MOST_EARLIER = 40


@dataclass(frozen=True, slots=True)
class Waiting:
    """Packages that wait for a load of one programme, oldest first."""

    programme: str
    packages: tuple[Package, ...]


def waiting() -> list[Waiting]:
    """What waits for a load, by the programme it was packed for: one query."""
    found = sorted(waiting_for_a_load(), key=lambda one: one.method)
    return [Waiting(programme, tuple(group))
            for programme, group in groupby(found, key=lambda one: one.method)]  # fmt: skip


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


def gathering_for(package: Package) -> QuerySet[Load]:
    """Loads being gathered that run what the package was packed for."""
    return counted(Load.objects.filter(state=LoadState.GATHERING, programme=package.method))


@dataclass(frozen=True, slots=True)
class Offer:
    """A sterilizer with the programmes that it runs, and the cycle that comes next."""

    sterilizer: Sterilizer
    programmes: tuple[tuple[Programme, str, int], ...]
    """Each with its words and how many packages wait for it; the most waited for first."""
    cycle: int


def offers() -> list[Offer]:
    """What a load can be begun for; first where most packages wait."""
    wanted = {one.programme: len(one.packages) for one in waiting()}
    found = []
    for sterilizer in Sterilizer.objects.filter(active=True).prefetch_related("programmes"):
        runs = [
            (one, words, wanted.get(words, 0))
            for one in sterilizer.programmes.all()
            if one.active and (words := str(programme_facts(one)))
        ]
        runs.sort(key=lambda run: (-run[2], run[0].code))
        if runs:
            found.append(Offer(sterilizer, tuple(runs), next_cycle(sterilizer)))
    return sorted(found, key=lambda offer: -offer.programmes[0][2])


def loading_words(load: Load) -> list[tuple[str, tuple[Caution, ...]]]:
    """How what is in the load goes into the chamber, by kind of package.

    A kind is read from the decision on record; what was packed without one is left out.
    """
    policy = policy_in_force()
    kinds = {kind_of(one) for one in packages_in(load)}
    return [(kind.value, loading(Packed(kind=kind), policy)) for kind in Kind if kind in kinds]


def kind_of(package: Package) -> Kind | None:
    """The kind of package that was taken, by its decision on record; None where it has none."""
    word, _ = supplies_in(str(package.decision.get("taken", "")))
    return next((kind for kind in Kind if kind == word), None)
