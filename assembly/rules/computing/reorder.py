"""When a supply is ordered again: d L + z s sqrt(L), the reorder point of stock keeping.

Source: the textbook formula for a demand that varies and a delivery time that does not. ``d`` and
``s`` are mean and standard deviation of what is used in a day, ``L`` the days that a delivery
takes, ``z`` the quantile of the normal distribution for the share of deliveries before which it
shall not run out. What comes in bursts (a day of many trays) runs out sooner than it says.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import NormalDist, fmean, stdev


def reorder_point(a_day: float, lead_days: float, deviation: float, z: float) -> float:
    """How much is to be left when it is ordered again, in what it is counted in.

    ValueError for less than nothing.

    >>> round(reorder_point(a_day=12, lead_days=5, deviation=4, z=1.645), 1)
    74.7
    """
    if min(a_day, lead_days, deviation) < 0:
        raise ValueError(f"a day {a_day}, days {lead_days}, deviation {deviation}: 0 or more")
    return a_day * lead_days + z * deviation * math.sqrt(lead_days)


def z_of(service: float) -> float:
    """The quantile for a share of deliveries, 0 to 1.

    >>> round(z_of(0.95), 3)
    1.645
    """
    return NormalDist().inv_cdf(service)


@dataclass(frozen=True, slots=True)
class Demand:
    """What was used in each day that is looked at, days of nothing too."""

    days: tuple[float, ...]

    @property
    def a_day(self) -> float:
        return fmean(self.days) if self.days else 0.0

    @property
    def deviation(self) -> float:
        """Standard deviation of a day, of a sample."""
        return stdev(self.days) if len(self.days) > 1 else 0.0
