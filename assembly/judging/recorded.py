"""What was decided for a package, as its record has it: for every paper about it."""

from __future__ import annotations

from assembly.judging.weighing import LIMITED
from assembly.models import Load, Package
from assembly.rules.findings import Status
from assembly.rules.telling.decided import Decided, weight_words


def decided_of(package: Package, load: Load | None) -> Decided:
    """What it is packed in, its cycle and its weight against the limit, as they were written.

    The cycle is that of its ``load`` where several serve it. Without a weight on record there are
    no words of it; where something was not weighed the figure is what was known.
    """
    weighed, weight, status = _weight(package)
    return Decided(
        package=package.supply[:1].upper() + package.supply[1:],
        cycle=_cycle(package, load),
        weighed=weighed,
        weight=weight,
        weight_status=status,
    )


def _cycle(package: Package, load: Load | None) -> str:
    """The programme it goes in; the method and the temperature while several serve it."""
    if load and package.serves.get("words"):
        return load.programme
    return package.cycle_words


def _weight(package: Package) -> tuple[str, str, Status]:
    found = {one["rule"]: one for one in package.decision.get("findings", [])}
    known = [found[rule] for rule in LIMITED if rule in found and found[rule]["figure"] is not None]
    limited = [one for one in known if one["limit"] is not None]
    one = next(iter(limited or known), None)
    if one is None:
        return "Gross weight", "", Status.DOES_NOT_APPLY
    status = Status(one["status"])
    facts = package.decision.get("facts", [])
    unknown = isinstance(facts, list) and any(each.get("weight_g") is None for each in facts)
    least = status is Status.CANNOT_TELL or (status is Status.NOT_MET and unknown)
    words = weight_words(one["figure"], one["limit"], status, at_least=least)
    return one["rule"].capitalize(), words, status
