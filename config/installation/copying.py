"""Every row of one database into another of the same migrations, whatever kind each is."""

from __future__ import annotations

from itertools import islice

from django.apps import apps
from django.core.management.color import no_style
from django.db import connections, models

from catalog.chain.guards import let_through
from config.installation.databases import SESSIONS

OWN = {"assembly.Basis"}
"""What each database writes by itself (``config/watched.py``)."""
AT_ONCE = 500
"""Rows read and written together: some megabytes of the widest."""


def copy_all(source: str, target: str) -> None:
    """Empty the target, then fill it from the source, in one transaction that the caller began.

    Keys stay as they are. Who is signed in is left behind. The guards of the records let all
    through meanwhile: what comes is sealed already, or waits for it.
    """
    kept = [
        model
        for model in apps.get_models(include_auto_created=True)
        if model._meta.managed and not model._meta.proxy and model._meta.label not in OWN
    ]
    to = connections[target]
    with let_through(target), to.cursor() as cursor:
        tables = [model._meta.db_table for model in kept]
        for line in to.ops.sql_flush(no_style(), tables, allow_cascade=True):
            cursor.execute(line)
        for model in kept:
            if model._meta.db_table != SESSIONS:
                _copy(model, source, target)
        to.check_constraints()
        for line in to.ops.sequence_reset_sql(no_style(), kept):
            cursor.execute(line)


def _copy(model: type[models.Model], source: str, target: str) -> None:
    """As a fixture is loaded: no default, no "changed at" of today is put in."""
    fields = [field for field in model._meta.local_concrete_fields if not field.generated]
    rows = model._base_manager.using(source).order_by("pk").iterator(chunk_size=AT_ONCE)
    most = connections[target].ops.bulk_batch_size([field.name for field in fields], [None])
    while batch := list(islice(rows, min(AT_ONCE, most or AT_ONCE))):
        model._base_manager._insert(batch, fields=fields, using=target, raw=True)  # type: ignore[attr-defined]
