"""Every set in use with its approved count sheet, read some hundred at a time."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import islice

from assembly.judging.decisions import SetAnswer, decide_for_set
from assembly.judging.facts_from_catalog import lines_of_many
from assembly.judging.questions_from_catalog import shared_now
from catalog.models import CountSheet, InstrumentSet, Line

READ_AT_ONCE = 100
"""Sets whose rows are read together, so that many take no more memory than these."""


def sets_with_lines() -> Iterator[tuple[InstrumentSet, list[Line]]]:
    """Each set in use that has an approved count sheet, with its lines."""
    sets = InstrumentSet.objects.filter(retired=False).select_related("container", "basket", "wrap")
    every = iter(sets)
    while some := list(islice(every, READ_AT_ONCE)):
        current = CountSheet.objects.filter(state=CountSheet.State.CURRENT, instrument_set__in=some)
        sheets = {sheet.instrument_set_id: sheet for sheet in current}
        lines = lines_of_many(sheets.values())
        for one in some:
            if (sheet := sheets.get(one.pk)) and lines[sheet.pk]:
                yield one, lines[sheet.pk]


def answers() -> Iterator[tuple[InstrumentSet, SetAnswer]]:
    """Every set in use that has an approved count sheet, with its decision."""
    shared = shared_now()
    for one, lines in sets_with_lines():
        yield one, decide_for_set(one, lines, out=(), shared=shared)
