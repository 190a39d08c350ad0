"""The layout of a set's basket: worked out for the lines of a count sheet as they are now."""

from __future__ import annotations

from collections.abc import Sequence

from django.db.models import Q
from django.utils import timezone

from assembly.judging.facts_from_catalog import set_question_for, shared_now
from assembly.rules.layers.laid import Asked, Laid, into_of, lay_out
from catalog.models import InstrumentSet, Line


def asked_of(instrument_set: InstrumentSet, lines: Sequence[Line]) -> Asked:
    """What a layout is asked with: the lines, what they go into, the policy of today."""
    inside = [line.instrument for line in lines]
    shared = shared_now(Q(instrument_set=instrument_set) | Q(instrument__in=inside))
    question = set_question_for(instrument_set, lines, shared, out=())
    policy = shared.here.policy(timezone.localdate())
    return Asked(question.lines, into_of(question, policy), policy)


def layout_of(instrument_set: InstrumentSet, lines: Sequence[Line]) -> Laid:
    """The layers that are proposed, and what was proved."""
    return lay_out(asked_of(instrument_set, lines))
