"""How urgent a request is now: it follows from the time that is left, and nobody has to say it."""

from __future__ import annotations

from datetime import datetime, timedelta

from assembly.models import Request
from assembly.rules.policy.values import Policy

Urgency = Request.Urgency
RISING = (Urgency.ROUTINE, Urgency.URGENT, Urgency.WAITING)


def urgency_of(one: Request, now: datetime, policy: Policy) -> Request.Urgency:
    """As urgent as the minutes that are left make it by the policy, never less than somebody said
    when they asked."""
    left = (one.needed_by - now) / timedelta(minutes=1)
    by_time = Urgency.ROUTINE
    if left <= policy.number("case_waits_min"):
        by_time = Urgency.WAITING
    elif left <= policy.number("urgent_min"):
        by_time = Urgency.URGENT
    return max(by_time, Urgency(one.urgency), key=RISING.index)
