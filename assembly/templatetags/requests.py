"""What other pages show of requests and the shelf, with one tag each."""

from __future__ import annotations

from typing import Any

from django import template
from django.utils.html import format_html_join
from django.utils.safestring import SafeString

from assembly.models import Package, RequestPackage, ShelfMove, ShelfState
from assembly.packages.standing import Standing, standing_of
from assembly.shortfalls.causes import open_on
from catalog.models import InstrumentSet
from catalog.templatetags.parts import state

register = template.Library()


@register.filter
def standing(package: Package) -> Standing:
    """How the package stands now."""
    return standing_of(package)


@register.simple_tag
def package_state(package: Package) -> SafeString:
    """How the package stands now, in one word with its sign, and what whoever uses it must know."""
    now = standing_of(package)
    each = [(now.status, now.word.value), *(("urgent", words) for words in now.reserves)]
    return format_html_join(" ", "{}", ((state(*one),) for one in each))


@register.inclusion_tag("assembly/shortfalls/_short_lines.html", takes_context=True)
def short_lines(context: dict[str, Any], instrument_set: InstrumentSet) -> dict[str, Any]:
    """What the set went without and has not got back."""
    return {"shortfalls": open_on(instrument_set), "perms": context.get("perms")}


@register.inclusion_tag("assembly/shelf/_package_shelf.html", takes_context=True)
def package_shelf(context: dict[str, Any], package: Package) -> dict[str, Any]:
    """Where the package is, what happened to it, and what can be done with it."""
    moves = list(ShelfMove.objects.filter(package=package).select_related("place"))
    tied = RequestPackage.objects.filter(package=package, let_go_at=None).last()
    return {
        "package": package,
        "moves": moves,
        "last": moves[-1] if moves else None,
        "tied": tied.request if tied else None,
        "perms": context.get("perms"),
        "new_key": context.get("new_key"),
        "csrf_token": context.get("csrf_token"),
        "carried": bool(moves)
        and moves[-1].state == ShelfState.ON_SHELF
        and not hasattr(package, "shelved"),
    }
