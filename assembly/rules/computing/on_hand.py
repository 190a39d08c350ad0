"""What is left of a supply, lot by lot, worked out from what came and what was used."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date


@dataclass(frozen=True, slots=True)
class Lot:
    """So much of one lot, in pieces or meters; ``lot`` blank and ``expires`` None where the box
    does not say."""

    quantity: float
    lot: str = ""
    expires: date | None = None

    def is_expired(self, today: date) -> bool:
        """Whether its use-by date is past: on the day itself it may be used."""
        return self.expires is not None and self.expires < today


def left_of(came: Iterable[Lot], used: Mapping[str, float]) -> list[Lot]:
    """What is left, in the order in which it is to be used: first to expire, first out.

    ``used`` has how much of each lot; what was used of a lot that is not among them, or under
    ``""`` of none that is known, is taken from the first to expire. Never less than nothing.

    >>> left = left_of([Lot(40, "A"), Lot(200, "B")], {"": 50, "B": 10})
    >>> [(one.lot, one.quantity) for one in left]
    [('B', 180)]
    """
    lots = sorted(came, key=lambda one: one.expires or date.max)
    over = used.get("", 0)
    for name, quantity in used.items():
        if name:
            lots, rest = _taken(lots, quantity, name)
            over += rest
    lots, _ = _taken(lots, over, "")
    return [one for one in lots if one.quantity > 0]


def _taken(lots: list[Lot], quantity: float, name: str) -> tuple[list[Lot], float]:
    """The lots without so much of the one named (of any, without a name), and what it had not."""
    found = []
    for one in lots:
        own = not name or one.lot.casefold() == name.casefold()
        takes = min(quantity, one.quantity) if own else 0
        found.append(replace(one, quantity=one.quantity - takes))
        quantity -= takes
    return found, quantity
