"""What a new database becomes at once is what the steps before it made of an older one."""

from __future__ import annotations

import pytest
from django.db.migrations.autodetector import MigrationAutodetector
from django.db.migrations.loader import MigrationLoader

LOADER = MigrationLoader(None, replace_migrations=False)
OURS = ("assembly", "catalog", "reports")
AT_ONCE = {
    key: one.replaces[-1]
    for key, one in LOADER.disk_migrations.items()
    if key[0] in OURS and one.replaces
}
"""Each migration that makes all at once -> the last step that it replaces."""


def test_each_app_is_made_at_once() -> None:
    assert sorted(app for app, _ in AT_ONCE) == [*OURS]


@pytest.mark.parametrize(("at_once", "last"), AT_ONCE.items())
def test_both_ways_end_in_the_same_models(at_once: tuple[str, str], last: tuple[str, str]) -> None:
    before, after = LOADER.project_state(last), LOADER.project_state(at_once)
    changes = MigrationAutodetector(before, after).changes(LOADER.graph)
    assert changes.get(at_once[0], []) == []
