"""What fails beside the web server is a line of its log, without what the error said."""

from __future__ import annotations

import json
import logging
import uuid

import pytest
from django.core.management import load_command_class

from catalog import runs
from catalog.management.beside import Beside
from config.logs import JsonLines

STARTED = [("catalog", "ask_again"), ("catalog", "run_spreadsheet_job"),
           ("catalog", "write_spreadsheet_download"), ("reports", "print_run")]  # fmt: skip


@pytest.mark.parametrize(("app", "name"), STARTED)
def test_what_the_program_starts_itself_is_such_a_command(app: str, name: str) -> None:
    assert isinstance(load_command_class(app, name), Beside)


@pytest.mark.own_database
def test_its_error_is_one_line_without_its_words(
    monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture,
    capfd: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    def broken(*_: object) -> None:
        raise ValueError("Ida Crow")

    monkeypatch.setattr(runs, "work", broken)
    command = load_command_class("catalog", "ask_again")
    with caplog.at_level(logging.ERROR), pytest.raises(SystemExit, match="1"):
        command.run_from_argv(["manage.py", "ask_again", str(uuid.uuid4()), "--progress-fd", "0"])
    line = JsonLines().format(caplog.records[0])
    assert (json.loads(line)["logger"], json.loads(line)["error"]) == (
        "packbench.beside", "ValueError"
    )  # fmt: skip
    assert "Ida" not in line + "".join(capfd.readouterr())
