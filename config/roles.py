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
    known = _permissions()
    for role, names in ROLES.items():
        group, _ = Group.objects.get_or_create(name=role)
        group.permissions.set([known[name] for name in names])


def roles_can_be_set_up() -> bool:
    """Whether all permissions are there: not where a database was migrated half-way."""
    return {name for names in ROLES.values() for name in names} <= _permissions().keys()


def roles_that_differ() -> list[str]:
    """The roles that are not there, or have other permissions than they should."""
    held = {
        group.name: {_name(one) for one in group.permissions.all()}
        for group in Group.objects.prefetch_related("permissions__content_type")
    }
    return [role for role, names in ROLES.items() if held.get(role) != set(names)]


def _permissions() -> dict[str, Permission]:
    rows = Permission.objects.select_related("content_type")
    return {_name(one): one for one in rows}


def _name(permission: Permission) -> str:
    return f"{permission.content_type.app_label}.{permission.codename}"
