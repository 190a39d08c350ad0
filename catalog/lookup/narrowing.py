"""A list narrowed by its search field: the look-up's answer as rows of that list."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.conf import settings
from django.db.models import Case, QuerySet, Value, When

from catalog.lookup import matching, offered
from catalog.lookup.finding import CUT, Want, find
from catalog.lookup.kept import names_of
from catalog.lookup.offered import Kind
from catalog.lookup.words.query import read_query
from catalog.lookup.words.reading import read_asked
from catalog.scans.scanning import Kind as ScanKind

MOST_GUESSED = 50


@dataclass(frozen=True, slots=True)
class Narrowed:
    """The rows left, what to say above them, and the words that may be shown again."""

    rows: QuerySet[Any]
    said: str = ""
    words: str = ""


def narrowed(raw: str, rows: QuerySet[Any], kind: Kind) -> Narrowed:
    """The rows of one kind that the words fit: as typed, by synonym, by a code, else alike."""
    asked = read_asked(raw, settings.SCANNER_SEPARATOR, offered.prefixes)
    if not raw.strip() or asked.scan.kind in (ScanKind.OWN, ScanKind.GTIN):
        query = read_query(asked.words)
        names = names_of([rows.model])[rows.model] if query.words else None
        fitting = matching.matching(query, rows, names)
        if not raw.strip() or fitting.exists():
            return Narrowed(fitting, CUT if query.cut else "", query.text)
    found = find(raw, Want(kinds=frozenset({kind}), limit=MOST_GUESSED))
    things = [found.one] if found.one else [*found.instruments, *found.sets]
    keys = [thing.pk for thing in things]
    places = (When(pk=pk, then=Value(place)) for place, pk in enumerate(keys))
    left = rows.filter(pk__in=keys).order_by(Case(*places, default=0)) if keys else rows.none()
    return Narrowed(left, found.problem or found.guess_words, found.words)
