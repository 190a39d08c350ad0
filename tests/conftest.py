"""Fixtures that several folders of tests share."""

from __future__ import annotations

import os

import hypothesis
import pytest
from django.contrib.auth.models import Group, User
from django.test import Client

from config.roles import set_up_roles

# In CI the same examples each time, so that a change fails for what it changed; elsewhere
# new ones at every run.
hypothesis.settings.register_profile("ci", derandomize=True, deadline=None)
hypothesis.settings.register_profile("search", deadline=None)
hypothesis.settings.load_profile("ci" if os.environ.get("CI") else "search")


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
