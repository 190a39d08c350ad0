"""A database as it was before some migration, and what that migration makes of its rows."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

import environ
from django.apps.registry import Apps
from django.db import connection, connections
from django.db.migrations.executor import MigrationExecutor
from django.db.migrations.loader import MigrationLoader
from django.db.utils import ConnectionHandler
from pytest_django.plugin import DjangoDbBlocker


@contextmanager
def own_database(url: str, blocker: DjangoDbBlocker) -> Iterator[None]:
    """The database of this address instead of the tests' own."""
    usual = connections["default"]
    with blocker.unblock():
        made = ConnectionHandler({"default": environ.Env.db_url_config(url)})
        connections["default"] = made["default"]
        try:
            yield
        finally:
            connections["default"].close()
            connections["default"] = usual


class Steps(MigrationExecutor):
    """Each step by itself, also where a file has several at once."""

    def __init__(self) -> None:
        super().__init__(connection)
        self.loader = MigrationLoader(connection, replace_migrations=False)


def as_it_was(app: str, migration: str) -> Apps:
    """An empty database with the tables that this migration left, written at once: each of those
    before it alters what none of them filled. The models of then."""
    executor = Steps()
    graph, recorder = executor.loader.graph, executor.recorder
    then = executor.loader.project_state([(app, migration)]).apps
    with connection.schema_editor() as editor:
        for model in then.get_models():
            editor.create_model(model)
    recorder.ensure_schema()
    for one in graph.forwards_plan((app, migration)):
        recorder.record_applied(*one)
    return then


def migrated_to(app: str, migration: str) -> Apps:
    """There or back; the models of then."""
    return Steps().migrate([(app, migration)]).apps
