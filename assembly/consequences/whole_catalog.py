"""The instruments in use as arrays: only the columns that rules read, and no row as an object."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Sequence
from dataclasses import dataclass
from itertools import groupby, islice
from operator import itemgetter

import numpy as np
from django.db.models import DecimalField, FloatField, Model, QuerySet
from django.db.models.functions import Cast

from assembly.judging.facts_from_catalog import instrument_facts
from assembly.rules.computing.columns import KIND, SIZES, Catalog, catalog_of, floats
from assembly.rules.facts import cycles, instruments
from assembly.rules.facts.declared import declared
from catalog.models import CycleOption, Instrument

TOGETHER = 2000
"""Rows read at a time; so many instruments are asked for their facts together."""
COLUMNS = {"sharp": "tip", "parts": "parts_apart"}
"""Facts whose column has another name; each distinct value of it is a kind of its own."""
OWN = [COLUMNS.get(name, name) for name in KIND if name not in ("cycles", "pieces")]


@dataclass(frozen=True, slots=True)
class Rows:
    """The instruments in use by item number, with their keys and their facts as arrays."""

    numbers: tuple[str, ...]
    keys: tuple[int, ...]
    catalog: Catalog


def rows_now(
    tell: Callable[[int], None] = lambda done: None, among: QuerySet[Instrument] | None = None
) -> Rows:
    """Every instrument in use, or those ``among`` them; ``tell`` is told how many were read."""
    among = Instrument.objects.filter(retired=False) if among is None else among
    kinds: dict[Hashable, int] = {}
    first: list[int] = []
    numbers, keys, found, sizes = [], [], [], []
    options = _cycles(among)
    rows = among.order_by("item_number")
    read = rows.values_list("pk", "item_number", *_plain(Instrument, [*SIZES, *OWN]))
    for done, row in enumerate(read.iterator(TOGETHER)):
        if done % TOGETHER == 0:
            tell(done)
        pk, number, *values = row
        measured, others = values[: len(SIZES)], values[len(SIZES) :]
        kind = (*(tuple(one) if isinstance(one, list) else one for one in others),
                measured[-1] is None, options.get(pk))  # fmt: skip
        found.append(kinds.setdefault(kind, len(kinds)))
        if len(kinds) > len(first):
            first.append(pk)
        numbers.append(number)
        keys.append(pk)
        sizes.append(measured)
    columns = {name: floats(row[n] for row in sizes) for n, name in enumerate(SIZES)}
    catalog = catalog_of(columns, np.array(found, dtype=np.intp), _facts(first))
    return Rows(tuple(numbers), tuple(keys), catalog)


def _plain(model: type[Model], names: Sequence[str]) -> list[str | Cast]:
    """Columns to be read; numbers come as floats from the database, not as decimals."""
    fields = {field.attname: field for field in model._meta.concrete_fields}
    return [Cast(name, FloatField()) if isinstance(fields.get(name), DecimalField) else name
            for name in names]  # fmt: skip


def _cycles(among: QuerySet[Instrument]) -> dict[int, Hashable]:
    """The cycles of each instrument, in their order, as values."""
    names = [one.name for one in declared(cycles.CycleOption)]
    rows = CycleOption.objects.filter(instrument__in=among)
    rows = rows.order_by("instrument_id", "order")
    read = rows.values_list("instrument_id", *_plain(CycleOption, names)).iterator(TOGETHER)
    known: dict[Hashable, Hashable] = {}
    found: dict[int, Hashable] = {}
    for pk, some in groupby(read, key=itemgetter(0)):
        values = tuple(row[1:] for row in some)
        found[pk] = known.setdefault(values, values)
    return found


def _facts(keys: Sequence[int]) -> list[instruments.Instrument]:
    """The facts of instruments by their keys, in their order."""
    found: dict[int, instruments.Instrument] = {}
    for start in range(0, len(keys), TOGETHER):
        some = keys[start : start + TOGETHER]
        rows = Instrument.objects.prefetch_related("cycles").filter(pk__in=some)
        found |= {row.pk: instrument_facts(row) for row in rows}
    return [found[key] for key in keys]


def names_of(keys: Iterable[int]) -> dict[int, str]:
    """The names of instruments by their keys."""
    found: dict[int, str] = {}
    every = iter(keys)
    while some := list(islice(every, TOGETHER)):
        found |= dict(Instrument.objects.filter(pk__in=some).values_list("pk", "name"))
    return found
