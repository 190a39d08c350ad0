"""The only bridge from the catalog's rows to the facts that the rules are told.

Stock, programmes, protectors and policy are read whole, once in a process, and kept until one of
their rows changes; what is told of a row is kept by its values.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager, suppress
from contextvars import ContextVar
from datetime import date
from functools import lru_cache
from typing import Any, TypeVar

from django.db import connection
from django.utils import timezone

from assembly.models import Basis, PolicyOverride
from assembly.rules.facts import cycles, instruments, supplies
from assembly.rules.facts.declared import Declared, declared
from assembly.rules.policy.values import Policy, PolicyError, default_parameters, default_policy
from catalog import models
from catalog.models.supplies import PACKAGING
from catalog.vocabulary import Kind, Method

Fact = TypeVar("Fact")


class Department:
    """What every decision of the department starts from, each part read when it is first asked
    for and kept as long as the database has the same word (:class:`assembly.models.Basis`).

    Ask :func:`department` for each decision anew: one that was asked before a change may mix both.
    """

    def __init__(self, word: str | None) -> None:
        self.word = word
        self._parts: dict[object, Any] = {}

    @property
    def stock(self) -> tuple[supplies.Supply, ...]:
        """Every supply in stock that an instrument can be packed in."""
        return self._part("stock", _stock)

    @property
    def for_sets(self) -> tuple[supplies.Container | supplies.Wrap, ...]:
        """The supplies in stock that a set can be packed in."""
        return self._part("for sets", lambda: tuple(
            one for one in self.stock if isinstance(one, supplies.Container | supplies.Wrap)
        ))  # fmt: skip

    @property
    def programmes(self) -> tuple[cycles.Programme, ...] | None:
        """The cycles the department's sterilizers run; None where none was ever entered."""
        return self._part("programmes", _programmes)

    @property
    def protectors(self) -> tuple[supplies.Protector, ...]:
        """The tip protectors in stock."""
        return self._part("protectors", _protectors)

    def policy(self, day: date) -> Policy:
        """The policy on a day: the shipped values with the department's own over them, each with
        its own source. One that the bounds of today no longer allow gives way to the shipped
        value."""
        return self._part(day, lambda: _policy(day))

    def keep(self, name: object, part: Any) -> None:
        """A part that is supposed, in the place of the one that would be read."""
        self._parts[name] = part

    def _part(self, name: object, read: Callable[[], Fact]) -> Fact:
        if name not in self._parts:
            self._parts[name] = read()
        kept: Fact = self._parts[name]
        return kept


DEPARTMENTS: dict[str, Department] = {}
"""By word: the one that is valid, and that of a transaction that is not through."""
MOST_KEPT = 2


_meanwhile: ContextVar[list[Department] | None] = ContextVar("_meanwhile", default=None)
"""While a page is read: the department that it was asked for first."""


@contextmanager
def the_same_department() -> Iterator[None]:
    """All that is decided inside starts from the department as it is when it is first asked for:
    for what only reads."""
    token = _meanwhile.set([])
    try:
        yield
    finally:
        _meanwhile.reset(token)


def department() -> Department:
    """The department as it is now: one query where nothing has changed."""
    first = _meanwhile.get()
    if first:
        return first[0]
    found = _of_word(_word())
    if first is not None:
        first.append(found)
    return found


def _of_word(word: str | None) -> Department:
    if word is None:
        return Department(None)
    known = DEPARTMENTS.get(word)
    if known is None:
        for old in list(DEPARTMENTS)[: 1 - MOST_KEPT]:
            DEPARTMENTS.pop(old, None)
        known = DEPARTMENTS[word] = Department(word)
    return known


def _word() -> str | None:
    """Asked in SQL: so often that putting it together took longer than its answer."""
    with connection.cursor() as cursor:
        cursor.execute(f'SELECT word FROM "{Basis._meta.db_table}"')  # one row at most
        found = cursor.fetchone()
    return found[0] if found else None


def policy_in_force(on: date | None = None) -> Policy:
    """The department's policy on a day, today when none is named."""
    return department().policy(on or timezone.localdate())


def _policy(day: date) -> Policy:
    rows = PolicyOverride.objects.filter(since__lte=day).order_by("since", "pk")
    overrides = {row.name: row.dated() for row in rows if _allowed(row)}
    return default_policy(day, overrides)


def _allowed(row: PolicyOverride) -> bool:
    with suppress(KeyError, PolicyError):
        default_parameters()[row.name].checked(row.dated().value)
        return True
    return False


def lines_of(sheet: models.CountSheet) -> list[models.Line]:
    """A count sheet's lines with all that their facts are read from: two queries."""
    return list(sheet.lines.select_related("instrument").prefetch_related("instrument__cycles"))


def lines_of_many(sheets: Iterable[models.CountSheet]) -> dict[int, list[models.Line]]:
    """The same of many count sheets, by the key of each; what lies in several is read once."""
    found: dict[int, list[models.Line]] = {sheet.pk: [] for sheet in sheets}
    lines = list(models.Line.objects.filter(count_sheet__in=found).order_by("count_sheet", "order"))
    things = models.Instrument.objects.prefetch_related("cycles").in_bulk(
        {line.instrument_id for line in lines}
    )
    for line in lines:
        line.instrument = things[line.instrument_id]
        found[line.count_sheet_id].append(line)
    return found


def facts(make: Callable[..., Fact], row: Any, side: str = "", **given: Any) -> Fact:
    """A row's facts: what is ``given``, and all else from the columns of the same names.

    ``side`` is what those names begin with, such as ``pack_``.

    An empty word is unknown. A fact without its column is an AttributeError: no fact is
    forgotten on the way.
    """
    columns = [one for one in declared(make) if one.name not in given]
    values = tuple(_hashable(getattr(row, side + one.name)) for one in columns)
    return _made(make, values, tuple(given.items()))


def _hashable(value: Any) -> Any:
    return tuple(value) if isinstance(value, list) else value


@lru_cache(maxsize=4096)
def _made(
    make: Callable[..., Fact], values: tuple[Any, ...], given: tuple[tuple[str, Any], ...]
) -> Fact:
    """Of equal rows the same facts, so that what rules worked out of them is found again."""
    known = dict(given)
    columns = [one for one in declared(make) if one.name not in known]
    read = {one.name: _fact(one, value) for one, value in zip(columns, values, strict=True)}
    return make(**known, **read)


def _fact(fact: Declared, value: Any) -> Any:
    if value is None or (value == "" and fact.may_be_unknown):
        return None
    if fact.collected is not None:
        return fact.collected(fact.of(word) for word in value)
    return fact.of(value)


def instrument_facts(instrument: models.Instrument) -> instruments.Instrument:
    """One instrument's facts; reads its prefetched cycles."""
    return facts(
        instruments.Instrument,
        instrument,
        sharp=None if not instrument.tip else instrument.tip == models.Instrument.Tip.SHARP,
        protector=instrument.protector,
        parts=None if instrument.parts_apart is None else instrument.parts_apart != "",
        cycles=_same(tuple(facts(cycles.CycleOption, one) for one in instrument.cycles.all())),
        pieces=1,
    )


@lru_cache(maxsize=4096)
def _same(options: tuple[cycles.CycleOption, ...]) -> tuple[cycles.CycleOption, ...]:
    """Of equal cycles the same object, whatever they are of."""
    return options


def _programmes() -> tuple[cycles.Programme, ...] | None:
    """In the order of methods: of two that serve alike, steam comes before gas."""
    rows = list(models.Programme.objects.prefetch_related("claims"))
    rows.sort(key=lambda row: list(Method).index(Method(row.method)))
    return tuple(programme_facts(row) for row in rows if row.active) if rows else None


def programme_facts(programme: models.Programme) -> cycles.Programme:
    """One programme as the rules know it; its words are a package's method."""
    rows = tuple(facts(cycles.LumenClaim, row) for row in programme.claims.all())
    return facts(cycles.Programme, programme, claims=rows or None)


def shelf_lives(kind: str, codes: Iterable[str]) -> list[int | None]:
    """How many months each packaging of a package keeps by its IFU; None where it says none."""
    if kind not in list(Kind):
        return []
    rows = PACKAGING[Kind(kind)]._default_manager.filter(code__in=list(codes))
    return [row.shelf_life_months for row in rows]


def _stock() -> tuple[supplies.Supply, ...]:
    pouches = models.Pouch.objects.filter(in_stock=True).prefetch_related("doubles_in")
    containers = models.Container.objects.filter(in_stock=True).prefetch_related("programmes")
    rolls, wraps = (make.objects.filter(in_stock=True) for make in (models.Roll, models.Wrap))
    return tuple(supply_facts(row) for row in (*pouches, *rolls, *wraps, *containers))


def supply_facts(row: Any) -> supplies.Supply:
    """One supply; reads what a pouch is doubled in, and a container's programmes."""
    match row:
        case models.Pouch():
            return _pouch(row)
        case models.Roll():
            return _roll(row)
        case models.Wrap():
            return labelled(supplies.Wrap, row)
        case _:
            return container_facts(row)


def labelled(make: Callable[..., Fact], row: Any, **given: Any) -> Fact:
    """The facts of what has a label: the methods that it names, None where nobody knows."""
    names = row.labelled_methods
    methods = None if names is None else frozenset(Method(name) for name in names)
    return facts(make, row, methods=methods, **given)


def _pouch(row: models.Pouch) -> supplies.Pouch:
    outer = tuple(outer.code for outer in row.doubles_in.all())
    return labelled(supplies.Pouch, row, doubles_in=outer)


def _roll(row: models.Roll) -> supplies.Roll:
    """No column: rolls on record are flat."""
    return labelled(supplies.Roll, row, gusset_mm=0.0)


def every_pouch_and_roll() -> tuple[list[supplies.Pouch], list[supplies.Roll]]:
    """All that are on record, in stock or not: three queries."""
    pouches = models.Pouch.objects.prefetch_related("doubles_in")
    return [_pouch(row) for row in pouches], [_roll(row) for row in models.Roll.objects.all()]


def container_facts(row: models.Container) -> supplies.Container:
    """One container; reads its prefetched programmes."""
    codes = tuple(programme.code for programme in row.programmes.all())
    return facts(supplies.Container, row, programmes=codes)


def _protectors() -> tuple[supplies.Protector, ...]:
    rows = models.Protector.objects.filter(in_stock=True)
    return tuple(labelled(supplies.Protector, row) for row in rows)
