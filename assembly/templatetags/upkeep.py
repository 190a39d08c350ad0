"""What other pages show of damaged pieces, and of what is away."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django import template

from assembly.judging.inspection import DAMAGES, damages_of, has_an_edge
from assembly.models import Package, Repair
from assembly.packages.standing import is_closed, standing_of
from assembly.upkeep.repairs import away_from
from catalog.models import Instrument, InstrumentSet, Line

register = template.Library()


@register.inclusion_tag("assembly/upkeep/_damaged.html", takes_context=True)
def damaged(context: dict[str, Any], about: Any, lines: list[Line] | None = None) -> dict[str, Any]:
    """The fold that sends a piece to repair: an instrument, one of a set's ``lines``, or of what
    was in a package that is open. Nothing for who may not assemble."""
    shown: dict[str, Any] = {"words": [words for words, _ in DAMAGES], "things": []}
    if isinstance(about, Instrument):
        shown |= {"words": damages_of(about), "instrument": about,
                  "things": [(about.item_number, about.name)]}  # fmt: skip
    elif isinstance(about, Package):
        if not is_closed(standing_of(about)):
            shown["things"] = [(one["item_number"], one["name"]) for one in about.contents]
        shown["package"] = about
    else:
        shown["of"] = about
        shown["things"] = [(one.instrument.item_number, one.instrument.name) for one in lines or []]
    given = ("perms", "new_key", "csrf_token", "request")
    return shown | {name: context.get(name) for name in given}


@register.simple_tag
def away_of(instrument_set: InstrumentSet) -> Mapping[int, list[Repair]]:
    """What is away from a set, by the number of its instrument."""
    return away_from(instrument_set)


@register.filter
def away_at(away: Mapping[int, list[Repair]], instrument_pk: int) -> list[Repair]:
    """What is away of one instrument."""
    return away.get(instrument_pk, []) if away else []


@register.filter
def each_away(away: Mapping[int, list[Repair]]) -> list[Repair]:
    """All that is away, in one list."""
    return [one for found in away.values() for one in found]


@register.filter
def edged(instrument: Instrument) -> bool:
    """Whether it is one that is sharpened."""
    return has_an_edge(instrument)
