"""Fixtures that several folders of tests share."""

from __future__ import annotations

import pytest
from django.contrib.auth.models import Group, User
from django.test import Client

from config.roles import set_up_roles


@pytest.fixture
def roles(db: None) -> None:
    set_up_roles()


def user_in(role: str) -> User:
    """A user with exactly this role."""
    user = User.objects.create_user(f"a-{role.replace(' ', '-')}", password="for-the-tests")
    user.groups.add(Group.objects.get(name=role))
    return user


@pytest.fixture
def technician(roles: None, client: Client) -> Client:
    """A browser signed in as a technician."""
    client.force_login(user_in("technician"))
    return client


@pytest.fixture
def coordinator(roles: None, client: Client) -> Client:
    """A browser signed in as a coordinator."""
    client.force_login(user_in("coordinator"))
    return client
