"""``manage.py add_user``: one account, one role, a password worth the name."""

from __future__ import annotations

import io

import pytest
from django.contrib.auth.models import Group, User
from django.core.management import call_command
from django.core.management.base import CommandError

GOOD = "wet-packs-are-not-sterile"


def add(monkeypatch: pytest.MonkeyPatch, password: str = GOOD) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO(f"{password}\n"))
    call_command("add_user", "kim", "--role", "technician", stdout=io.StringIO())


def test_the_account_has_its_role(roles: None, monkeypatch: pytest.MonkeyPatch) -> None:
    add(monkeypatch)
    assert [group.name for group in User.objects.get(username="kim").groups.all()] == ["technician"]


def test_a_short_password_is_refused(roles: None, monkeypatch: pytest.MonkeyPatch) -> None:
    with pytest.raises(CommandError, match="too short"):
        add(monkeypatch, "kim")


def test_a_taken_name_is_refused(roles: None, monkeypatch: pytest.MonkeyPatch) -> None:
    add(monkeypatch)
    with pytest.raises(CommandError, match="already"):
        add(monkeypatch)


@pytest.mark.django_db
def test_without_roles_it_says_what_to_run(monkeypatch: pytest.MonkeyPatch) -> None:
    Group.objects.all().delete()
    with pytest.raises(CommandError, match="not set up yet"):
        add(monkeypatch)
