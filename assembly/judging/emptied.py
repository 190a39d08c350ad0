"""Which boxes are empty now, as the bench said."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.db.models import QuerySet
from django.utils import timezone

from assembly.models import EmptyBox
from assembly.rules.deciding.boxes import boxes_of, emptied_for
from assembly.rules.facts.supplies import Emptied
from assembly.rules.findings import Candidate
from assembly.rules.picking import OUT

if TYPE_CHECKING:
    from assembly.judging.decisions import Answer, SetAnswer


def empty_now() -> QuerySet[EmptyBox]:
    """The boxes that were said to be empty, in this shift, and of which there is none yet."""
    return EmptyBox.objects.filter(ended_at=None, until__gt=timezone.now())


def emptied_now() -> tuple[Emptied, ...]:
    """The same as the rules are told, each supply once: one query."""
    said = {one.supply: one for one in empty_now()}
    return tuple(
        Emptied(one.supply, one.name,
                f"{one.said_by}, {timezone.localtime(one.said_at):%H:%M}")
        for one in said.values()
    )  # fmt: skip


def boxes_shown(
    answer: Answer | SetAnswer | None, candidate: Candidate | None
) -> dict[str, object]:
    """For a page: ``empty``, the boxes that the decision goes round or waits for, and ``boxes``,
    what the candidate takes out of others, key and short name."""
    if answer is None or candidate is None:
        return {"empty": [], "boxes": []}
    gone = (item.candidate for item in answer.decision.passed_over if item.why == OUT)
    empty = dict.fromkeys(
        box for one in (*gone, candidate) for box in emptied_for(one, answer.question)
    )
    said = {one.supply for one in answer.question.out}
    every = boxes_of(candidate, answer.question).items()
    return {"empty": list(empty), "boxes": [one for one in every if one[0] not in said]}
