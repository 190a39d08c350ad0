"""What is kept of a decision with its package, and what is said of it when it is opened.

All of what was taken; of what was passed over only codes, which are put into words here.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from assembly.judging.decisions import Answer, SetAnswer
from assembly.judging.taking import Option, key_of, supplies_in
from assembly.rules.facts.from_json import plain
from assembly.rules.findings import Candidate, Decision, PassedOver, Status, metric
from assembly.rules.telling import explain
from catalog.vocabulary import Fold

STATUS = {"n": Status.NOT_MET, "c": Status.CANNOT_TELL}
CODES = {status: code for code, status in STATUS.items()}
"""The states of a reason as they are kept; other findings of what was passed over are not."""


def on_record(answer: Answer | SetAnswer, option: Option) -> dict[str, Any]:
    """The decision of this moment as plain JSON: facts, findings and the policy's digest."""
    return {
        "headline": answer.headline,
        "taken": option.key,
        "findings": [finding.as_json() for finding in option.candidate.findings],
        "facts": _facts(answer),
        "decision": _outcome(answer.decision),
        "policy": answer.decision.policy_digest,
    }


def _facts(answer: Answer | SetAnswer) -> Any:
    if isinstance(answer, Answer):
        return plain(asdict(answer.question.instrument))
    return [
        {"quantity": line.quantity, "item_number": line.item_number}
        | plain(asdict(line.instrument))
        for line in answer.question.lines
    ]


def _outcome(decision: Decision) -> dict[str, Any]:
    taken = decision.recommended
    return {
        "status": str(decision.outcome),
        "recommended": taken.as_json() if taken else None,
        "alternatives": [key_of(one) for one in decision.alternatives],
        "passed_over": [_coded(one) for one in decision.passed_over],
        "cautions": [caution.sentence() for caution in decision.cautions],
        "unknown": list(decision.unknown),
    }


def _coded(passed: PassedOver) -> list[Any]:
    """Its key, why in a word, and each reason: rule, state, margin, unit of the margin."""
    one = passed.candidate
    return [key_of(one), passed.why, [
        [f.rule, CODES[f.status], None if f.margin is None else round(f.margin, 3), f.unit]
        for f in one.reasons
    ]]  # fmt: skip


# --- when it is opened -----------------------------------------------------------------


def passed_over(kept: Mapping[str, Any]) -> list[tuple[str, str, list[str]]]:
    """What was passed over by a decision that was kept, put into words from its codes: the name,
    why in a word, and each reason once.

    >>> kept = {"decision": {"passed_over": [
    ...     ["wrap:W1:B2:envelope", "ruled out", [["sheet", "n", -71.4, "mm"]]],
    ...     ["pouch:P1:P2", "cannot tell", [["rated weight", "c", None, "g"]]]]}}
    >>> for one in passed_over(kept): print(one)
    ('wrap W1, envelope fold, with basket B2', 'ruled out', ['sheet: not met by 71.4 mm'])
    ('pouch P1 in pouch P2', 'cannot tell', ['rated weight: cannot tell'])
    """
    found = kept.get("decision", {}).get("passed_over", ())
    return [
        (_name(key), why, list(dict.fromkeys(_reason(*one) for one in reasons)))
        for key, why, reasons in found
    ]


def _name(key: str) -> str:
    kind, codes = supplies_in(key)
    fold = codes[-1] if codes[-1] in list(Fold) else None
    first, *others = codes[:-1] if fold else codes
    return explain.name(Candidate(kind, first, (), (), tuple(others), {"fold": fold}))


def _reason(rule: str, code: str, margin: float | None, unit: str) -> str:
    short = f" by {metric(-margin, unit)}" if margin is not None and margin < 0 else ""
    return f"{rule}: {STATUS[code]}{short}"
