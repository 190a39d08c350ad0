"""What a question means among records: the numbers and codes that they go by.

A record keeps the number of its thing. So what bears a number, or is called so, is asked for first,
where an index or the memory has it, and its records then by the index of their numbers: however
many records there are.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import islice

from catalog.lookup.finding import NAMED, Want, find, things_at
from catalog.lookup.kept import names_of
from catalog.lookup.matching import FEW, matching
from catalog.lookup.offered import Kind, MisreadError
from catalog.lookup.values import values_in
from catalog.lookup.words.query import read_query
from catalog.lookup.words.reading import Asked
from catalog.models import Change, CountSheet, InstrumentSet

EVERY = Want(kinds=frozenset({*NAMED, Kind.PACKAGES}), limit=50, retired=True)
NAMES = Want(kinds=frozenset(NAMED), limit=50, retired=True)


def keys_called(asked: Asked) -> set[str]:
    """The numbers of what bears this code, number or name, in use or not. Where more than ``FEW``
    are called so, their names tell nothing apart and none of them is among it."""
    keys = {asked.words, asked.words.upper(), *asked.codes}
    try:
        things = things_at(asked, EVERY)
    except MisreadError:
        things = []
    query = read_query(asked.words)
    names = names_of(NAMED.values()) if query.words else {}
    for model in NAMED.values() if names else ():
        near, are_all = names[model].candidates(query, FEW)
        if near and are_all:
            things += matching(query, model.objects.filter(pk__in=near))
    return keys | _keys_of(things)


def keys_alike(asked: Asked) -> tuple[set[str], str]:
    """The numbers of what is spelled nearly so, and the sentence that says that it is a guess."""
    found = find(asked.words, NAMES)
    if not found.guessed:
        return set(), ""
    return _keys_of([*found.instruments, *found.sets]), found.guess_words


def _keys_of(things: Sequence[object]) -> set[str]:
    """What records call them by; those of a set's count sheets with it."""
    keys = {str(getattr(one, "item_number", "") or getattr(one, "code", "")) for one in things}
    if sets := [one for one in things if isinstance(one, InstrumentSet)]:
        sheets = CountSheet.objects.filter(instrument_set__in=sets).order_by()
        named = sheets.values_list("instrument_set__code", "revision")
        keys |= {f"{code} r{revision}" for code, revision in named}
    return keys


def batches_called(words: Iterable[str]) -> list[str]:
    """The batches on record in whose names every word stands."""
    folded = [word.casefold() for word in words]
    found = (one for one in values_in(Change, "batch")
             if all(word in one.casefold() for word in folded))  # fmt: skip
    return [*islice(found, FEW)]
