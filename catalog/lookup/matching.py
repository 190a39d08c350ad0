"""Rows in which every word stands, asked of the database."""

from __future__ import annotations

from dataclasses import replace
from functools import reduce
from operator import and_, or_
from typing import TYPE_CHECKING, TypeVar

from django.db.models import Case, F, IntegerField, Q, QuerySet, Value, When
from django.db.models.functions import Abs

from catalog.lookup.words.query import Phrase, Query
from catalog.lookup.words.ranking import Known, off
from catalog.models import Instrument, InstrumentSet

if TYPE_CHECKING:
    from catalog.lookup.words.index import Names

Thing = TypeVar("Thing", Instrument, InstrumentSet)
MOST_SIZED = 60
"""So many of the nearest by recorded length have the sizes in their names read."""
FEW = 500
"""So many rows are asked for by their keys; among more, the database looks through all."""
EXACT, LITERAL, OTHERWISE = range(3)
"""How it was found: by its number, name or nickname; by the words typed; by other words."""


def matching(query: Query, rows: QuerySet[Thing], names: Names | None = None) -> QuerySet[Thing]:
    """Rows in which every word, or what the trade says for it, stands; no words: all.

    ``names`` of all of this kind tell beforehand which few it can be. Annotated with ``how``.
    Exact ones come first, then the words as typed, then synonyms; among them the nearest length
    where a size was asked for, then by number.
    """
    number = rows.model.CALLED[0]
    if not query.words:
        return rows.order_by(number)
    if names:
        near, are_all = names.candidates(query, FEW)
        rows = rows.filter(pk__in=near) if are_all else rows
    literal = _all(rows, query.words)
    wanted = _all(rows, query.singles)
    for phrase in query.phrases:
        wanted &= _said(rows, phrase)
    hows = [When(_exact(rows, query.text), then=Value(EXACT))]
    if query.phrases:
        hows.append(When(literal, then=Value(LITERAL)))
    other = OTHERWISE if query.phrases else LITERAL
    found = rows.filter(wanted).annotate(
        how=Case(*hows, default=Value(other), output_field=IntegerField())
    )
    if query.sizes and rows.model is Instrument:
        away = Abs(F("length_mm") - query.sizes[0])
        return found.order_by("how", away.asc(nulls_last=True), number)
    return found.order_by("how", number)


def _said(rows: QuerySet[Thing], phrase: Phrase) -> Q:
    """The phrase as typed, or as the trade says it: in what a thing is called, not in its group,
    maker or number."""
    called = rows.model.CALLED[1:3]
    others = (reduce(and_, (_word(called, word) for word in other)) for other in phrase.others)
    return reduce(or_, others, _all(rows, phrase.words))


def _all(rows: QuerySet[Thing], words: tuple[str, ...]) -> Q:
    found = Q()
    for word in words:
        one = _word(rows.model.CALLED, word)
        found &= one | Q(maker_catalog_number__iexact=word) if rows.model is Instrument else one
    return found


def _word(columns: tuple[str, ...], word: str) -> Q:
    return reduce(or_, (Q(**{f"{name}__icontains": word}) for name in columns))


def _exact(rows: QuerySet[Thing], text: str) -> Q:
    number = rows.model.CALLED[0]
    found = Q(**{f"{number}__iexact": text}) | Q(name__iexact=text)
    if rows.model is Instrument:
        found |= (
            Q(also_known_as__iexact=text)
            | Q(also_known_as__istartswith=f"{text};")
            | Q(also_known_as__icontains=f"; {text};")
            | Q(also_known_as__iendswith=f"; {text}")
        )
    return found


def numbered(code: str, rows: QuerySet[Thing]) -> QuerySet[Thing]:
    """The row whose number or code this is, small and capital letters alike; by its index."""
    return rows.filter(**{f"{rows.model.CALLED[0]}__folded": code})


def first_of(query: Query, rows: QuerySet[Thing], limit: int, names: Names) -> list[Thing]:
    """The first so many that match. Where a size was asked for, those that a name states count
    too, among the nearest."""
    if not query.sizes:
        return _first(query, rows, limit, names)
    nearest = _first(query, rows, MOST_SIZED, names)
    return sorted(nearest, key=lambda one: (how(one), off(query, known(one))))[:limit]


def _first(query: Query, rows: QuerySet[Thing], limit: int, names: Names) -> list[Thing]:
    """The first of ``matching``: one query, and one more for what the trade says otherwise where
    the words as typed do not fill the list."""
    as_typed: list[Thing] = []
    if query.phrases:
        as_typed = _first(replace(query, phrases=()), rows, limit, names)
        if len(as_typed) == limit:
            return as_typed
    keys: list[int]
    keys, are_all = names.candidates(query, FEW)
    few = rows.filter(pk__in=[*keys, *(one.pk for one in as_typed)])
    found = list(matching(query, few)[:limit])
    return found if are_all or len(found) == limit else list(matching(query, rows)[:limit])


def how(one: Instrument | InstrumentSet) -> int:
    """How a row of ``matching`` was found."""
    return int(getattr(one, "how"))  # noqa: B009 - annotated


def known(one: Instrument | InstrumentSet) -> Known:
    """One row's names, the maker's number among them, and its length."""
    texts = [str(getattr(one, name)) for name in one.CALLED]
    if isinstance(one, InstrumentSet):
        return Known(one.pk, texts)
    return Known(one.pk, [*texts, one.maker_catalog_number], one.length_mm)


def in_order(keys: list[int], rows: QuerySet[Thing]) -> list[Thing]:
    """The rows of these keys, in the order of the keys."""
    found = rows.in_bulk(keys)
    return [found[pk] for pk in keys if pk in found]
