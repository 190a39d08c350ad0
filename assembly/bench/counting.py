"""Counting by scan: which line a code belongs to, and what to say when it belongs to none."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from assembly.bench import builds
from assembly.bench.builds import Kind
from assembly.bench.tally import LineCount, Tally, after
from assembly.ledger import HeldByAnother, Refused
from assembly.models import Build, BuildEvent, Package
from assembly.persons import Person
from catalog.lookup import matching
from catalog.lookup.finding import Found, find
from catalog.lookup.words.query import Query, is_literal, read_query
from catalog.lookup.words.ranking import sized
from catalog.models import CountSheet, Instrument, InstrumentSet

MOST_OFFERED = 6
PIECES = re.compile(r"[1-9]\d?")
"""So many pieces of the marked line, typed: no more than two digits, so that it is no code."""


@dataclass(frozen=True, slots=True)
class Offer:
    """Something to press instead: a verb on a line, with the instrument it is about.

    The verb ``mark`` only shows the line; ``pack`` leads on.
    """

    label: str
    act: str
    line: int | None = None
    instrument: int | None = None


@dataclass(frozen=True, slots=True)
class Said:
    """What the page answers: ``right``, ``wrong``, ``ask`` or ``note``, in words, with what to
    press; ``line`` is the one that the page shows with it."""

    tone: str
    words: str
    offers: tuple[Offer, ...] = ()
    line: int | None = None

    @classmethod
    def kept(cls, data: Mapping[str, Any]) -> Said:
        """What ``asdict`` made of an answer."""
        offers = tuple(Offer(**one) for one in data["offers"])
        return cls(data["tone"], data["words"], offers, data["line"])


def done_words(event: BuildEvent, tally: Tally) -> Said:
    """What was done, as the page says it; a repeated request is said to be one."""
    if event.again:
        return Said("note", "That came twice. It was counted once.")
    if event.line_id is None:
        return Said("note", f"{event.get_kind_display()}.")
    one = tally.of(event.line_id)
    where = f"{one.line.name}: {one.inside} of {one.line.wanted} in"
    if event.kind in (Kind.COUNTED, Kind.SUBSTITUTED):
        if event.instrument:
            where += f", 1 of them a substitute: {event.instrument}"
        return _and_then("right", where, tally)
    said = {
        Kind.SHORT: f"{one.missing_words}.",
        Kind.OVER: f"{where}. One too many: laid aside, not in the set.",
        Kind.UNDO: f"Undone. {where}.",
    }
    words = said.get(Kind(event.kind), f"{where}. The damaged piece goes to repair.")
    return _and_then("note", words, tally)


def _and_then(tone: str, words: str, tally: Tally) -> Said:
    """With the next step, where every piece is accounted for."""
    if tally.remaining or tally.build.state != Build.State.OPEN:
        return Said(tone, words)
    return Said(tone, f"{words.rstrip('.')}. That was the last.", (Offer("Pack it", "pack"),))


def marked(tally: Tally, line_pk: int) -> Said:
    """A line that a person means: it is shown, and counted only when that is pressed."""
    one = tally.of(line_pk)
    words = f"{one.line.name}: {one.inside} of {one.line.wanted} in."
    if one.line.instrument.retired:
        return Said("wrong", f"{words} {builds.NOT_COUNTED.format(what=one.line.name)}",
                    line=line_pk)  # fmt: skip
    if not one.missing:
        return Said("note", f"{words} It is complete.", line=line_pk)
    return Said("ask", words, (Offer("Count 1", "count", line_pk),), line_pk)


def scan(
    person: Person, tally: Tally, words: str, key: str, line_pk: int | None = None
) -> tuple[Said, Tally]:
    """One scan or a few letters: what is said, and how the set stands then.

    A number or code counts its line at once; letters mark a line, or offer those that they
    fit; so many pieces, typed, count the marked line ``line_pk``. Anything else is told.
    """
    build = tally.build
    if build.holder_id != person.pk:
        raise HeldByAnother(build.held_by_another)
    found = find(words)
    if not found.exact and line_pk and PIECES.fullmatch(words.strip()):
        event = builds.count(person, build.pk, line_pk, int(words), key)
        return done_words(event, now := after(tally)), now
    lines = _lines_meant(tally, found)
    if len(lines) != 1:
        return (_which(lines, found) if lines else _foreign(tally, found)), tally
    one = lines[0]
    if not found.exact:
        return marked(tally, one.line.pk), tally
    try:
        event = builds.count(person, build.pk, one.line.pk, 1, key)
    except Refused as problem:
        return _complete(now := after(tally), now.of(one.line.pk), str(problem)), now
    return done_words(event, now := after(tally)), now


def _which(lines: Sequence[LineCount], found: Found) -> Said:
    return Said("ask", f"“{found.words}” fits {len(lines)} lines. Which one?", tuple(
        Offer(f"{one.line.name} ({one.inside} of {one.line.wanted})", "mark", one.line.pk)
        for one in lines[:MOST_OFFERED]
    ))  # fmt: skip


def _complete(tally: Tally, one: LineCount, problem: str) -> Said:
    """One more of a line that is complete: it may stand in elsewhere, else it is laid aside."""
    if one.missing:
        return Said("wrong", problem)
    aside = Offer("Lay one aside as too many", "over", one.line.pk)
    if stands_in := _stands_in(tally, one.line.instrument):
        return _use_it(one.line.instrument, stands_in, aside)
    return Said("wrong", problem, (aside,), one.line.pk)


def _stands_in(tally: Tally, instrument: Instrument) -> list[LineCount]:
    """The lines that miss a piece and accept this instrument for it."""
    return [one for one in tally.lines if one.missing and instrument in one.stand_ins]


def _use_it(instrument: Instrument, lines: Sequence[LineCount], *others: Offer) -> Said:
    first = lines[0]
    words = (f"{first.line.name} is {first.missing} short. {instrument} may stand in: use it? "
             "Nothing was counted yet.")  # fmt: skip
    offers = tuple(
        Offer(f"Use it for {one.line.name}", "substitute", one.line.pk, instrument.pk)
        for one in lines[:MOST_OFFERED]
    )
    return Said("ask", words, (*offers, *others), first.line.pk)


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
    if stands_in := _stands_in(tally, instrument):
        return _use_it(instrument, stands_in)
    name = f"{instrument.name} ({instrument.item_number})"
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
