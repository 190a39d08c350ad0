"""When running requests can be met, as a list says it: worked out at each look.

What a request falls behind by is never on record; it follows from what happened to its packages.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import timedelta

from django.db.models import Q

from assembly.models import Package, Request, RequestState
from assembly.packages.standing import standing_of
from assembly.requests.coming import coming, last_cycles
from assembly.requests.timing import Timing
from assembly.rules.computing.ready import Ready, Stage, soonest

GONE = (RequestState.ON_THE_WAY,)


class Falling:
    """The earliest time of each of these requests: some dozen queries for all of them.

    ``held`` are the packages that serve each, ``lying`` the numbers of what lies on the shelf.
    """

    def __init__(
        self, requests: Iterable[Request], held: dict[int, list[Package]], lying: set[str],
        timing: Timing,
    ) -> None:  # fmt: skip
        self.held, self.lying, self.timing = held, lying, timing
        loose = [one for one in requests if not held.get(one.pk) and one.number not in lying]
        self.coming = self._coming(loose)
        self.cycles = last_cycles({one.instrument_id for one in loose if one.instrument_id})

    def _coming(self, loose: Sequence[Request]) -> dict[str, list[Package]]:
        numbers = {one.number for one in loose if one.number}
        if not numbers:
            return {}
        by_number: dict[str, list[Package]] = {}
        kinds = Q(kind=Package.Kind.SINGLE, instrument__isnull=False) | Q(kind=Package.Kind.SET)
        for packages in coming(Package.objects.filter(kinds, number__in=numbers)).values():
            for one in packages:
                by_number.setdefault(one.number, []).append(one)
        return by_number

    def ready(self, one: Request) -> Ready | None:
        """When it can be there; None where nothing is on record that could be reckoned from."""
        if one.state in GONE or not one.number:
            return None
        if packages := self.held.get(one.pk):
            return self._last_of(packages)
        if one.number in self.lying:
            return self.timing.at_hand()
        found = [self.timing.of_package(each) for each in self.coming.get(one.number, ())]
        if one.instrument_id:
            found.append(self._to_pack(one, one.instrument_id))
        known = [each for each in found if each]
        return soonest(known) if known else None

    def _last_of(self, packages: list[Package]) -> Ready | None:
        """All of them are wanted: the last one counts, and one that cannot be told."""
        fit = [one for one in packages if standing_of(one).to_be_had]
        found = [each for each in map(self.timing.of_package, fit) if each]
        unknown = next((each for each in found if each.at is None), None)
        return unknown or max(found, key=lambda each: each.at or each.start, default=None)

    def _to_pack(self, one: Request, instrument: int) -> Ready:
        """Packed for it; of what is being packed, what is left of that."""
        cycles = self.cycles.get(instrument) or next(
            (each["cycles"] for each in one.sources if each.get("cycles")), [])  # fmt: skip
        return self.timing.to_be_loaded(cycles, [self._packing(one)])

    def _packing(self, one: Request) -> Stage:
        stage = self.timing.packing
        began = [step.at for step in one.steps.all() if step.state == RequestState.PACKING]
        if one.state != RequestState.PACKING or not began:
            return stage
        gone = (self.timing.now - began[-1]) / timedelta(minutes=1)
        return replace(stage, minutes=max(0.0, (stage.minutes or 0.0) - gone))
