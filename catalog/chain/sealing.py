"""Entries are sealed in batches, after they were written: nobody waits for another's digest.

Who writes an entry writes one row into the open tail with it, no more. A batch of the tail is
read and its digests made outside any transaction; one short transaction then writes the seal and
takes the batch off the tail. Two who seal at once: the second finds the batch gone, and gives
way."""

from __future__ import annotations

import logging
import time
from collections.abc import Iterable, Iterator
from datetime import date, datetime, timedelta
from typing import Any

from django.conf import settings
from django.db import DatabaseError, IntegrityError, models, transaction
from django.db.models.functions import TruncDate
from django.utils import timezone

from catalog.chain import entries, packing
from catalog.models import ChainForm, ChainSeal, ChainTail

LOG = logging.getLogger("packbench.chain")
BATCH = 2000
"""Entries of one seal, at most: some milliseconds of writing."""
_tried = {"at": 0.0}


class Faster(Exception):  # noqa: N818
    """Somebody else sealed the same entries meanwhile."""


def seal_all() -> int:
    """Seal the open tail; how many entries. What is in the tail and not on record stays there."""
    sealed = last = 0
    while tail := list(ChainTail.objects.filter(pk__gt=last).order_by("pk")[:BATCH]):
        last = tail[-1].pk
        sealed += _seal(tail)
    return sealed


def seal_now_and_then(**_: Any) -> None:
    """Seal what waits, at most once in ``SEAL_EVERY_S`` seconds: called when an answer was sent."""
    now, every = time.monotonic(), settings.SEAL_EVERY_S
    if every is None or now - _tried["at"] < every:
        return
    _tried["at"] = now
    try:
        last = ChainSeal.objects.values_list("at", flat=True).last()
        if last is None or timezone.now() - last >= timedelta(seconds=every):
            seal_all()
    except DatabaseError:
        LOG.warning("Nothing could be sealed now", exc_info=True)


def _seal(tail: list[ChainTail]) -> int:
    waiting: dict[str, list[int]] = {}
    for one in tail:
        waiting.setdefault(one.kind, []).append(one.row)
    models_ = entries.kept_models()
    groups, lines, gone = {}, [], set()
    for table in sorted(waiting):
        pks = sorted(set(waiting[table]))
        model = models_[table]
        columns = entries.columns_of(model)
        found = entries.digests(model, columns, pks)
        gone |= {(table, pk) for pk in pks if pk not in found}
        if found:
            rows = sorted(found.items())
            groups[form_of(model, columns)] = [(pk, one[: packing.KEPT]) for pk, one in rows]
            lines += [one.hex() for _, one in rows]
    sealed = [one.pk for one in tail if (one.kind, one.row) not in gone]
    try:
        with transaction.atomic():
            if ChainTail.objects.filter(pk__in=sealed).delete()[0] != len(sealed):
                raise Faster
            if lines:
                write_seal(groups, lines)
    except (Faster, IntegrityError):
        return 0
    return len(lines)


def write_seal(groups: packing.Groups, lines: Iterable[str], why: str = "") -> ChainSeal:
    """The next link of the chain, in the transaction of the caller."""
    last = ChainSeal.objects.last()
    number, before = (last.number + 1, bytes(last.digest)) if last else (1, packing.NOTHING)
    at = timezone.now()
    return ChainSeal.objects.create(
        number=number, at=at, why=why, entries=packing.packed(groups),
        digest=packing.digest_of(before, number, at, why, lines),
    )  # fmt: skip


def form_of(model: type[models.Model], columns: list[str]) -> int:
    """The number of the form with these columns."""
    table, named = model._meta.db_table, ",".join(columns)
    return ChainForm.objects.get_or_create(table=table, columns=named)[0].pk


def day_of(moment: datetime) -> date:
    return timezone.localdate(moment)


def last_of_day(day: date) -> ChainSeal | None:
    """The last seal of a day of the department, or of the last day before it that has one."""
    ends = timezone.make_aware(datetime.combine(day + timedelta(days=1), datetime.min.time()))
    return ChainSeal.objects.filter(at__lt=ends).last()


def days() -> Iterator[tuple[date, ChainSeal]]:
    """The days of the last month that have a seal, the last first, each with its last seal."""
    since = timezone.now() - timedelta(days=31)
    of_day = ChainSeal.objects.filter(at__gte=since).annotate(day=TruncDate("at")).order_by()
    found = of_day.values("day").annotate(last=models.Max("number")).order_by("-last")
    lasts = [one["last"] for one in found]
    seals = ChainSeal.objects.defer("entries").in_bulk(lasts)
    yield from ((day_of(seals[one].at), seals[one]) for one in lasts)


def waits_since() -> datetime | None:
    """Since when something waits for its seal; None where nothing does."""
    return ChainTail.objects.aggregate(first=models.Min("at"))["first"]


def grouped(digest: bytes) -> str:
    """A digest to be read and compared by eye: groups of eight.

    >>> grouped(bytes(8))
    '00000000 00000000'
    """
    return digest.hex(" ", 4)
