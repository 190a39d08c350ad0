"""Which sets a switch of the policy would free, asked only when somebody wants to know."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby
from operator import itemgetter

from django.db.models import QuerySet

from assembly.consequences.whole_catalog import rows_now
from assembly.judging.facts_from_catalog import department
from assembly.rules.computing.columns import grouped
from assembly.rules.facts.cycles import Programme
from assembly.rules.methods.cycle_options import members_from
from assembly.rules.methods.cycles import freed_by_band
from assembly.rules.policy.values import Policy
from catalog.models import CountSheet, Instrument, InstrumentSet, Line


def sets_freed_by_band(policy: Policy) -> list[tuple[InstrumentSet, str]]:
    """The sets that one cycle serves only by the band of a sterilizer, with its programme.

    Only the cycles of what is inside tell it, and many instruments and sets have the same: each
    is asked once.
    """
    runs = department().programmes or ()
    told, freed = dict[frozenset[int], Programme | None](), dict[int, str]()
    lines = Line.objects.filter(
        count_sheet__state=CountSheet.State.CURRENT, count_sheet__instrument_set__retired=False
    )
    rows = rows_now(among=Instrument.objects.filter(pk__in=lines.values("instrument")))
    every = rows.catalog.examples
    kinds, examples = grouped(every, lambda one: (one.cycles, one.contents))
    kind_of = dict(zip(rows.keys, kinds[rows.catalog.kinds].tolist(), strict=True))
    for one, inside in _contents(lines, kind_of):
        if inside not in told:
            pieces = [examples[kind] for kind in inside]
            told[inside] = freed_by_band(members_from(pieces, policy), runs, policy)
        if programme := told[inside]:
            freed[one] = programme.code
    return [(one, freed[one.pk]) for one in InstrumentSet.objects.filter(pk__in=freed)]


def _contents(
    lines: QuerySet[Line], kind_of: dict[int, int]
) -> Iterator[tuple[int, frozenset[int]]]:
    """The key of each set with the kinds of what lies in it."""
    by_set = lines.order_by("count_sheet__instrument_set")
    read = by_set.values_list("count_sheet__instrument_set", "instrument").iterator()
    for one, some in groupby(read, key=itemgetter(0)):
        yield one, frozenset(kind_of[instrument] for _, instrument in some)
