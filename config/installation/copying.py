"""Every row of one database into another of the same migrations, whatever kind each is."""

from __future__ import annotations

from itertools import islice

from django.apps import apps
from django.core.management.color import no_style
from django.db import connections, models
from django.db.backends.base.base import BaseDatabaseWrapper

from config.installation.databases import SESSIONS

AT_ONCE = 500
"""Rows read and written together: some megabytes of the widest."""


def copy_all(source: str, target: str) -> None:
    """Empty the target, then fill it from the source, in one transaction that the caller began.

    Keys stay as they are. Who is signed in is left behind. Triggers are off meanwhile: they guard
    the records that are replaced here.
    """
    kept = [
        model
        for model in apps.get_models(include_auto_created=True)
        if model._meta.managed and not model._meta.proxy
    ]
    to = connections[target]
    _empty(to, [model._meta.db_table for model in kept])
    for model in kept:
        if model._meta.db_table != SESSIONS:
            _copy(model, source, target)
    to.check_constraints()
    with to.cursor() as cursor:
        for line in to.ops.sequence_reset_sql(no_style(), kept):
            cursor.execute(line)
        _triggers(to, "ENABLE", [model._meta.db_table for model in kept])


def _empty(connection: BaseDatabaseWrapper, tables: list[str]) -> None:
    _triggers(connection, "DISABLE", tables)
    with connection.cursor() as cursor:
        for line in connection.ops.sql_flush(no_style(), tables, allow_cascade=True):
            cursor.execute(line)


def _triggers(connection: BaseDatabaseWrapper, word: str, tables: list[str]) -> None:
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            for table in tables:
                name = connection.ops.quote_name(table)
                cursor.execute(f"ALTER TABLE {name} {word} TRIGGER USER")


def _copy(model: type[models.Model], source: str, target: str) -> None:
    """As a fixture is loaded: no default, no "changed at" of today is put in."""
    fields = [field for field in model._meta.local_concrete_fields if not field.generated]
    rows = model._base_manager.using(source).order_by("pk").iterator(chunk_size=AT_ONCE)
    most = connections[target].ops.bulk_batch_size([field.name for field in fields], [None])
    while batch := list(islice(rows, min(AT_ONCE, most or AT_ONCE))):
        model._base_manager._insert(batch, fields=fields, using=target, raw=True)  # type: ignore[attr-defined]
