"""The three roles of ``roles.toml``: who may do what. A test holds every page against them."""

from __future__ import annotations

from pathlib import Path

from django.contrib.auth.models import Group, Permission

from catalog.data_files import read_data


def _roles(path: Path) -> dict[str, tuple[str, ...]]:
    """Each role with what it may; KeyError where the file lacks a part of it."""
    data = read_data(path)
    return {role: (*data["everybody"], *own) for role, own in data["roles"].items()}


ROLES = _roles(Path(__file__).with_name("roles.toml"))


def set_up_roles() -> None:
    """Make the three groups and give each exactly its permissions."""
    for role, names in ROLES.items():
        group, _ = Group.objects.get_or_create(name=role)
        group.permissions.set([_permission(name) for name in names])


def _permission(name: str) -> Permission:
    app, codename = name.split(".")
    return Permission.objects.get(content_type__app_label=app, codename=codename)
