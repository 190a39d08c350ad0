"""What was tested in a month: for the page and the paper of one sterilizer or sealer."""

from __future__ import annotations

from datetime import date
from typing import Any

from django.db.models import QuerySet
from django.http import Http404
from django.shortcuts import get_object_or_404
from django.utils import timezone

from assembly.equipment.standing import Thing
from assembly.models import EquipmentTest
from catalog.models import Sealer, Sterilizer

VIEW = "assembly.view_equipmenttest"
THINGS: dict[str, Any] = {"sterilizer": Sterilizer, "sealer": Sealer}
"""The word in an address to what it names."""


def thing_at(what: str, code: str) -> Thing:
    """The sterilizer or sealer of an address; Http404 where there is none."""
    if what not in THINGS:
        raise Http404(f"A {what} has no tests.")
    found: Thing = get_object_or_404(THINGS[what], code__folded=code)
    return found


def month_named(words: str) -> date:
    """The first day of the month that is written as ``2026-11``; this month where it is none."""
    try:
        return date.fromisoformat(f"{words}-01")
    except ValueError:
        return timezone.localdate().replace(day=1)


def tests_of(thing: Thing, month: date) -> QuerySet[EquipmentTest]:
    """Every test of a thing in a month, taken back ones too, the first first."""
    of_it = thing.tests.filter(day__year=month.year, day__month=month.month)
    return of_it.select_related("load").prefetch_related("steps")
