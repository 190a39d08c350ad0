"""Changes on record, for templates."""

from __future__ import annotations

from django import template

from catalog.history import Difference, field_words, in_words
from catalog.history import differences as found_differences
from catalog.history import is_long as folded_away
from catalog.models import Change

register = template.Library()
register.filter(field_words)
register.filter(in_words)


@register.filter
def differences(change: Change) -> list[Difference]:
    """What the change did, field by field."""
    return found_differences(change)


@register.filter
def is_long(found: list[Difference]) -> bool:
    """Whether the differences are folded away."""
    return folded_away(found)
