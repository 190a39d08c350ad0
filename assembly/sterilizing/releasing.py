"""After the cycle: released, held back, or recalled when it turns out that it failed."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from django.db import transaction
from django.utils import timezone

from assembly.judging.facts_from_catalog import policy_in_force
from assembly.ledger import Refused
from assembly.models import (
    Biological,
    Load,
    LoadedPackage,
    LoadState,
    Package,
    ShelfMove,
    ShelfState,
)
from assembly.packages.shelf import leave
from assembly.packages.spoiled import tell_of
from assembly.packages.standing import packages_in
from assembly.persons import Person
from assembly.rules.findings import Finding, Status
from assembly.rules.telling.release import may_be_released, release_findings
from assembly.sterilizing.steps import RUNNING, begin, write
from catalog.vocabulary import Method


def findings_for(load: Load, answers: Mapping[str, str], biological: str) -> tuple[Finding, ...]:
    """What these answers come to for this load, by the policy in force today.

    ``biological`` is one of :class:`~assembly.models.Biological`, "" where nobody said.
    """
    if biological and biological not in Biological:
        raise Refused(f"“{biological}” is nothing a biological indicator can say. Choose again.")
    return release_findings(Method(load.method), answers, biological, policy_in_force())


@transaction.atomic
def release(person: Person, pk: int, answers: Mapping[str, str], biological: str, key: str) -> Load:
    """The packages of the load may be put away and sent.

    Refused unless every check is answered yes and the biological indicator lets it go, with
    every reason.
    """
    load, again = begin(pk, key, RUNNING)
    if again:
        return load
    findings = findings_for(load, answers, biological)
    if not may_be_released(findings):
        held = (one for one in findings if one.status in (Status.NOT_MET, Status.CANNOT_TELL))
        raise Refused(f"Not released. {' '.join(one.sentence() for one in held)}")
    return write(load, person, key, "released", state=LoadState.RELEASED, ended_at=timezone.now(),
                 biological=biological, findings=[one.as_json() for one in findings])  # fmt: skip


@transaction.atomic
def hold_back(
    person: Person, pk: int, answers: Mapping[str, str], biological: str, key: str, reason: str
) -> Load:
    """The load is not released: its packages are to be voided and packed anew.

    With a reason, which the requests of its packages learn.
    """
    load, again = begin(pk, key, RUNNING)
    if again:
        return load
    if not reason.strip():
        raise Refused("Write why the load is not released: it stays on record.")
    findings = findings_for(load, answers, biological)
    for package in packages_in(load).filter(void_at=None):
        tell_of(person, package, f"was in load {load}, not released: {reason.strip()}")
    return write(load, person, key, "not released", reason.strip(), state=LoadState.NOT_RELEASED,
                 ended_at=timezone.now(), biological=biological,
                 findings=[one.as_json() for one in findings])  # fmt: skip


@transaction.atomic
def read_later(person: Person, pk: int, biological: str, key: str) -> Load:
    """The biological indicator of a released load was read afterwards, without growth.

    Growth is a recall, with its reason: Refused here.
    """
    load, again = begin(pk, key, (LoadState.RELEASED,))
    if again:
        return load
    if biological == Biological.GROWTH:
        raise Refused("It grew: recall the load, and write what is done.")
    if biological != Biological.NO_GROWTH or load.biological != Biological.NOT_READ:
        raise Refused("Nothing waits to be read there. Nothing was changed.")
    words = f"biological indicator: {Biological(biological).label.lower()}"
    return write(load, person, key, words, biological=biological)


@dataclass(frozen=True, slots=True)
class Whereabouts:
    """A package of a load and where it is now, in words."""

    package: Package
    words: str
    out: bool
    """Whether it left the department, or was opened: somebody has to be told."""


@transaction.atomic
def recall(person: Person, pk: int, key: str, reason: str, *, grew: bool = False) -> Load:
    """A released load turned out to have failed: no package of it is to be used.

    Each becomes recalled, also what was handed over or opened, and the requests of them
    learn it; the load's page names where they went. ``grew``: its biological indicator did.
    """
    load, again = begin(pk, key, (LoadState.RELEASED,))
    if again:
        return load
    if not reason.strip():
        raise Refused("Write why the load is recalled: everybody who has a package reads it.")
    for package in packages_in(load).filter(void_at=None):
        if _last_state(package) not in (ShelfState.DAMAGED, ShelfState.RECALLED):
            leave(person, package, ShelfState.RECALLED, reason=f"load {load}: {reason.strip()}")
    said = Biological.GROWTH.value if grew else load.biological
    return write(load, person, key, "recalled", reason.strip(), state=LoadState.RECALLED,
                 biological=said)  # fmt: skip


def _last_state(package: Package) -> str:
    last = ShelfMove.objects.filter(package=package).last()
    return last.state if last else ""


def whereabouts(load: Load) -> list[Whereabouts]:
    """Every package of a load and where it is, those that went out first."""
    return whereabouts_by_load([load])[load.pk]


def whereabouts_by_load(loads: Iterable[Load]) -> dict[int, list[Whereabouts]]:
    """The same for many loads, by the number of each: two queries."""
    found: dict[int, list[Whereabouts]] = {load.pk: [] for load in loads}
    inside = LoadedPackage.objects.filter(load__in=list(found), taken_out_at=None)
    moves: dict[int, list[ShelfMove]] = {}
    of_them = ShelfMove.objects.filter(package__in=inside.values("package"))
    for move in of_them.select_related("place"):
        moves.setdefault(move.package_id, []).append(move)
    for one in inside.select_related("package"):
        found[one.load_id].append(_whereabouts(one.package, moves.get(one.package_id, [])))
    return {pk: sorted(ones, key=lambda one: not one.out) for pk, ones in found.items()}


def _whereabouts(package: Package, moves: list[ShelfMove]) -> Whereabouts:
    out = any(move.state in (ShelfState.HANDED_OVER, ShelfState.OPENED) for move in moves)
    if package.is_void:
        return Whereabouts(package, f"void: {package.void_reason}", out)
    if not moves:
        return Whereabouts(package, "in the department, not put away", out)
    words = moves[-1].get_state_display()
    if any(move.state == ShelfState.OPENED for move in moves[:-1]):
        words = f"Opened, then {words.lower()}"
    if place := moves[-1].place:
        words += f": {place}"
    if to := next((move.to for move in reversed(moves) if move.to), ""):
        words += f", went to {to}"
    return Whereabouts(package, words, out)
