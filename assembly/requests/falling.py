"""When running requests can be met, as a list says it: worked out at each look.

What a request falls behind by is never on record; it follows from what happened to its packages.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from datetime import datetime, timedelta

from assembly.models import Package, Request, RequestState, RequestStep
from assembly.packages.shelf import to_be_had
from assembly.packages.standing import standing_of
from assembly.requests.coming import coming_of, last_cycles
from assembly.requests.timing import Timing
from assembly.rules.computing.ready import Ready, Stage

GONE = (RequestState.ON_THE_WAY,)


class Falling:
    """The earliest time of each of these requests: some dozen queries for all of them.

    ``held`` are the packages that serve each, ``lying`` how many of each number lie on the
    shelf.
    """

    def __init__(
        self, requests: Iterable[Request], held: dict[int, list[Package]], lying: Mapping[str, int],
        timing: Timing,
    ) -> None:  # fmt: skip
        self.held, self.lying, self.timing = held, lying, timing
        loose = [one for one in requests if one.quantity > lying.get(one.served_by, 0)]
        numbers = {one.served_by for one in loose if one.served_by}
        self.coming = coming_of(numbers) if numbers else {}
        self.cycles = last_cycles({one.packed_as.pk for one in loose if one.packed_as})

    def ready(self, one: Request) -> Ready | None:
        """When all that was asked for can be there: what serves it already, then whatever is there
        first. None where nothing is on record that could be reckoned from."""
        if one.state in GONE or not one.number:
            return None
        found = list(self._pieces(self.held.get(one.pk, ())))
        if len(found) < one.quantity:
            found += sorted(self._others(one), key=_first_known)[: one.quantity - len(found)]
        unknown = next((each for each in found if each.at is None), None)
        if found and len(found) < one.quantity and not unknown:
            return Ready(self.timing.now, None, unknown=f"{len(found)} of {one.quantity} on record")
        return unknown or max(found, key=_first_known, default=None)

    def _pieces(self, packages: Iterable[Package]) -> Iterator[Ready]:
        """A time for each piece in the packages that will do; a set is one."""
        for one in packages:
            ready = self.timing.of_package(one) if standing_of(one).to_be_had else None
            if ready:
                yield from [ready] * counted(one.kind, one.pieces)

    def _others(self, one: Request) -> Iterator[Ready]:
        """A time for each piece that does not serve it yet; none of what is out of use."""
        if one.packed_as and one.packed_as.retired:
            return
        if lying := self.lying.get(one.served_by):
            yield from [self.timing.at_hand()] * lying
        yield from self._pieces(self.coming.get(one.served_by, ()))
        if one.packed_as is None or one.instead_set:
            return
        loose = one.packed_as.spares_on_hand
        if one.state == RequestState.PACKING:
            loose = one.quantity
        if loose is None:
            yield Ready(self.timing.now, None, unknown="nobody has counted the spares")
        elif loose:
            yield from [self._to_pack(one, one.packed_as.pk)] * loose

    def _to_pack(self, one: Request, instrument: int) -> Ready:
        """Packed for it; of what is being packed, what is left of that."""
        cycles = self.cycles.get(instrument) or next(
            (each["cycles"] for each in one.sources if each.get("cycles")), [])  # fmt: skip
        implant = bool(one.instrument and one.instrument.implant)
        return self.timing.to_be_loaded(cycles, [self._packing(one)], implant=implant)

    def _packing(self, one: Request) -> Stage:
        stage = self.timing.packing
        if one.state != RequestState.PACKING:
            return stage
        return packing_left(stage, one.steps.all(), self.timing.now)


def packing_left(stage: Stage, steps: Iterable[RequestStep], now: datetime) -> Stage:
    """What is left of the packing that goes on, by the steps of its request."""
    began = [step.at for step in steps if step.state == RequestState.PACKING]
    gone = (now - began[-1]) / timedelta(minutes=1) if began else 0.0
    return replace(stage, minutes=max(0.0, (stage.minutes or 0.0) - gone))


def lying(numbers: Iterable[str]) -> Counter[str]:
    """How many of each number lie on the shelf and were promised to nobody: one query."""
    found = Counter[str]()
    there = to_be_had().filter(number__in=numbers)
    for number, kind, pieces in there.values_list("number", "kind", "pieces"):
        found[number] += counted(kind, pieces)
    return found


def counted(kind: str, pieces: int) -> int:
    """How many of what was asked for a package is: a set is one."""
    return 1 if kind == Package.Kind.SET else pieces


def _first_known(ready: Ready) -> tuple[bool, datetime]:
    return (ready.at is None, ready.at or ready.start)
