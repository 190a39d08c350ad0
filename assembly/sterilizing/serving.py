"""Does the programme of a load serve this package? The facts that lie with it, judged now.

The facts are those of the day on which it was closed; the programme is the load's own, the
policy that of today. A package that carries none, or was packed against the rules for its
cycle, goes in the programme it was packed for alone; what it carries counts in a load.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from typing import Any

from assembly.judging.facts_from_catalog import policy_in_force
from assembly.ledger import Refused
from assembly.models import Load, Package
from assembly.rules.deciding.carried import care_with, findings_for, from_json
from assembly.rules.facts.cycles import Programme
from assembly.rules.facts.from_json import read_programme
from assembly.rules.findings import Finding, Status, combined
from assembly.rules.methods.lumens import Gross, lumens_of, together_finding
from assembly.rules.policy.values import Policy


def check_served(package: Package, load: Load, policy: Policy) -> None:
    """Refused unless the load's programme serves the package, with every reason against it."""
    if not package.method:
        raise Refused(f"{package.code} has no cycle on record: no load takes it. Void it and "
                      "pack it anew.")  # fmt: skip
    if package.method == load.programme:
        return
    if not (package.judged_by and load.runs):
        raise Refused(f"{package.code} is packed for {package.method}. This load "
                      f"runs {load.programme}. Put it into another load.")  # fmt: skip
    findings = _findings(package.judged_by, read_programme(load.runs), policy)
    status = combined(findings)
    if status is Status.MET:
        return
    against = [one.sentence() for one in findings if one.status is status]
    what = f"This load runs {load.programme}: {' '.join(dict.fromkeys(against))}"
    if status is Status.NOT_MET:
        raise Refused(f"{package.code} is packed for {package.cycle_words}. {what} "
                      "Put it into another load.")  # fmt: skip
    raise Refused(f"Whether it serves {package.code} cannot be told. {what} It was packed for "
                  f"{package.method}.")  # fmt: skip


def check_claims(packages: Iterable[Package], load: Load, policy: Policy, then: str) -> None:
    """Refused unless these packages together are certainly within the claims for a lumen.

    Its cycle's claims bound how many pieces with a lumen a load holds, and what it weighs with
    one in it; ``then`` is what to do about it.
    """
    claims = read_programme(load.runs).claims if load.runs else None
    if not claims:
        return
    carried = [(one.code, from_json(one.serves) if one.serves else None) for one in packages]
    inside = [each for _, one in carried if one for each in one.inside]
    weights = [
        Gross(code, one.gross_g, one.not_weighed) if one else Gross(code, None)
        for code, one in carried
    ]
    near = policy.number("near_limit_share")
    finding = together_finding(
        lumens_of((one, one.pieces) for one in inside), claims, weights, near
    )
    if finding.status is Status.NOT_MET:
        raise Refused(f"{finding.sentence()} {then}")
    if finding.status is Status.CANNOT_TELL:
        raise Refused(f"Whether the load is within the sterilizer's claims cannot be told. "
                      f"{finding.sentence()} {then}")  # fmt: skip


def serving(package: Package, loads: Iterable[Load]) -> list[Load]:
    """Those of the loads whose programme certainly serves the package."""
    return list(_serving(package, loads, policy_in_force()))


def _serving(package: Package, loads: Iterable[Load], policy: Policy) -> Iterable[Load]:
    for load in loads:
        with suppress(Refused):
            check_served(package, load, policy)
            yield load


def care_words(package: Package, load: Load) -> str:
    """What to take care of with a package in a load that serves it only just; "" else."""
    if not (package.judged_by and load.runs):
        return ""
    return care_with(from_json(package.judged_by), read_programme(load.runs), policy_in_force())


def _findings(
    serves: Mapping[str, Any], programme: Programme, policy: Policy
) -> tuple[Finding, ...]:
    return findings_for(from_json(serves), programme, policy)


@dataclass(slots=True)
class Served:
    """Which of the programmes that are run serve each of many packages.

    Packages with the same facts are judged once.
    """

    programmes: Sequence[Programme]
    policy: Policy
    known: dict[str, tuple[str, ...]] = field(default_factory=dict)

    def words(self, package: Package) -> tuple[str, ...]:
        """The programmes that serve it, in words and in their order; the one it was packed for
        among them, first where it is run no more."""
        if not package.method:
            return ()
        if not package.judged_by:
            return (package.method,)
        key = json.dumps(package.judged_by, sort_keys=True)
        if key not in self.known:
            self.known[key] = tuple(self._serving(package.judged_by))
        found = self.known[key]
        return found if package.method in found else (package.method, *found)

    def _serving(self, serves: Mapping[str, Any]) -> Iterable[str]:
        for programme in self.programmes:
            if combined(_findings(serves, programme, self.policy)) is Status.MET:
                yield str(programme)
