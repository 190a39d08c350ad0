"""What settings a department starts with, whatever the machine's environment says beside."""

from __future__ import annotations

import json
import os
import runpy
import subprocess
import sys
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


SERVED = """
import logging.config, runpy
from gunicorn.config import Config
from gunicorn.glogging import Logger
log = Logger(Config())
logging.config.dictConfig(runpy.run_module("config.settings.production")["LOGGING"])
try:
    raise ValueError("Ida Crow")
except ValueError:
    log.exception("Error handling request %s", "/find/?q=Ida+Crow")
"""
"""What the server logs of a file that fails while it is sent, as its worker has set up its log."""


def test_what_the_server_itself_logs_is_a_line_without_names() -> None:
    done = subprocess.run([sys.executable, "-c", SERVED], env={**os.environ, **GIVEN},
                          capture_output=True, text=True, check=True)  # fmt: skip
    assert json.loads(done.stderr)["error"] == "ValueError" and "Ida" not in done.stderr
