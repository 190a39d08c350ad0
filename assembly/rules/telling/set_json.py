"""The decision for a set as plain JSON types."""

from __future__ import annotations

from typing import Any

from assembly.rules.deciding.set_decision import SetDecision
from assembly.rules.findings import Candidate
from assembly.rules.methods.cycles import Conflict


def set_json(answer: SetDecision, clash: Conflict | None) -> dict[str, Any]:
    """What a set goes into and through, or who keeps it from one cycle; equal in, equal out.

    ``package`` and ``cycle`` are null where nothing is recommended, ``clash`` (as
    :func:`assembly.rules.methods.cycles.clash` found it) where one cycle serves; ``split`` is
    empty where none is needed, its ``cycle`` null for what none serves.
    """
    decision = answer.decision
    whole = decision.as_json()
    return {
        "status": whole["status"],
        "package": whole["recommended"],
        "cycle": _cycle(decision.recommended),
        "findings": whole["findings"],
        "clash": _clash(clash),
        "split": _split(answer) if answer.split_needed else [],
        **{name: whole[name] for name in ("alternatives", "passed_over", "cautions", "unknown")},
        "policy": whole["policy"],
    }


def _cycle(taken: Candidate | None) -> dict[str, Any] | None:
    if taken is None:
        return None
    return {name: taken.details.get(name) for name in ("programme", "method", "temperature_c")}


def _clash(clash: Conflict | None) -> dict[str, Any] | None:
    if clash is None:
        return None
    groups = [list(names) for names in clash.groups]
    return {"instruments": groups, "sentence": clash.sentence()}


def _split(answer: SetDecision) -> list[dict[str, Any]]:
    parts: list[dict[str, Any]] = [
        {"instruments": list(group.names), "cycle": group.cycle_words}
        for group in answer.split.groups
    ]
    orphans = [{"instruments": list(answer.split.orphans), "cycle": None}]
    return [*parts, *(orphans if answer.split.orphans else [])]
