"""Sterilizers and loads, valid by default, through the verbs of the bench."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal
from itertools import count
from typing import Any

from django.utils import timezone

from assembly.equipment.recording import put_on_record
from assembly.models import EquipmentTest, Load, Package
from assembly.rules.telling.release import IMPLANT, release_checks
from assembly.sterilizing import gathering, releasing
from catalog.models import Programme, Sealer, Sterilizer
from catalog.vocabulary import Method
from tests.factories import bench as at

_cycles = count(1)
NO_GROWTH, NOT_READ, NONE, GROWTH = "no growth", "not read", "none", "growth"


def a_programme(code: str = "S134", **facts: object) -> Programme:
    found, _ = Programme.objects.get_or_create(
        code=code,
        defaults={
            "method": "steam",
            "temperature_c": 134,
            "exposure_min": 4,
            "drying_min": 20,
            "air_removal": "dynamic",
            **facts,
        },
    )
    return found


def a_sterilizer(code: str = "ST1", *programmes: Programme, untested: bool = False) -> Sterilizer:
    """A sterilizer that may be used today, its air-removal test passed; or with no test."""
    found, _ = Sterilizer.objects.get_or_create(code=code)
    found.programmes.add(*(programmes or [a_programme()]))
    if (
        not untested
        and not found.tests.filter(kind="air removal", day=timezone.localdate()).exists()
    ):
        tested(found, "air removal")
    return found


def tested(thing: Sterilizer | Sealer, kind: str, *, passed: bool | None = True,
           **more: Any) -> EquipmentTest:  # fmt: skip
    """A test of today, with its result."""
    return put_on_record(at.person(), thing, kind, at.key(), passed=passed, **more)


def a_sealer(code: str = "PS1", read_c: int | None = 180, **facts: object) -> Sealer:
    """A sealer; with a seal test of today by which it reads so much, or none."""
    found, made = Sealer.objects.get_or_create(code=code, defaults=facts)
    if made and read_c is not None:
        tested(found, "seal", read_c=Decimal(read_c))
    return found


def a_load(*packages: Package, untested: bool = False) -> Load:
    """A load being gathered, for the programme its packages were packed for."""
    sterilizer = a_sterilizer(untested=untested)
    load = gathering.begin_load(at.person(), sterilizer, a_programme(), next(_cycles), at.key())
    if packages:
        Load.objects.filter(pk=load.pk).update(programme=packages[0].method)
    for package in packages:
        gathering.add(at.person(), load.pk, package, at.key())
    load.refresh_from_db()
    return load


def running(*packages: Package, ago: timedelta = timedelta(hours=2)) -> Load:
    """A load that was started so long ago: two hours, so that its cycle is over."""
    load = gathering.start(at.person(), a_load(*packages).pk, at.key())
    return started(load, ago)


def started(load: Load, ago: timedelta = timedelta(hours=2)) -> Load:
    """The same load, as if it had been started so long ago."""
    Load.objects.filter(pk=load.pk).update(started_at=timezone.now() - ago)
    load.refresh_from_db()
    return load


def all_yes(method: Method = Method.STEAM, **answers: str) -> dict[str, str]:
    """Every check before a release answered yes, but for those named; no implant inside."""
    return {check.key: "yes" for check in release_checks(method)} | {IMPLANT: "no"} | answers


def released(*packages: Package, biological: str = NO_GROWTH) -> Load:
    load = running(*packages)
    return releasing.release(at.person(), load.pk, all_yes(), biological, at.key())
