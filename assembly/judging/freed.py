"""Which sets a switch of the policy would free, asked only when somebody wants to know."""

from __future__ import annotations

from assembly.judging.facts_from_catalog import department, instrument_facts
from assembly.rules.methods.cycle_options import members_from
from assembly.rules.methods.cycles import freed_by_band
from assembly.rules.policy.values import Policy
from catalog.models import CountSheet, InstrumentSet, lines_with_instruments


def sets_freed_by_band(policy: Policy) -> list[tuple[InstrumentSet, str]]:
    """The sets that one cycle serves only by the band of a sterilizer, with its programme."""
    runs = department().programmes or ()
    sheets = (
        CountSheet.objects.filter(state=CountSheet.State.CURRENT, instrument_set__retired=False)
        .select_related("instrument_set")
        .prefetch_related(lines_with_instruments(), "lines__instrument__cycles")
        .order_by("instrument_set__code")
    )
    found = []
    for sheet in sheets:
        pieces = [instrument_facts(line.instrument) for line in sheet.lines.all()]
        if freed := freed_by_band(members_from(pieces, policy), runs, policy):
            found.append((sheet.instrument_set, freed.code))
    return found
