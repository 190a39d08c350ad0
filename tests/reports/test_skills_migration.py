"""Checks of before kinds of work were told apart keep what was seen, and get their result."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest
from django.utils import timezone
from pytest_django.plugin import DjangoDbBlocker

from tests.migrating import as_it_was, migrated_to, own_database

pytestmark = [pytest.mark.own_database, pytest.mark.unmeasured]

BEFORE, AFTER = ("reports", "0002_label_stocks"), ("reports", "0003_kinds_of_work_and_posters")


@pytest.fixture
def own(tmp_path: Path, django_db_blocker: DjangoDbBlocker) -> Iterator[None]:
    """A database of its own with the tables of this app alone."""
    with own_database(f"sqlite:///{tmp_path / 'database'}", django_db_blocker):
        yield


def test_what_was_seen_is_kept_there_and_back(own: None) -> None:
    old = as_it_was(*BEFORE).get_model("reports", "SkillsCheck")
    for seen in (True, False):
        old.objects.create(
            skill="Skills check: packing in pouches", trainee="Ada", trainer="Bea",
            observed_on=date(2026, 3, 6), next_due=date(2027, 3, 6), recorded_by="Bea",
            recorded_at=timezone.now(),
            steps=[{"step": "one", "seen": True}, {"step": "two", "seen": seen}],
        )  # fmt: skip
    new = migrated_to(*AFTER).get_model("reports", "SkillsCheck").objects.order_by("pk")
    assert [(one.kind, one.watched, one.result) for one in new] == [
        ("", None, "passed"), ("", None, "again"),
    ]  # fmt: skip
    assert [[step["said"] for step in one.steps] for one in new] == [
        ["seen", "seen"], ["seen", "not yet"],
    ]  # fmt: skip
    back = migrated_to(*BEFORE).get_model("reports", "SkillsCheck").objects.order_by("pk")
    assert [[step["seen"] for step in one.steps] for one in back] == [[True, True], [True, False]]
