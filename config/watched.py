"""What decisions start from is watched by the database: any change of it gives another word.

A process keeps what it read of supplies, cycles, protectors and policy values for as long as the
word stands (``facts_from_catalog.Department``). The word is a random one, written in the
transaction of the change: what is rolled back takes its word along, and none comes twice.
Triggers are made after each ``migrate``, because a table that is altered on SQLite loses its own.
"""

from __future__ import annotations

from itertools import product

from django.apps import apps
from django.db.backends.base.base import BaseDatabaseWrapper

WATCHED = (
    "catalog.Pouch", "catalog.Pouch_doubles_in", "catalog.Roll", "catalog.Wrap",
    "catalog.Container", "catalog.Container_programmes", "catalog.Protector",
    "catalog.Programme", "catalog.LumenClaim", "assembly.PolicyOverride",
)  # fmt: skip
EVENTS = ("insert", "update", "delete")

RANDOM = {"sqlite": "lower(hex(randomblob(16)))", "postgresql": "gen_random_uuid()::text"}
# Two statements, no upsert: in SQLite the trigger of an INSERT OR IGNORE ignores as well.
ANOTHER = """
    UPDATE {basis} SET word = {random};
    INSERT INTO {basis} (id, word) SELECT 1, {random} WHERE NOT EXISTS (SELECT 1 FROM {basis});
"""
FUNCTION = """
CREATE OR REPLACE FUNCTION packbench_basis_changed() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN {another} RETURN NULL; END $$
"""


def tables() -> list[str]:
    """The tables that are watched."""
    return [apps.get_model(name)._meta.db_table for name in WATCHED]


def watch(connection: BaseDatabaseWrapper) -> None:
    """Every table that is watched has its triggers, and the word is another one."""
    basis = apps.get_model("assembly.Basis")._meta.db_table
    there = set(connection.introspection.table_names())
    if not there.issuperset([basis, *tables()]):
        return
    another = ANOTHER.format(basis=basis, random=RANDOM[connection.vendor])
    with connection.cursor() as cursor:
        for statement in _statements(connection.vendor, another):
            cursor.execute(statement)
        for statement in another.strip().split(";")[:-1]:
            cursor.execute(statement)


def _statements(vendor: str, another: str) -> list[str]:
    if vendor == "sqlite":
        made = []
        for table, event in product(tables(), EVENTS):
            name = f"{table}_basis_{event}"
            made.append(f"DROP TRIGGER IF EXISTS {name}")
            made.append(f"CREATE TRIGGER {name} AFTER {event} ON {table} BEGIN {another} END")
        return made
    made = [FUNCTION.format(another=another)]
    for table in tables():
        made.append(f"DROP TRIGGER IF EXISTS {table}_basis ON {table}")
        made.append(
            f"CREATE TRIGGER {table}_basis AFTER INSERT OR UPDATE OR DELETE OR TRUNCATE "
            f"ON {table} FOR EACH STATEMENT EXECUTE FUNCTION packbench_basis_changed()"
        )
    return made
