"""Which boxes are empty now, as the bench said."""

from __future__ import annotations

from django.db.models import QuerySet
from django.utils import timezone

from assembly.models import EmptyBox
from assembly.rules.facts.supplies import Emptied


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
