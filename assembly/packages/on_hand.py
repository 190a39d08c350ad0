"""What is left of the supplies that the department counts; what it does not count is not known."""

from __future__ import annotations

import operator
from collections.abc import Collection
from decimal import Decimal
from functools import reduce

from django.db.models import Q, QuerySet, Sum
from django.utils import timezone

from assembly.ledger import Refused
from assembly.models import CountedSupply, SupplyCount, SupplyUse
from assembly.rules.computing.on_hand import Lot, left_of
from assembly.rules.days import day_words
from catalog.vocabulary import Kind

MM_IN_M = 1000


def counted() -> QuerySet[CountedSupply]:
    """The supplies that the department counts."""
    return CountedSupply.objects.filter(ended_at=None)


def amount_of(supply: str, pieces: int, length_mm: Decimal | None) -> float:
    """How much a sum of uses is, in what it is counted in: pieces, of a roll meters."""
    if supply.startswith(f"{Kind.ROLL}:"):
        return float(length_mm or 0) / MM_IN_M
    return float(pieces)


def left_by_supply(supplies: Collection[CountedSupply]) -> dict[str, list[Lot]]:
    """What is left of each, by its key, the lot to be used first first: two queries.

    From its last count on; what packages used since is gone.
    """
    counts: dict[str, list[SupplyCount]] = {one.supply: [] for one in supplies}
    for one in SupplyCount.objects.filter(of__in=supplies).select_related("of"):
        if one.kind == SupplyCount.Kind.COUNTED:
            counts[one.of.supply].clear()
        counts[one.of.supply].append(one)
    used = _used(counts)
    return {
        supply: left_of((Lot(one.quantity, one.lot, one.expires) for one in found),
                        used.get(supply, {}))
        for supply, found in counts.items()
    }  # fmt: skip


def _used(counts: dict[str, list[SupplyCount]]) -> dict[str, dict[str, float]]:
    """How much of each lot was used since the first of the counts that hold."""
    since = [Q(supply=supply, package__packed_at__gt=found[0].at)
             for supply, found in counts.items() if found]  # fmt: skip
    used: dict[str, dict[str, float]] = {}
    if since:
        rows = SupplyUse.objects.filter(reduce(operator.or_, since)).order_by()
        for row in rows.values("supply", "lot").annotate(
            amount=Sum("amount"), length=Sum("length_mm")
        ):
            used.setdefault(row["supply"], {})[row["lot"]] = amount_of(
                row["supply"], row["amount"], row["length"]
            )
    return used


def check_fresh(supplies: Collection[str]) -> None:
    """Refused where all that is left of one of the supplies is past its date, by its lot.

    Nothing is known of what the department does not count.
    """
    found = list(counted().filter(supply__in=supplies))
    every = left_by_supply(found) if found else {}
    today = timezone.localdate()
    for one in found:
        left = every[one.supply]
        if left and all(lot.is_expired(today) for lot in left):
            lot = left[0]
            named = f"lot {lot.lot}, was" if lot.lot else "was"
            until = day_words(lot.expires) if lot.expires else ""
            raise Refused(f"{one.name}, {named} to be used by {until}, and no other is on hand. "
                          "Take another box and open its lot under Lots.")  # fmt: skip
