"""How each supply that is counted stands: what is left, and whether it is to be ordered."""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import Min, Sum
from django.db.models.functions import TruncDate
from django.utils import timezone

from assembly.judging.facts_from_catalog import policy_in_force
from assembly.models import CountedSupply, SupplyUse
from assembly.packages.on_hand import amount_of, counted, left_by_supply
from assembly.rules.computing.on_hand import Lot
from assembly.rules.computing.reorder import Demand, reorder_point, z_of
from assembly.rules.policy.values import Policy


@dataclass(frozen=True, slots=True)
class Standing:
    """One supply today. ``point`` is its reorder point, None where too few ``days`` of use are on
    record (``enough`` are asked for)."""

    of: CountedSupply
    lots: tuple[Lot, ...]
    expired: tuple[Lot, ...]
    demand: Demand
    lead_days: float
    point: float | None
    enough: int

    @property
    def on_hand(self) -> float:
        """What may still be used; what is past its date is not."""
        return sum(one.quantity for one in self.lots)

    @property
    def order_at(self) -> int | None:
        """The reorder point as it is counted: 74.7 is ordered at 75."""
        return None if self.point is None else math.ceil(self.point)

    @property
    def is_low(self) -> bool:
        return self.on_hand <= (self.order_at or 0)

    @property
    def words(self) -> str:
        """Where too few days are on record, how many are."""
        if self.point is not None:
            return ""
        return f"not enough days: {len(self.demand.days)} of {self.enough}"


def standings() -> list[Standing]:
    """Every supply that is counted, those to be ordered first: six queries, one where none is."""
    if not (supplies := list(counted())):
        return []
    policy, today = policy_in_force(), timezone.localdate()
    left, demands = left_by_supply(supplies), _demands(supplies, policy, today)
    found = [_standing(one, left[one.supply], demands[one.supply], policy, today)
             for one in supplies]  # fmt: skip
    return sorted(found, key=lambda one: (not one.is_low, one.of.name))


def _standing(
    of: CountedSupply, left: list[Lot], demand: Demand, policy: Policy, today: date
) -> Standing:
    lead, enough = of.lead_days, int(policy.number("reorder_enough_days"))
    lead_days = policy.number("reorder_lead_days") if lead is None else float(lead)
    point = None
    if len(demand.days) >= enough:
        z = z_of(policy.number("reorder_service"))
        point = reorder_point(demand.a_day, lead_days, demand.deviation, z)
    expired = tuple(one for one in left if one.is_expired(today))
    fresh = tuple(one for one in left if one not in expired)
    return Standing(of, fresh, expired, demand, lead_days, point, enough)


def _demands(supplies: list[CountedSupply], policy: Policy, today: date) -> dict[str, Demand]:
    """What was used of each in each whole day that the policy looks back, from the day of its
    first use on; days of nothing count."""
    uses = SupplyUse.objects.filter(supply__in=[one.supply for one in supplies]).order_by()
    first = dict(uses.values("supply").annotate(first=Min("package__packed_at"))
                 .values_list("supply", "first"))  # fmt: skip
    earliest = today - timedelta(days=int(policy.number("reorder_days")))
    by_day: dict[str, dict[date, float]] = defaultdict(dict)
    for row in (
        uses.annotate(day=TruncDate("package__packed_at"))
        .filter(day__gte=earliest, day__lt=today)
        .values("supply", "day")
        .annotate(amount=Sum("amount"), length=Sum("length_mm"))
    ):
        by_day[row["supply"]][row["day"]] = amount_of(row["supply"], row["amount"], row["length"])
    found = {}
    for one in supplies:
        start = timezone.localdate(first[one.supply]) if one.supply in first else today
        days = range((today - max(start, earliest)).days, 0, -1)
        used = by_day[one.supply]
        found[one.supply] = Demand(
            tuple(used.get(today - timedelta(days=back), 0.0) for back in days)
        )
    return found
