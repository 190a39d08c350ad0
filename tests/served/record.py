"""What is on record in the end, held against what the server had confirmed."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable

from django.db import connection
from django.db.models import Count, F, Max, Model, Q

from assembly.models import Build, BuildEvent, Load, Package, Request, RequestStep
from tests.served.held import Held
from tests.served.people import OURS, Press

OF: dict[str, tuple[type[Model], str]] = {
    "begin": (Build, "{}"), "count": (BuildEvent, "{}"), "give up": (BuildEvent, "{}"),
    "sign": (Package, "{} sign"), "ask": (Request, "{}"), "withdraw": (RequestStep, "{}"),
}  # fmt: skip
"""Of each press the table that has its key, and how the key is written there."""


def held(presses: Iterable[Press]) -> Held:
    """The record against all presses of those who worked, each by its key."""
    lost, doubled, confirmed = [], [], 0
    for what, (table, spelling) in OF.items():
        sent = {spelling.format(one.key): one for one in presses if one.what == what}
        there = Counter(_keys_in(table))
        sure = {key for key, one in sent.items() if one.confirmed}
        confirmed += len(sure)
        lost += [f"{what} {key}" for key in sorted(sure - there.keys())]
        doubled += [f"{what} {key}" for key in sent if there[key] > 1]
    return Held(confirmed, lost, [*doubled, *_never_pressed(presses)], list(half()))


def _keys_in(table: type[Model]) -> Iterable[str]:
    """What these people sent; a package of a set has the number of its assembly before it."""
    rows = table._default_manager.filter(key__contains=OURS)
    for key in rows.values_list("key", flat=True):
        yield re.sub(r"^\d+:", "", key)


def _never_pressed(presses: Iterable[Press]) -> list[str]:
    """What is on record with a key that nobody sent."""
    sent = {one.key for one in presses}
    return [
        f"{table.__name__} {key}"
        for table, _ in OF.values()
        for key in _keys_in(table)
        if key.removesuffix(" sign") not in sent
    ]


def half() -> Iterable[str]:
    """What a verb writes together and is not there together."""
    for table in (Build, Request, Load):
        rows = table._default_manager.annotate(written=Count("steps"), last=Max("steps__number"))
        for one in rows.exclude(written=F("last_step"), last=F("last_step")):
            yield f"{one.named}: {one.written} steps, the last {one.last} of {one.last_step}"
    signed = Build.objects.filter(state=Build.State.SIGNED)
    whole = Count("packages", filter=Q(packages__void_at=None))
    for one in signed.annotate(whole=whole).exclude(whole=1):
        yield f"{one.named} is signed and has {one.whole} packages"
    for package in Package.objects.filter(build__isnull=False, void_at=None).exclude(
        build__state=Build.State.SIGNED
    ):
        yield f"package {package.code} of {package.build.named}, which is not signed"
    for package in Package.objects.filter(decided=None):
        yield f"package {package.code} has no decision"
    if connection.vendor == "sqlite":
        with connection.cursor() as cursor:
            cursor.execute("PRAGMA integrity_check")
            if (said := cursor.fetchone()[0]) != "ok":
                yield f"the file: {said}"
