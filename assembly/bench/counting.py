"""Counting by scan: which line a code belongs to, and what to say when it belongs to none."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from assembly.bench import builds
from assembly.bench.builds import Kind
from assembly.bench.tally import LineCount, Tally, tally_of
from assembly.ledger import Refused
from assembly.models import Build, BuildEvent, Package
from assembly.persons import Person
from catalog.lookup import matching
from catalog.lookup.finding import Found, find
from catalog.lookup.words.query import Query, is_literal, read_query
from catalog.lookup.words.ranking import sized
from catalog.models import CountSheet, Instrument, InstrumentSet

MOST_OFFERED = 6


@dataclass(frozen=True, slots=True)
class Offer:
    """Something to press instead: a verb on a line, with the instrument it is about."""

    label: str
    act: str
    line: int
    instrument: int | None = None


@dataclass(frozen=True, slots=True)
class Said:
    """What the page answers: ``right``, ``wrong`` or ``note``, in words, with what to press."""

    tone: str
    words: str
    offers: tuple[Offer, ...] = ()


def done_words(event: BuildEvent, tally: Tally) -> Said:
    """What was done, as the page says it; a repeated request is said to be one."""
    if event.again:
        return Said("note", "That came twice. It was counted once.")
    if event.line_id is None:
        return Said("note", f"{event.get_kind_display()}.")
    one = tally.of(event.line_id)
    where = f"{one.line.name}: {one.inside} of {one.line.wanted} in"
    if event.kind in (Kind.COUNTED, Kind.SUBSTITUTED):
        return Said("right", where)
    said = {
        Kind.SHORT: f"{where}, {one.short} short.",
        Kind.OVER: f"{where}. One too many: laid aside, not in the set.",
        Kind.UNDO: f"Undone. {where}.",
    }
    return Said("note", said.get(Kind(event.kind), f"{where}. The damaged piece goes to repair."))


def scan(person: Person, build_pk: int, words: str, key: str) -> Said:
    """One scan or a few letters: its line is counted, or a clear refusal says what it is."""
    build = Build.objects.get(pk=build_pk)
    tally = tally_of(build)
    found = find(words)
    lines = _lines_meant(tally, found)
    if len(lines) > 1:
        return Said("wrong", f"“{found.words}” fits {len(lines)} lines. Which one?", tuple(
            Offer(f"{one.line.name} ({one.inside} of {one.line.wanted})", "count", one.line.pk)
            for one in lines[:MOST_OFFERED]
        ))  # fmt: skip
    if not lines:
        return _foreign(tally, found)
    one = lines[0]
    try:
        event = builds.count(person, build_pk, one.line.pk, 1, key)
    except Refused as problem:
        offers: tuple[Offer, ...] = ()
        if not one.missing and build.holder_id == person.pk:
            offers = (Offer("Lay one aside as too many", "over", one.line.pk),)
        return Said("wrong", str(problem), offers)
    return done_words(event, tally_of(build))


def _lines_meant(tally: Tally, found: Found) -> Sequence[LineCount]:
    """The lines that a scan or a few letters mean; an instrument counts on its open line."""
    if isinstance(found.one, Instrument):
        lines = [c for c in tally.lines if c.line.instrument_id == found.one.pk]
        return [next((c for c in lines if c.missing), lines[0])] if lines else []
    if found.one is not None:
        return []
    query = read_query(found.words)
    return [c for c in tally.lines if _fits(query, c.line.instrument)]


def _fits(query: Query, instrument: Instrument) -> bool:
    known = matching.known(instrument)
    return sized(query, known) and is_literal(query, known.texts)


def _foreign(tally: Tally, found: Found) -> Said:
    """Not of this set: what it is, where it belongs, and whether it may stand in."""
    if isinstance(found.one, Package):
        return Said("wrong", f"That is the label of package {found.one.code}, "
                    "not an instrument. Nothing was counted.")  # fmt: skip
    if isinstance(found.one, InstrumentSet):
        return Said("wrong", f"That is the code of the set {found.one.name}. "
                    "Scan an instrument.")  # fmt: skip
    if not isinstance(found.one, Instrument):
        why = found.problem or f"“{found.words}” fits nothing in this set."
        return Said("wrong", f"{why} Nothing was counted.")
    instrument = found.one
    stands_in = [
        one for one in tally.lines
        if one.missing and instrument.pk in {other.pk for other in one.line.substitutes.all()}
    ]  # fmt: skip
    name = f"{instrument.name} ({instrument.item_number})"
    if stands_in:
        return Said(
            "wrong",
            f"{name} is not on this count sheet, but it may stand in. Nothing was counted yet.",
            tuple(
                Offer(f"Take it instead of {one.line.name}", "substitute", one.line.pk,
                      instrument.pk)
                for one in stands_in[:MOST_OFFERED]
            ),
        )  # fmt: skip
    return Said("wrong", f"{name} does not belong in this set. {where_it_belongs(instrument)} "
                "Nothing was counted.")  # fmt: skip


def where_it_belongs(instrument: Instrument) -> str:
    """The sets on whose current count sheets an instrument stands, in a sentence."""
    sets = (
        InstrumentSet.objects.filter(
            retired=False, count_sheets__state=CountSheet.State.CURRENT,
            count_sheets__lines__instrument=instrument,
        )
        .distinct()
        .order_by("code")
    )  # fmt: skip
    words = [f"{one.code} {one.name}" for one in sets]
    if not words:
        return "It is in no set: it is packed singly."
    return f"It belongs to {', '.join(words[:4])}{' and others' if len(words) > 4 else ''}."
