"""Which sets a switch of the policy would free, asked only when somebody wants to know."""

from __future__ import annotations

from typing import Any

from assembly.judging.facts_from_catalog import department, instrument_facts, lines_of_many
from assembly.rules.facts.cycles import Programme
from assembly.rules.methods.cycle_options import members_from
from assembly.rules.methods.cycles import freed_by_band
from assembly.rules.policy.values import Policy
from catalog.models import CountSheet, Instrument, InstrumentSet


def sets_freed_by_band(policy: Policy) -> list[tuple[InstrumentSet, str]]:
    """The sets that one cycle serves only by the band of a sterilizer, with its programme.

    Only the cycles of what is inside tell it, and many instruments and sets have the same: each
    is asked once.
    """
    runs = department().programmes or ()
    sheets = list(
        CountSheet.objects.filter(state=CountSheet.State.CURRENT, instrument_set__retired=False)
        .select_related("instrument_set")
        .order_by("instrument_set__code")
    )
    kinds, told = _Kinds(), dict[frozenset[int], Programme | None]()
    found = []
    for sheet, lines in zip(sheets, lines_of_many(sheets).values(), strict=True):
        inside = frozenset(kinds.of(line.instrument) for line in lines)
        if inside not in told:
            pieces = [kinds.examples[one] for one in inside]
            told[inside] = freed_by_band(members_from(pieces, policy), runs, policy)
        if freed := told[inside]:
            found.append((sheet.instrument_set, freed.code))
    return found


class _Kinds:
    """Instruments that allow the same cycles are of one kind, which has a number."""

    def __init__(self) -> None:
        self.examples: list[Any] = []
        self._numbers: dict[Any, int] = {}
        self._of: dict[int, int] = {}

    def of(self, instrument: Instrument) -> int:
        """The number of its kind."""
        if instrument.pk not in self._of:
            facts = instrument_facts(instrument)
            number = self._numbers.setdefault((facts.cycles, facts.contents), len(self.examples))
            if number == len(self.examples):
                self.examples.append(facts)
            self._of[instrument.pk] = number
        return self._of[instrument.pk]
