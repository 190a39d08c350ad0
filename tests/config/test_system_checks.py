"""Commands that only read do not wait for the system checks, which load every page."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any
from unittest.mock import patch

import pytest
from django.core.management import get_commands, load_command_class
from django.core.management.base import BaseCommand

OURS = ("config", "reports", "assembly", "catalog")
WRITES = {"account", "add_user", "demo", "flush", "import_spreadsheet", "let_go", "policy"}
"""What changes the database is checked first; the others read, or are begun by the program."""


def test_only_what_writes_is_checked_first() -> None:
    commands = {name: load_command_class(app, name) for name, app in get_commands().items()
                if app in OURS}  # fmt: skip
    checked = {name for name, one in commands.items() if one.requires_system_checks}
    assert checked <= WRITES and {"recommend", "print_label", "export_lines"} <= set(commands)


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("argv", "checked"),
    [(["policy"], False), (["policy", "--set", "no=1"], True),
     (["import_spreadsheet", "--columns"], False)],
)  # fmt: skip
def test_what_may_write_is_checked_only_then(argv: list[str], checked: bool) -> None:
    app = get_commands()[argv[0]]
    command = load_command_class(app, argv[0])
    run: Callable[..., Any] = BaseCommand.run_from_argv
    with patch.object(BaseCommand, "check") as check, pytest.MonkeyPatch.context() as patched:
        patched.setattr("sys.exit", lambda *_: None)
        run(command, ["manage.py", *argv])
    assert check.called is checked
