"""The guards of the tables of entries: triggers, on SQLite and PostgreSQL.

They refuse to alter or delete an entry, and write each new one into the open tail. Where a row is
no entry as a whole (``MAY_CHANGE``), what is sealed of it is guarded from its seal on. A guard's
name ends with a digest of what it does. They are set after each ``migrate``: SQLite forgets the
triggers of a table that a migration makes anew.

**The narrow way** (:func:`let_through`) is a row of ``catalog_opening``, there for one
transaction. What is done there to sealed entries is written into the chain
(:mod:`catalog.chain.letting_go`), or it will be named by who verifies it."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from hashlib import sha256

from django.db import DEFAULT_DB_ALIAS, connections, models, transaction
from django.db.backends.base.base import BaseDatabaseWrapper

from catalog.chain.entries import columns_of, kept_models
from catalog.models import ChainForm, ChainSeal, ChainTail

NOT_ALTERED = "What is on record is not altered and not deleted"
TAIL = ChainTail._meta.db_table
SHUT = "NOT EXISTS (SELECT 1 FROM catalog_opening)"
NOW = "strftime('%Y-%m-%d %H:%M:%f', 'now')"
POSTGRESQL = f"""
CREATE OR REPLACE FUNCTION packbench_kept() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  IF {SHUT} THEN
    RAISE EXCEPTION '{NOT_ALTERED}: %', TG_TABLE_NAME USING ERRCODE = '23000';
  END IF;
  IF TG_OP = 'DELETE' THEN RETURN OLD; END IF;
  RETURN NEW;
END $$;
CREATE OR REPLACE FUNCTION packbench_kept_once_sealed() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  IF {SHUT} AND NOT EXISTS
     (SELECT 1 FROM {TAIL} WHERE kind = TG_TABLE_NAME AND "row" = OLD.id) THEN
    RAISE EXCEPTION '{NOT_ALTERED}: %', TG_TABLE_NAME USING ERRCODE = '23000';
  END IF;
  RETURN NEW;
END $$;
CREATE OR REPLACE FUNCTION packbench_noted() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  IF {SHUT} THEN
    INSERT INTO {TAIL} (kind, "row") SELECT TG_TABLE_NAME, id FROM added;
  END IF;
  RETURN NULL;
END $$;
"""


@contextmanager
def let_through(using: str = DEFAULT_DB_ALIAS) -> Iterator[None]:
    """The guards let all through, in this transaction alone. Nothing of it is noted."""
    with transaction.atomic(using=using), connections[using].cursor() as cursor:
        cursor.execute("INSERT INTO catalog_opening (why) VALUES ('open')")
        yield
        cursor.execute("DELETE FROM catalog_opening")


def set_guards(connection: BaseDatabaseWrapper) -> None:
    """Every table of entries has its guards. What lay there before them waits for its seal."""
    there = set(connection.introspection.table_names())
    if not {"catalog_opening", TAIL} <= there:
        return
    found, wanted = _found(connection), _wanted(connection.vendor)
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql" and wanted.keys() - found.keys():
            cursor.execute(POSTGRESQL)
        for name in found.keys() - wanted.keys():
            _drop(connection, name, found[name])
        tables = {table for name, (table, _) in wanted.items() if name not in found} & there
        tables = {table for table in tables if _is_of_today(connection, table)}
        new = {name: one for name, one in wanted.items()
               if one[0] in tables and name not in found}  # fmt: skip
        for name, (_, line) in new.items():
            cursor.execute(line.format(name=connection.ops.quote_name(name)))
        for table in kept_models().keys() & tables:
            _note_what_was_there(connection, table)


def lift_guards(connection: BaseDatabaseWrapper) -> None:
    """No table has guards: for a migration that takes away what they ask; ``migrate`` sets them
    again at its end."""
    for name, table in _found(connection).items():
        _drop(connection, name, table)


def without_guards(connection: BaseDatabaseWrapper) -> list[str]:
    """The tables of which a guard is missing, or is another."""
    found = _found(connection)
    return sorted({
        table for name, (table, _) in _wanted(connection.vendor).items() if name not in found
    })  # fmt: skip


def _wanted(vendor: str) -> dict[str, tuple[str, str]]:
    """Name -> table and statement, with ``{name}`` in it."""
    made = _on_sqlite if vendor == "sqlite" else _on_postgresql
    wanted = {}
    entries = kept_models()
    for table in [*entries, *(one._meta.db_table for one in (ChainSeal, ChainForm))]:
        for line in made(table, entries.get(table)):
            digest = sha256((line + POSTGRESQL).encode()).hexdigest()[:8]
            wanted[f"{table[:45]}_guard_{digest}"] = (table, line)
    return wanted


def _differ(model: type[models.Model], unlike: str) -> str:
    """SQL: something of the row that is sealed becomes another value."""
    own = {field.column for field in model._meta.local_concrete_fields}
    kept = [one for one in columns_of(model) if one in own]
    return " OR ".join(f'OLD."{one}" {unlike} NEW."{one}"' for one in ["id", *kept])


def _on_sqlite(table: str, model: type[models.Model] | None) -> Iterator[str]:
    refuse = f"BEGIN SELECT RAISE(ABORT, '{NOT_ALTERED}: {table}'); END"
    yield f'CREATE TRIGGER {{name}} BEFORE DELETE ON "{table}" WHEN {SHUT} {refuse}'
    altered = SHUT
    if model is not None and model.MAY_CHANGE:  # type: ignore[attr-defined]
        tail = f"SELECT 1 FROM {TAIL} WHERE kind = '{table}' AND \"row\" = OLD.id"
        altered += f" AND ({_differ(model, 'IS NOT')}) AND NOT EXISTS ({tail})"
    yield f'CREATE TRIGGER {{name}} BEFORE UPDATE ON "{table}" WHEN {altered} {refuse}'
    if model is not None:
        note = f"INSERT INTO {TAIL} (kind, \"row\", at) VALUES ('{table}', NEW.id, {NOW})"
        yield f'CREATE TRIGGER {{name}} AFTER INSERT ON "{table}" WHEN {SHUT} BEGIN {note}; END'


def _on_postgresql(table: str, model: type[models.Model] | None) -> Iterator[str]:
    each, kept = f'ON "{table}" FOR EACH ROW', "EXECUTE FUNCTION packbench_kept()"
    yield f'CREATE TRIGGER {{name}} BEFORE TRUNCATE ON "{table}" {kept}'
    yield f"CREATE TRIGGER {{name}} BEFORE DELETE {each} {kept}"
    if model is not None and model.MAY_CHANGE:  # type: ignore[attr-defined]
        when = f"WHEN ({_differ(model, 'IS DISTINCT FROM')})"
        kept = f"{when} EXECUTE FUNCTION packbench_kept_once_sealed()"
    yield f"CREATE TRIGGER {{name}} BEFORE UPDATE {each} {kept}"
    if model is not None:
        yield (
            f'CREATE TRIGGER {{name}} AFTER INSERT ON "{table}" REFERENCING NEW TABLE AS added '
            "FOR EACH STATEMENT EXECUTE FUNCTION packbench_noted()"
        )


def _found(connection: BaseDatabaseWrapper) -> dict[str, str]:
    """The guards that are there, and their tables."""
    asked = {
        "sqlite": "SELECT name, tbl_name FROM sqlite_master WHERE type = 'trigger'",
        "postgresql": "SELECT tgname, relname FROM pg_trigger JOIN pg_class ON tgrelid = "
        "pg_class.oid WHERE NOT tgisinternal AND tgenabled <> 'D'",
    }
    with connection.cursor() as cursor:
        cursor.execute(asked[connection.vendor])
        return {name: table for name, table in cursor.fetchall() if "_guard_" in name}


def _drop(connection: BaseDatabaseWrapper, name: str, table: str) -> None:
    quoted = connection.ops.quote_name(name)
    on = f" ON {connection.ops.quote_name(table)}" if connection.vendor == "postgresql" else ""
    with connection.cursor() as cursor:
        cursor.execute(f"DROP TRIGGER IF EXISTS {quoted}{on}")


def _is_of_today(connection: BaseDatabaseWrapper, table: str) -> bool:
    """Whether it has every column: not where a database was migrated half-way."""
    model = kept_models().get(table)
    with connection.cursor() as cursor:
        found = connection.introspection.get_table_description(cursor, table)
    own = {field.column for field in model._meta.local_concrete_fields} if model else set()
    return own <= {one.name for one in found}


def _note_what_was_there(connection: BaseDatabaseWrapper, table: str) -> None:
    """Rows of before the table's first guard: none of it was ever sealed, none waits."""
    with connection.cursor() as cursor:
        cursor.execute(
            f'INSERT INTO {TAIL} (kind, "row") SELECT %s, id FROM "{table}" '
            f"WHERE NOT EXISTS (SELECT 1 FROM {TAIL} WHERE kind = %s) AND NOT EXISTS "
            f'(SELECT 1 FROM {ChainForm._meta.db_table} WHERE "table" = %s) ORDER BY id',
            [table] * 3,
        )
