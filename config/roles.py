"""The three roles of ``roles.toml``: who may do what. A test holds every page against them."""

from __future__ import annotations

from pathlib import Path

from django.contrib.auth.models import Group, Permission

from catalog.data_files import read_lists

_LISTS = read_lists(Path(__file__).with_name("roles.toml"))["roles"]
_EVERYBODY = _LISTS.pop("everybody")
ROLES = {role: (*_EVERYBODY, *own) for role, own in _LISTS.items()}


def set_up_roles() -> None:
    """Make the three groups and give each exactly its permissions."""
    for role, names in ROLES.items():
        group, _ = Group.objects.get_or_create(name=role)
        group.permissions.set([_permission(name) for name in names])


def _permission(name: str) -> Permission:
    app, codename = name.split(".")
    return Permission.objects.get(content_type__app_label=app, codename=codename)
