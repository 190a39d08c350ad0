"""What a race leaves is taken away by Django's ``flush``, which then makes anew what ``migrate``
has at its end: permissions, roles, guards. No race asks for them, and they take longer than most.
"""

from __future__ import annotations

import pytest
from django.core.management.commands import flush


@pytest.fixture(autouse=True)
def flushed_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(flush, "emit_post_migrate_signal", lambda *_, **__: None)
