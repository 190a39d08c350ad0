"""Everything on record as JSON lines: a row a line, each with its kind, for other programs.

``docs/json-lines.md`` says what is in it; :mod:`config.installation.lines_described` writes that
file. What is left out is named here with the reason: no other model or field is.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import asdict, dataclass
from datetime import date, datetime
from decimal import Decimal
from itertools import groupby
from operator import itemgetter
from typing import Any

from django.apps import apps
from django.conf import settings
from django.contrib.auth.models import Group, User
from django.db import connection, models, transaction
from django.utils import timezone

from assembly.rules.policy.values import default_policy

FORMAT = 1
"""Counted up when a reader of the lines has to change."""
OWN_APPS = ("catalog", "assembly", "reports")
"""Every model of these is in it; of the others those that are named here."""
HEAD, POLICY, END = "packbench", "policy.shipped", "end"
"""The kinds of lines that no table holds: the first, the shipped policy, the last."""
AT_ONCE = 200
"""Rows that are read together: some megabytes of the widest."""

LEFT_OUT = {
    "sessions.session": "Who is signed in. Its key opens the program.",
    "contenttypes.contenttype": "Made by migrate, the same in every installation.",
    "auth.permission": "Made by migrate, the same in every installation.",
    "catalog.namesblock": "When the look-up reads names again. Says nothing of any of them.",
    "assembly.basis": "A word that says when to read supplies anew. It tells nothing.",
}
"""Models that are not in it, and why."""
FIELDS_LEFT_OUT = {
    "auth.user": {
        "password": "A secret, though it is only a digest of one.",
        "last_login": "When somebody signed in last says nothing about a package.",
        "email": "Not used by the program.",
        "is_staff": "Not used by the program.",
        "user_permissions": "Not used by the program: permissions come with the groups.",
    },
    "auth.group": {"permissions": "Those of the three roles, in config/roles.toml."},
    "catalog.spreadsheetbatch": {"content": "The uploaded file itself. A backup has it."},
}
"""Fields that are not in it, and why, by the kind of line."""


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of line: the rows of a model, with these columns, and lists of keys of others."""

    model: type[models.Model]
    fields: tuple[models.Field[Any, Any], ...]
    lists: tuple[models.ManyToManyField[Any, Any], ...]

    @property
    def name(self) -> str:
        """What each of its lines says it is."""
        return self.model._meta.label_lower

    @property
    def left_out(self) -> dict[str, str]:
        """Its fields that no line has, and why."""
        return FIELDS_LEFT_OUT.get(self.name, {})


def kinds() -> list[Kind]:
    """Every kind of line that stands for a table, in the order in which they are written."""
    own = [model for app in OWN_APPS for model in apps.get_app_config(app).get_models()]
    every: tuple[type[models.Model], ...] = (User, Group, *own)
    return [_kind(model) for model in every if _label(model) not in LEFT_OUT]


def _label(model: type[models.Model]) -> str:
    return model._meta.label_lower


def _kind(model: type[models.Model]) -> Kind:
    out = FIELDS_LEFT_OUT.get(_label(model), {})
    fields = (one for one in model._meta.concrete_fields if one.name not in out)
    lists = (one for one in model._meta.many_to_many if one.name not in out)
    return Kind(model, tuple(fields), tuple(lists))


def lines(tell: Callable[[int], None] = lambda done: None) -> Iterator[bytes]:
    """Everything, as it stood at one moment; some lines together, each ended by a line feed.

    ``tell`` is told now and then how many lines are out.
    """
    with one_moment():
        rows = {one.name: one.model._base_manager.count() for one in kinds()}
        yield _lines([_head(rows)])
        yield _lines(_policy())
        written = 0
        for kind in kinds():
            for some in _rows(kind):
                written += len(some)
                yield _lines(some)
                tell(written)
        yield _lines([{"is": END, "rows": written}])


def _head(rows: dict[str, int]) -> dict[str, Any]:
    return {
        "is": HEAD,
        "format": FORMAT,
        "made_at": timezone.now().isoformat(timespec="seconds"),
        "hospital": settings.HOSPITAL_NAME,
        "time_zone": settings.TIME_ZONE,
        "described_in": "docs/json-lines.md",
        "rows": rows,
        "left_out": LEFT_OUT,
        "fields_left_out": FIELDS_LEFT_OUT,
    }


def _policy() -> Iterator[dict[str, Any]]:
    for parameter in default_policy(timezone.localdate()).parameters.values():
        yield {"is": POLICY, **asdict(parameter)}


def _rows(kind: Kind) -> Iterator[list[dict[str, Any]]]:
    """The rows by their keys, in parts; each with its lists of keys of others."""
    names = [field.attname for field in kind.fields]
    said = [field.name for field in kind.fields]
    lists = [(field.name, _keys(field)) for field in kind.lists]
    found = kind.model._base_manager.order_by("pk").values_list(*names).iterator(AT_ONCE)
    some = []
    for values in found:
        row = {"is": kind.name, **dict(zip(said, values, strict=True))}
        for name, keys_of in lists:
            row[name] = keys_of(row[kind.model._meta.pk.name])
        some.append(row)
        if len(some) == AT_ONCE:
            yield some
            some = []
    yield some


def _keys(field: models.ManyToManyField[Any, Any]) -> Callable[[Any], list[Any]]:
    """The keys of others of each row, which is asked for in the order of the rows; one query."""
    ours, others = f"{field.m2m_field_name()}_id", f"{field.m2m_reverse_field_name()}_id"
    through: Any = field.remote_field.through
    pairs = through._base_manager.order_by(ours, others)
    groups = groupby(pairs.values_list(ours, others).iterator(AT_ONCE), key=itemgetter(0))
    waiting = next(groups, None)

    def keys_of(row: Any) -> list[Any]:
        nonlocal waiting
        if waiting is None or waiting[0] != row:
            return []
        keys = [other for _, other in waiting[1]]
        waiting = next(groups, None)
        return keys

    return keys_of


def _lines(rows: Iterable[dict[str, Any]]) -> bytes:
    return b"".join(
        json.dumps(row, ensure_ascii=False, separators=(",", ":"), default=_plain).encode() + b"\n"
        for row in rows
    )


def _plain(value: Any) -> Any:
    """What JSON has no type for."""
    if isinstance(value, Decimal):
        return float(value)
    if isinstance(value, datetime | date):
        return value.isoformat()
    if isinstance(value, bytes | memoryview):
        return bytes(value).hex()
    if isinstance(value, frozenset | set):
        return sorted(value)
    raise TypeError(f"{type(value).__name__} has no place in a line: name how it is written")


@contextmanager
def one_moment() -> Iterator[None]:
    """What is read inside stands as it was at one moment, and nobody waits for it."""
    if connection.in_atomic_block:
        yield
    elif connection.vendor == "sqlite":
        with connection.cursor() as cursor:
            cursor.execute("BEGIN DEFERRED")  # Django's own would lock out all who write.
            try:
                yield
            finally:
                cursor.execute("ROLLBACK")
    else:
        with transaction.atomic(), connection.cursor() as cursor:
            cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
            yield
