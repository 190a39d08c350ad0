"""Checks of before kinds of work were told apart keep what was seen, and get their result."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from pathlib import Path

import environ
import pytest
from django.apps.registry import Apps
from django.db import connection, connections
from django.db.migrations.executor import MigrationExecutor
from django.db.utils import ConnectionHandler
from django.utils import timezone
from pytest_django.plugin import DjangoDbBlocker

pytestmark = [pytest.mark.own_database, pytest.mark.unmeasured]

BEFORE, AFTER = [("reports", "0002_label_stocks")], [("reports", "0003_kinds_of_work_and_posters")]


def migrate(to: list[tuple[str, str]]) -> Apps:
    MigrationExecutor(connection).migrate(to)
    return MigrationExecutor(connection).loader.project_state(to).apps


@pytest.fixture
def own(tmp_path: Path, django_db_blocker: DjangoDbBlocker) -> Iterator[None]:
    """A database of its own with the tables of this app alone."""
    usual = connections["default"]
    with django_db_blocker.unblock():
        url = f"sqlite:///{tmp_path / 'database'}"
        connections["default"] = ConnectionHandler({"default": environ.Env.db_url_config(url)})[
            "default"
        ]
        try:
            yield
        finally:
            connections["default"].close()
            connections["default"] = usual


def test_what_was_seen_is_kept_there_and_back(own: None) -> None:
    old = migrate(BEFORE).get_model("reports", "SkillsCheck")
    for seen in (True, False):
        old.objects.create(
            skill="Skills check: packing in pouches", trainee="Ada", trainer="Bea",
            observed_on=date(2026, 3, 6), next_due=date(2027, 3, 6), recorded_by="Bea",
            recorded_at=timezone.now(),
            steps=[{"step": "one", "seen": True}, {"step": "two", "seen": seen}],
        )  # fmt: skip
    new = migrate(AFTER).get_model("reports", "SkillsCheck").objects.order_by("pk")
    assert [(one.kind, one.watched, one.result) for one in new] == [
        ("", None, "passed"), ("", None, "again"),
    ]  # fmt: skip
    assert [[step["said"] for step in one.steps] for one in new] == [
        ["seen", "seen"], ["seen", "not yet"],
    ]  # fmt: skip
    back = migrate(BEFORE).get_model("reports", "SkillsCheck").objects.order_by("pk")
    assert [[step["seen"] for step in one.steps] for one in back] == [[True, True], [True, False]]
