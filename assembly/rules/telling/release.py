"""Releasing a load: what is read off the sterilizer, the packages and the indicators.

Every answer becomes a finding; one that nobody gave is *cannot tell* and holds the load
back. The makers' instructions and the department's policy come first: a load that is
released here may still be held back by them.
"""

from __future__ import annotations

from collections.abc import Mapping

from assembly.rules.findings import Finding, Rule, Status, combined
from assembly.rules.policy.values import Policy
from assembly.rules.telling.checks import Check
from assembly.rules.telling.words import told
from catalog.vocabulary import Method

MONITORING = "CDC guideline 2008, Monitoring, as quoted"
IMPLANT, IMPLANT_QUESTION = "implant", "Is an implant in this load?"
NO_GROWTH, GROWTH, NOT_READ, NO_INDICATOR = "no growth", "growth", "not read", "none"
"""What a biological indicator said; without a control that grew nobody reads "no growth"."""
BIOLOGICAL, ANSWERS = "biological indicator", ("yes", "no")


def release_checks(method: Method, wet: int = 0) -> tuple[Check, ...]:
    """What is looked at before a load of this method is released, in the order of the work.

    ``wet``: so many of it were named wet, and the others are asked about.

    >>> [check.key for check in release_checks(Method.STEAM)]
    ['record', 'outside', 'dry', 'whole', 'cooled']
    >>> [check.key for check in release_checks(Method.EO)][-1]
    'aired'
    """
    keys = ["record", "outside", "dry", "whole"]
    if method in (Method.STEAM, Method.DRY_HEAT):
        keys.append("cooled")
    if method in (Method.EO, Method.LTSF):
        keys.append("aired")
    text = {"dry": "dry but the wet"} if wet else {}
    return tuple(Check(key, **told("release", text.get(key, key), count=str(wet))) for key in keys)


def release_findings(
    method: Method, answers: Mapping[str, str], biological: str, policy: Policy, wet: int = 0
) -> tuple[Finding, ...]:
    """A finding for each check, "yes" or "no" by its key, and for the biological indicator.

    ``biological`` is one of the words above, "" where nobody said. Growth is never met.

    >>> from datetime import date
    >>> from assembly.rules.policy.values import default_policy
    >>> yes = {check.key: "yes" for check in release_checks(Method.STEAM)} | {IMPLANT: "no"}
    >>> policy = default_policy(date(2026, 1, 1))
    >>> may_be_released(release_findings(Method.STEAM, yes, NO_INDICATOR, policy))
    True
    """
    looked_at = [_looked_at(check, answers.get(check.key)) for check in release_checks(method, wet)]
    return (*looked_at, _biological(biological, answers.get(IMPLANT), policy))


def may_be_released(findings: tuple[Finding, ...]) -> bool:
    """Whether nothing is not met and nothing is unknown."""
    return combined(findings) is Status.MET


def _looked_at(check: Check, answer: str | None) -> Finding:
    rule = Rule(check.key, check.source)
    if answer not in ANSWERS:
        return rule.cannot_tell(f"Not answered: {check.asked()}", check.key)
    if answer == "no":
        return rule.not_met(check.then())
    return rule.met(f"Answered yes: {check.asked()}")


def _biological(said: str, implant: str | None, policy: Policy) -> Finding:
    rule = Rule(BIOLOGICAL, policy.source("biological_before_release"))
    if said == GROWTH:
        return rule.by(MONITORING).not_met(
            "It grew: hold the load back, and recall what "
            "went out since the last one without growth."
        )
    if said == NO_GROWTH:
        return rule.met("It did not grow, and its control did.")
    waits = _waits(implant, policy)
    if waits is None:
        return rule.cannot_tell(f"Not answered: {IMPLANT_QUESTION}", IMPLANT)
    if waits and said == NO_INDICATOR:
        return rule.not_met(
            "This load has to wait for its biological indicator, and none was in it."
        )
    if waits or said not in (NO_INDICATOR, NOT_READ):
        return rule.cannot_tell(
            "Nobody has read the biological indicator, or said whether one was in the load.",
            BIOLOGICAL,
        )
    words = "None was in this load." if said == NO_INDICATOR else (
        "Not read yet. Read it when it is due: when it grew, this load is recalled."
    )  # fmt: skip
    return rule.does_not_apply(words)


def _waits(implant: str | None, policy: Policy) -> bool | None:
    """Whether the load waits for its biological indicator; None: the policy asks for implants
    and nobody said whether one is in it."""
    asked = policy.word("biological_before_release")
    if asked == "loads with implants":
        return implant == "yes" if implant in ANSWERS else None
    return asked == "every load"
