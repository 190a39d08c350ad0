"""The changes on record of one thing, ready to be read: field by field, before and after."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.db import models

from catalog.models import Change, InstrumentSet

MOST_SHOWN = 50
"""Changes on the page of one thing; the page Records has all."""
MOST_OPEN_FIELDS, MOST_OPEN_TEXT = 3, 200
"""Fields, and characters in them, that a list shows unfolded."""
NOTHING = "not known"


@dataclass(frozen=True, slots=True)
class Difference:
    """One field of one change, in words."""

    field: str
    before: str
    after: str


def changes_of(thing: models.Model) -> list[Change]:
    """The latest changes of a thing, newest first; those of a set's count sheets with it."""
    key = getattr(thing, "item_number", None) or getattr(thing, "code", "")
    kinds, keys = [str(thing._meta.verbose_name)], [key]
    if isinstance(thing, InstrumentSet):
        kinds.append("count sheet")
        revisions = thing.count_sheets.order_by().values_list("revision", flat=True)
        keys += [f"{key} r{revision}" for revision in revisions]
    found = Change.objects.filter(kind__in=kinds, object_key__in=keys)
    return _with_former_numbers(list(found[:MOST_SHOWN]))[:MOST_SHOWN]


def _with_former_numbers(found: list[Change]) -> list[Change]:
    """With what was done to the thing under the numbers that it had before."""
    for each in found:
        if each.verb == Change.Verb.CHANGED and "item_number" in (each.before or {}):
            former = Change.objects.filter(
                pk__lt=each.pk, kind=each.kind, object_key=(each.before or {})["item_number"]
            )
            return found + _with_former_numbers(list(former[:MOST_SHOWN]))
    return found


def differences(change: Change) -> list[Difference]:
    """What a change did, in the order of its fields. An added thing has no "before"."""
    before, after = change.before or {}, change.after or {}
    names = [*after, *(name for name in before if name not in after)]
    found = []
    for name in names:
        was, became = before.get(name), after.get(name)
        if change.verb == Change.Verb.ADDED and became in (None, "", [], False):
            continue
        if name in before and was == became and name != "line":
            continue
        found.append(
            Difference(
                field_words(name),
                in_words(was) if name in before and was != became else "",
                in_words(became) if name in after else "",
            )
        )
    return found


def is_long(found: list[Difference]) -> bool:
    """Whether a page folds the differences away: many fields, or much text."""
    text = sum(len(each.before) + len(each.after) for each in found)
    return len(found) > MOST_OPEN_FIELDS or text > MOST_OPEN_TEXT


def field_words(name: str) -> str:
    """A column's name as people say it, with its unit.

    >>> field_words("length_mm"), field_words("also_known_as"), field_words("rated_g")
    ('length, mm', 'also known as', 'rated, g')
    """
    for ending, unit in (("_mm", "mm"), ("_g", "g"), ("_c", "°C")):
        if name.endswith(ending):
            return f"{name.removesuffix(ending).replace('_', ' ')}, {unit}"
    return name.replace("_", " ")


def in_words(value: Any) -> str:
    """A recorded value for people.

    >>> in_words(None), in_words(True), in_words(["a", "b"]), in_words("")
    ('not known', 'yes', 'a; b', 'empty')
    """
    if value is None:
        return NOTHING
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        return "; ".join(in_words(each) for each in value) or "none"
    return str(value) if value != "" else "empty"
