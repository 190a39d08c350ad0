"""Packages that are kept no longer: which may go, and how one goes with all that is only its own.

A package goes with its moves, its places in loads and requests, what it used up, its decision
where no other shares it and, of a set, its assembly; loads and requests stay. What else names it
keeps it, also what is built after today: a recall, a complaint, a repair, a question, a piece that
is missing.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import datetime
from itertools import islice
from typing import Any

from django.db import models, transaction
from django.db.models import Exists, OuterRef, Q, QuerySet

from assembly.models import (
    Build,
    BuildEvent,
    BuildLine,
    CountedSupply,
    KeptDecision,
    LoadedPackage,
    Package,
    RequestPackage,
    ShelfMove,
    ShelfState,
    Shelved,
    SupplyCount,
    SupplyUse,
)
from assembly.packages.implants import numbers_in
from assembly.packages.standing import FAILED
from catalog.chain.letting_go import let_go
from catalog.models import Instrument

Model = type[models.Model]
MOST = 20_000
"""Packages of one go: a database takes so many keys in one question."""
ITS_OWN: tuple[Model, ...] = (ShelfMove, LoadedPackage, RequestPackage, Shelved, SupplyUse)
GONE = (ShelfState.HANDED_OVER, ShelfState.OPENED)


def may_go(before: datetime) -> tuple[list[int], int]:
    """Keys of the packages of before this moment that may go, the first :data:`MOST` of them; and
    how many of before then stay.

    One that may go is void or gone since before then, and so are its load and its request; no load
    of it failed; each thing in it is on record as no implant; nothing else names it; and what is on
    hand is not reckoned from it.
    """
    old = Package.objects.filter(packed_at__lt=before)
    no_implants = set(
        Instrument.objects.filter(implant=False).values_list("item_number", flat=True)
    )
    over = _over(old, before).order_by("pk").values_list("pk", "contents").iterator()
    fit = (pk for pk, contents in over if numbers_in(contents) <= no_implants)
    found = set(islice(fit, MOST))
    tied = Package.objects.exclude(build=None, packed_with=None)
    ties = list(tied.values_list("pk", "build", "packed_with"))
    while held := _held(ties, found) & found:
        found -= held
    return sorted(found), old.count() - len(found)


def _held(ties: Iterable[tuple[int, int | None, int | None]], found: set[int]) -> set[int]:
    """Of one assembly all packages go or none; the first of several alike goes with the last."""
    builds = {build for pk, build, _ in ties if build and pk not in found}
    firsts = {first for pk, _, first in ties if first and pk not in found}
    return firsts | {pk for pk, build, _ in ties if build in builds}


def _over(old: QuerySet[Package], before: datetime) -> QuerySet[Package]:
    """Those that nobody has any more, and that nothing else asks for."""
    own = Q(package=OuterRef("pk"))
    ended = Q(load__ended_at__lt=before) & ~Q(load__state__in=FAILED)
    wanted = ~Q(request__ended_at__lt=before) | Q(request__ended_at=None)
    assemblies = Build.objects.filter(pk=OuterRef("build"), ended_at__lt=before)
    for one in _named_by(Build, (BuildLine, BuildEvent, Package)):
        assemblies = assemblies.exclude(one)
    for one in _named_by(BuildEvent, (BuildEvent,)):
        events = BuildEvent.objects.filter(one, build=OuterRef("pk"))
        assemblies = assemblies.exclude(Exists(events))
    found = old.filter(
        Q(void_at__lt=before) | Q(void_at=None, shelved__state__in=GONE),
        Q(build=None) | Exists(assemblies),
        here=False,
    )
    found = found.exclude(
        Exists(Shelved.objects.filter(own, ~Q(state__in=GONE) | Q(since__gte=before)))
    )
    found = found.exclude(Exists(LoadedPackage.objects.filter(own).exclude(ended)))
    found = found.exclude(Exists(RequestPackage.objects.filter(own, wanted, let_go_at=None)))
    for one in _named_by(Package, (*ITS_OWN, Package, Package.lots.through)):
        found = found.exclude(one)
    for supply, since in _reckoned_from():
        used = SupplyUse.objects.filter(own, supply=supply)
        found = found.exclude(Exists(used), packed_at__gt=since)
    return found


def _named_by(model: Model, but: tuple[Model, ...]) -> Iterator[Exists]:
    """Whether a row is named by any other table."""
    for one in model._meta.get_fields(include_hidden=True):
        if one.auto_created and not one.concrete and one.related_model not in but:
            named: Any = one.related_model
            yield Exists(named._base_manager.filter(**{one.field.name: OuterRef("pk")}))  # type: ignore[union-attr]


def _reckoned_from() -> Iterator[tuple[str, datetime]]:
    """Each supply that is counted, and since when its uses are taken off."""
    for one in CountedSupply.objects.filter(ended_at=None):
        counts = one.counts.all()
        last = counts.filter(kind=SupplyCount.Kind.COUNTED).last() or counts.first()
        if last:
            yield one.supply, last.at


def let_packages_go(pks: list[int], why: str) -> None:
    """These packages, all or none, each row of the chain with its stub."""
    packages = Package.objects.filter(pk__in=pks)
    with transaction.atomic():
        builds = list(packages.exclude(build=None).values_list("build", flat=True))
        decisions = set(packages.values_list("decided", flat=True))
        for model in ITS_OWN:
            _gone(model._default_manager.filter(package__in=pks), why)
        _gone(packages.exclude(packed_with=None), why)
        _gone(packages, why)
        alone = decisions - _still_named(decisions, builds)
        _gone(KeptDecision.objects.filter(pk__in=alone), why)
        events = BuildEvent.objects.filter(build__in=builds)
        _gone(events.exclude(undoes=None), why)
        _gone(events, why)
        BuildLine.objects.filter(build__in=builds).delete()
        Build.objects.filter(pk__in=builds).delete()


def _still_named(decisions: set[int], builds: list[int]) -> set[int]:
    """Those of another package, or of an assembly that stays: it was packed by it, and may yet be
    signed."""
    packages = Package.objects.filter(decided__in=decisions)
    named = set(packages.values_list("decided", flat=True))
    packed = BuildEvent.objects.filter(kind=BuildEvent.Kind.PACKED).exclude(build__in=builds)
    for data in packed.values_list("data", flat=True).iterator():
        named.add(data.get("decided"))
    return named


def _gone(rows: QuerySet[Any], why: str) -> None:
    if hasattr(rows.model, "MAY_CHANGE"):
        let_go(rows, why)
    else:
        rows.delete()
