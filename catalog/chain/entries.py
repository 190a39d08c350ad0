"""What is an entry, and the line of text of which its digest is made.

An entry's line, in UTF-8, is the same wherever the record lies::

    TABLE ID {"COLUMN":VALUE,...}

without spaces but the two. Its columns stand in the order of their names; the ``id`` is left out,
and what of the row may change afterwards (``MAY_CHANGE`` of its model). A value is JSON: null,
true, false, a whole number, or a text in quotes, in which only ``"``, ``\\`` and control
characters are escaped (as JSON's shortest: ``\\n``, ``\\u001f``). Decimals are texts with all
their places (``"12.50"``), days ``"2026-03-01"``, moments in UTC with six places
(``"2026-03-01T12:00:00.000000Z"``). JSON is written with its names in order and no spaces; what
is kept compressed as it was written. A relation to several rows is the list of their keys in
order. The digest of an entry is the SHA-256 of its line."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator, Sequence
from datetime import UTC, date, datetime
from decimal import Decimal
from hashlib import sha256
from itertools import islice
from json.encoder import encode_basestring
from typing import Any

from django.apps import apps
from django.db import models

Model = type[models.Model]
AT_ONCE = 500
"""Rows asked for by one query."""


def kept_models() -> dict[str, Model]:
    """The models of entries, by their tables."""
    found = apps.get_models()
    return {one._meta.db_table: one for one in found if hasattr(one, "MAY_CHANGE")}


def columns_of(model: Model) -> list[str]:
    """What of its rows is sealed, in order."""
    meta = model._meta
    may_change = {"id", *model.MAY_CHANGE}  # type: ignore[attr-defined]
    own = {str(field.column): field.name for field in meta.local_concrete_fields}
    kept = [column for column, name in own.items() if name not in may_change]
    return sorted([*kept, *(field.name for field in meta.local_many_to_many)])


def has(model: Model, columns: Iterable[str]) -> bool:
    """Whether its rows still have these columns."""
    own = {field.column for field in model._meta.local_concrete_fields}
    return own.union(field.name for field in model._meta.local_many_to_many).issuperset(columns)


def lines(model: Model, columns: Sequence[str], pks: Iterable[int]) -> Iterator[tuple[int, str]]:
    """The line of each of these rows that is there."""
    fields = {field.column: field for field in model._meta.local_concrete_fields}
    several = {field.name: field for field in model._meta.local_many_to_many}
    own = [one for one in columns if one in fields]
    writers = [
        (f"{',' if place else ''}{json.dumps(one)}:", _writer(fields.get(one)))
        for place, one in enumerate(columns)
    ]
    wanted, table = iter(pks), model._meta.db_table
    while chunk := list(islice(wanted, AT_ONCE)):
        keys = [(place, _keys(several[one], chunk)) for place, one in enumerate(columns)
                if one in several]  # fmt: skip
        rows = model._base_manager.filter(pk__in=chunk).order_by()
        for pk, *values in rows.values_list("pk", *(_asked(fields[one]) for one in own)):
            for place, found in keys:
                values.insert(place, found.get(pk, []))
            told = zip(writers, values, strict=True)
            parts = "".join([start + write(value) for (start, write), value in told])
            yield pk, f"{table} {pk} {{{parts}}}"


def digests(model: Model, columns: Sequence[str], pks: Iterable[int]) -> dict[int, bytes]:
    """The digest of each of these rows that is there: 32 bytes."""
    return {pk: sha256(line.encode()).digest() for pk, line in lines(model, columns, pks)}


def _asked(field: models.Field[Any, Any]) -> Any:
    """As it lies there, where it is compressed; else as the program reads it."""
    if isinstance(field, models.BinaryField):
        return models.ExpressionWrapper(models.F(field.name), output_field=models.BinaryField())
    return field.attname


def _keys(field: Any, pks: list[int]) -> dict[int, list[int]]:
    one, other = field.m2m_column_name(), field.m2m_reverse_name()
    found: dict[int, list[int]] = {}
    rows = field.remote_field.through._base_manager.filter(**{f"{one}__in": pks})
    for pk, key in rows.order_by(other).values_list(one, other):
        found.setdefault(pk, []).append(key)
    return found


def _writer(field: models.Field[Any, Any] | None) -> Callable[[Any], str]:
    """What puts a value of it into words; of several keys where it is None."""
    if not isinstance(field, models.BinaryField):
        return value_text
    return lambda value: "null" if value is None else field.as_text(bytes(value))  # type: ignore


def value_text(value: Any) -> str:
    """A value as it stands in a line.

    >>> value_text(True), value_text(Decimal("12.50")), value_text({"b": 1, "a": "ü"})
    ('true', '"12.50"', '{"a":"ü","b":1}')
    """
    return _TEXTS.get(type(value), _JSON.encode)(value)


def _moment(value: datetime) -> str:
    moment = value.astimezone(UTC).replace(tzinfo=None)
    return f'"{moment.isoformat(timespec="microseconds")}Z"'


_JSON = json.JSONEncoder(ensure_ascii=False, separators=(",", ":"), sort_keys=True)
_TEXTS: dict[type, Callable[[Any], str]] = {
    int: str,
    str: encode_basestring,
    datetime: _moment,
    date: lambda value: f'"{value.isoformat()}"',
    Decimal: lambda value: f'"{value:f}"',
}
"""How values of a type are written; all others as JSON."""
