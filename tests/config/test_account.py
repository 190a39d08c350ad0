"""``manage.py account``: a leaver is out at once, and a password can be changed."""

from __future__ import annotations

import io

import pytest
from django.contrib.auth import authenticate
from django.contrib.auth.models import User
from django.core.management import call_command
from django.core.management.base import CommandError
from django.test import Client

NEW = "dry-packs-are-what-we-want"


@pytest.fixture
def name(technician: Client) -> str:
    return User.objects.get().username


def account(*words: str) -> None:
    call_command("account", *words, stdout=io.StringIO())


def test_a_leaver_is_out_at_once_and_in_again_when_back(technician: Client, name: str) -> None:
    account(name, "--off")
    assert technician.get("/requests/").status_code == 302
    account(name, "--on")
    assert User.objects.get().is_active


def test_a_new_password_ends_what_was_signed_in(
    technician: Client, name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO(f"{NEW}\n"))
    account(name, "--password")
    assert authenticate(username=name, password=NEW)
    assert technician.get("/requests/").status_code == 302


def test_a_weak_password_changes_nothing(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    before = User.objects.get().password
    monkeypatch.setattr("sys.stdin", io.StringIO("short\n"))
    with pytest.raises(CommandError, match="too short"):
        account(name, "--password")
    assert User.objects.get().password == before


@pytest.mark.django_db
def test_an_unknown_account_is_said() -> None:
    with pytest.raises(CommandError, match="no account nobody"):
        account("nobody", "--off")
