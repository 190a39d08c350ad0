"""Requests, places and packages on the shelf, valid by default."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from django.utils import timezone

from assembly.bench import builds, signing
from assembly.bench.tally import tally_of
from assembly.judging.decisions import decide_for_instrument
from assembly.models import Package, Request, ShelfPlace
from assembly.packages import levels, shelf
from assembly.packages import recording as packages
from assembly.persons import Person
from assembly.requests import asking
from assembly.requests.asking import Ask, Wanted
from catalog.models import Instrument
from tests.factories import bench as at
from tests.factories import catalog as make
from tests.factories import loads


def liaison() -> Person:
    return at.person("Lis Mellor", "OR liaison")


def other() -> Person:
    return at.person("Ola Brandt")


def ask_for(**values: Any) -> Ask:
    """For OR 3, in half an hour."""
    soon = timezone.now() + timedelta(minutes=30)
    return Ask(**{"department": "Main ORs", "where": "OR 3", "needed_by": soon, **values})


def a_request(
    instrument: Instrument | None = None, by: Person | None = None, **values: Any
) -> Request:
    wanted = Wanted(instrument=instrument or make.Instrument())
    return asking.ask(by or liaison(), wanted, ask_for(**values), at.key())


def overdue(one: Request, minutes: int = 12) -> Request:
    """The same request, its time gone by."""
    one.needed_by = timezone.now() - timedelta(minutes=minutes, seconds=1)
    one.save(update_fields=["needed_by"])
    return one


def a_package(instrument: Instrument) -> Package:
    """A single package, packed, checked and sealed, not yet put away."""
    return at.sealed(a_package_to_seal(instrument))


def a_package_to_seal(instrument: Instrument) -> Package:
    """A single package whose label is out, and whose seal nobody has looked at yet."""
    if not make.models.Pouch.objects.exists():
        make.Pouch()
    answer = decide_for_instrument(instrument)
    return packages.pack_single(at.person(), instrument, answer, at.plan_for(instrument), at.key())


def a_sterile_package(instrument: Instrument) -> Package:
    """A single package whose load was released, not yet put away."""
    package = a_package(instrument)
    loads.released(package)
    return package


def a_place(code: str = "A1") -> ShelfPlace:
    found = ShelfPlace.objects.filter(code=code).first()
    return found or levels.add_place(at.person(), code)


def on_shelf(instrument: Instrument, place: str = "A1") -> Package:
    package = a_sterile_package(instrument)
    shelf.put_away(at.person(), package, a_place(place), at.key())
    return package


def short_set(code: str, short: int = 1) -> Package:
    """A set signed without so many of its first instrument."""
    build = at.a_build(at.a_set(code, (short, 2), may_go_without=True))
    first, second = tally_of(build).lines
    builds.short(at.person(), build.pk, first.line.pk, short, "", at.key())
    builds.count(at.person(), build.pk, second.line.pk, 2, at.key())
    signing.pack(at.person(), build.pk, at.all_yes(build), at.key())
    return at.sealed(signing.sign(at.person(), build.pk, at.key()))
