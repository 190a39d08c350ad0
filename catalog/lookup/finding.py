"""The one look-up: what was scanned or typed, and what it means.

Every field that finds something asks here. A number or code that is exactly one thing is
that thing. Words list what they fit, and mean one thing only where nothing else fits;
spelling is forgiven and trade synonyms are known, but a guess is never taken for an answer.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from django.conf import settings
from django.db.models import Model, QuerySet, Value

from catalog.lookup import matching, offered
from catalog.lookup.kept import names_of
from catalog.lookup.offered import OFFERS, Kind, MisreadError
from catalog.lookup.words.query import MOST_WORDS, Query, is_literal, read_query
from catalog.lookup.words.ranking import NEAR_THE_BEST, sized
from catalog.lookup.words.reading import Asked, read_asked
from catalog.models import Identifier, Instrument, InstrumentSet

NAMED: dict[Kind, Any] = {Kind.INSTRUMENTS: Instrument, Kind.SETS: InstrumentSet}


CUT = f"Only the first {MOST_WORDS} words were looked for."


@dataclass(frozen=True, slots=True)
class Want:
    """What a field wants: which kinds, how many at most, retired ones too, near spellings."""

    kinds: frozenset[Kind] = frozenset({Kind.INSTRUMENTS, Kind.SETS, Kind.PACKAGES})
    limit: int = 12
    retired: bool = False
    forgiving: bool = True


ANYTHING = Want()
INSTRUMENTS = frozenset({Kind.INSTRUMENTS})


@dataclass(frozen=True, slots=True)
class Found:
    """What the words mean. ``one`` is the single thing meant, ``exact`` by its number or code;
    ``guessed``: nothing is spelled so; ``cut``: only
    the first words were looked for; ``problem`` says why there is nothing, ``refused``
    that it is a code and no name: misread, unknown, or one that must not be used; ``hint`` what
    to set on the reader, where the code was found in spite of it."""

    words: str
    one: Model | None = None
    exact: bool = False
    instruments: tuple[Instrument, ...] = ()
    sets: tuple[InstrumentSet, ...] = ()
    more: bool = False
    guessed: bool = False
    cut: bool = False
    problem: str = ""
    refused: bool = False
    hint: str = ""

    @property
    def nothing(self) -> bool:
        return self.one is None and not self.instruments and not self.sets

    @property
    def not_to_be_shown(self) -> bool:
        """Whether what was read may not stand on a page again: a patient's code."""
        return self.refused and not self.words

    @property
    def guess_words(self) -> str:
        """What to say above a list of guesses, or of what fits a long question's first words."""
        said = [CUT] if self.cut else []
        said += [f"Nothing is spelled “{self.words}”. Close to it:"] if self.guessed else []
        return " ".join(said)


def find(raw: str, want: Want = ANYTHING) -> Found:
    """The thing that bears this code, number or nickname; else all that fit the words.

    ``raw`` is the field's text as it came, never stripped. One query asks for codes, one whether
    the names in memory are still right; words take at most two for each kind of thing found.
    """
    if not raw.strip():
        return Found("")
    asked = read_asked(raw, settings.SCANNER_SEPARATOR, offered.prefixes)
    try:
        exact = things_at(asked, want)
    except MisreadError as problem:
        return Found(asked.words, problem=str(problem), refused=True)
    if exact:
        return _exactly(asked, exact)
    named = bool(want.kinds & NAMED.keys())
    if asked.problem and (named or not asked.scan.wrongly_marked):
        return Found(asked.words, problem=asked.problem, refused=True)
    if not named:
        return Found(asked.scan.words)
    if asked.from_a_maker:
        what = "set" if want.kinds == {Kind.SETS} else "instrument"
        return Found(asked.words, problem=asked.unknown(what), refused=True)
    return _by_name(asked.words, want)


def things_at(asked: Asked, want: Want) -> list[Model]:
    """Everything wanted that bears exactly this code: our own, or one on record.

    MisreadError for a code whose shape says what it is, and that is not there or not wanted.
    """
    found: list[Model] = []
    for code in asked.codes:
        for kind, offer in OFFERS.items():
            if offer.claims(code) and kind not in want.kinds:
                raise MisreadError(f"“{code}” {offer.elsewhere}")
            if kind in want.kinds and (thing := offer.at(code)):
                found.append(thing)
    for kind, keys in _keys_at(asked, want).items():
        found += NAMED[kind].objects.in_bulk(sorted(keys)).values()
    return found


def _keys_at(asked: Asked, want: Want) -> dict[Kind, set[int]]:
    """Keys of instruments and sets with this number or code: one query for all of them.

    Of the codes on record the most particular counts: the single piece before its model.
    """
    parts: list[QuerySet[Any, Any]] = [
        matching.numbered(code, _rows(model, want)).order_by().values_list(
            Value(kind.value), Value(0), "pk"
        )
        for code in asked.codes
        for kind, model in NAMED.items()
        if kind in want.kinds
    ]  # fmt: skip
    if Kind.INSTRUMENTS in want.kinds:
        parts += [
            Identifier.objects.order_by()
            .filter(kind=one.kind.value, value=one.value)
            .filter(**({} if want.retired else {"instrument__retired": False}))
            .values_list(Value(Kind.INSTRUMENTS.value), Value(place), "instrument_id")
            for place, one in enumerate(asked.scan.identifiers, start=1)
        ]
    if not parts:
        return {}
    rows = list(parts[0].union(*parts[1:]))
    first = min((place for _, place, _ in rows if place), default=0)
    keys: dict[Kind, set[int]] = {}
    for kind, place, pk in rows:
        if place in (0, first):
            keys.setdefault(Kind(kind), set()).add(pk)
    return keys


def _exactly(asked: Asked, things: list[Model]) -> Found:
    if len(things) == 1:
        return Found(asked.words, one=things[0], exact=True, hint=asked.hint)
    return Found(
        asked.words,
        instruments=tuple(one for one in things if isinstance(one, Instrument)),
        sets=tuple(one for one in things if isinstance(one, InstrumentSet)),
    )


def _rows(model: Any, want: Want) -> QuerySet[Any]:
    return model.objects.all() if want.retired else model.objects.filter(retired=False)


def _by_name(words: str, want: Want) -> Found:
    query = read_query(words)
    named = {kind: _rows(model, want) for kind, model in NAMED.items() if kind in want.kinds}
    names = names_of([NAMED[kind] for kind in named])
    hits = {
        kind: matching.first_of(query, rows, want.limit + 1, names[NAMED[kind]])
        for kind, rows in named.items()
    }
    if any(hits.values()):
        return _listed(query, hits, want)
    if want.forgiving:
        shares = {
            kind: names[NAMED[kind]].ranked(query, want.limit + 1, retired=want.retired)
            for kind in named
        }
        hits = _alike(shares, named)
    if any(hits.values()):
        return _listed(query, hits, want, guessed=True)
    return Found(query.text, problem=f"Nothing is called “{query.text}”. Try fewer letters, "
                 "the item number, or another name for it.")  # fmt: skip


def _alike(
    shares: dict[Kind, list[tuple[float, int]]], named: dict[Kind, QuerySet[Any]]
) -> dict[Kind, list[Any]]:
    """Names alike of every kind, those near the best of all kinds."""
    best = max((found[0][0] for found in shares.values() if found), default=0.0)
    return {
        kind: matching.in_order(
            [pk for share, pk in found if share >= NEAR_THE_BEST * best], named[kind]
        )
        for kind, found in shares.items()
    }


def _listed(
    query: Query, hits: dict[Kind, list[Any]], want: Want, *, guessed: bool = False
) -> Found:
    instruments, sets = hits.get(Kind.INSTRUMENTS, []), hits.get(Kind.SETS, [])
    if not guessed and not query.cut and (one := _only(query, [*instruments, *sets])):
        return Found(query.text, one=one)
    return Found(
        query.text,
        instruments=tuple(instruments[: want.limit]),
        sets=tuple(sets[: want.limit]),
        more=len(instruments) > want.limit or len(sets) > want.limit,
        guessed=guessed,
        cut=query.cut,
    )


def _only(query: Query, things: Iterable[Any]) -> Instrument | InstrumentSet | None:
    """The one thing that fits the words as typed, where no other fits in any words."""
    fitting = [one for one in things if sized(query, matching.known(one))]
    if len(fitting) != 1 or matching.how(fitting[0]) == matching.OTHERWISE:
        return None
    return fitting[0] if is_literal(query, matching.known(fitting[0]).texts) else None
