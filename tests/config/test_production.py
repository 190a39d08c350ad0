"""What settings a department starts with, whatever the machine's environment says beside."""

from __future__ import annotations

import runpy
from typing import Any

import pytest

GIVEN = {"SECRET_KEY": "k" * 50, "ALLOWED_HOSTS": "a.example", "DATABASE_URL": "sqlite:////tmp/p"}


@pytest.mark.parametrize("asked", [False, True])
def test_other_services_of_the_name_are_bound_to_https_only_when_asked_for(
    monkeypatch: pytest.MonkeyPatch, asked: bool
) -> None:
    names = ["SECURE_HSTS_PRELOAD", "SECURE_HSTS_INCLUDE_SUBDOMAINS"]
    for name, value in {**GIVEN, **dict.fromkeys(names if asked else [], "1")}.items():
        monkeypatch.setenv(name, value)
    settings: dict[str, Any] = runpy.run_module("config.settings.production")
    assert [settings[name] for name in names] == [asked, asked]
    assert settings["SECURE_HSTS_SECONDS"] > 0
