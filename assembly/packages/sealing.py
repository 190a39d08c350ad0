"""A package is sealed: closed, its label out, and somebody has looked at its seal.

Until then it waits for its seal, and goes nowhere (:mod:`assembly.packages.standing`).
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.db.models import Q, QuerySet
from django.utils import timezone

from assembly.equipment.sealers import judged
from assembly.judging.facts_from_catalog import policy_in_force
from assembly.judging.taking import NotClosed
from assembly.ledger import Refused, lock_one, verb
from assembly.models import Package
from assembly.persons import ASSEMBLE, Person
from assembly.rules.telling.checks import Check
from assembly.rules.telling.guidance import Guidance
from catalog.actions import record
from catalog.models import Change, Sealer

INDICATOR = "indicator"
"""The key of the check that asks for what lies inside."""


def to_look_at(guidance: Guidance, *, alike: bool = False) -> list[dict[str, str]]:
    """The checks of a package once it is closed, as they are kept with it.

    Of several packed ``alike``, the indicator of each is looked at again with its seal: before
    they were closed it was answered once for all.
    """
    inside = [one for one in guidance.checks if one.key == INDICATOR] if alike else []
    return [
        {"key": one.key, "word": one.word, "question": one.asked(), "then": one.then(),
         "source": one.source}
        for one in (*inside, *guidance.closed)
    ]  # fmt: skip


def checks_of(package: Package) -> tuple[Check, ...]:
    """What is looked at once this package is closed."""
    return tuple(
        Check(one["key"], one["question"], one["then"], one["source"], word=one["word"],
              group="closed")
        for one in package.closed
    )  # fmt: skip


@verb(ASSEMBLE)
def seal(
    person: Person, package_pk: int, answers: Mapping[str, str], sealer: Sealer | None = None
) -> Package:
    """The package is sealed: every check of the closed package answered yes, by its key.

    What heat closes names its ``sealer``. Sealed again changes nothing. NotClosed where a check
    is answered no, with what to do, or is not answered; Refused where the package is void, and
    where the sealer is not right for it (:func:`~assembly.equipment.sealers.judged`).
    """
    package = lock_one(Package, package_pk)
    if package.sealed_at:
        return package
    if package.is_void:
        raise Refused(f"{package.code} is void: nobody seals it. Pack it anew.")
    checks = checks_of(package)
    if said_no := tuple(one for one in checks if answers.get(one.key) == "no"):
        raise NotClosed(f"{package.code} is not sealed. Void it, and pack it anew.", said_no)
    if left := [one for one in checks if answers.get(one.key) != "yes"]:
        raise NotClosed(f"Look at {package.code} first: {left[0].asked()}")
    if findings := judged(sealer, package, policy_in_force()):
        package.sealer, package.sealed_with = sealer, str(sealer or "")
        package.seal_findings = [one.as_json() for one in findings]
    package.closed = [one | {"answer": "yes"} for one in package.closed]
    package.sealed_at, package.sealed_by = timezone.now(), person.name
    package.save(update_fields=["closed", "sealed_at", "sealed_by", "sealer", "sealed_with",
                                "seal_findings"])  # fmt: skip
    by = {"sealer": package.sealer.code} if package.sealer else {}
    record(person.actor(), Change.Verb.CHANGED, package, package.code,
           {"state": "waits for its seal"}, {"state": "sealed", **by})  # fmt: skip
    return package


def alike(package: Package) -> QuerySet[Package]:
    """All that were packed alike in the same press, this one too, in the order of their labels."""
    first = package.packed_with_id or package.pk
    return Package.objects.filter(Q(pk=first) | Q(packed_with=first)).order_by("pk")


def all_right(package: Package) -> dict[str, Any]:
    """The answers of somebody who scans the label of a package that is sealed as it should be."""
    return {one.key: "yes" for one in checks_of(package)}
