"""The three roles as a table: who may do what. A test holds every page against it."""

from __future__ import annotations

from django.contrib.auth.models import Group, Permission

SEE_CATALOG = (
    "catalog.view_instrument",
    "catalog.view_instrumentset",
    "catalog.view_countsheet",
    "catalog.view_pouch",
    "assembly.view_policyoverride",
    "assembly.view_build",
    "assembly.view_package",
    "assembly.view_request",
    "assembly.ask_request",
    "assembly.view_load",
)
WORK_REQUESTS = ("assembly.work_request", "assembly.keep_shelf")
RUN_LOADS = ("assembly.run_load", "assembly.release_load")

ROLES: dict[str, tuple[str, ...]] = {
    "technician": (
        *SEE_CATALOG,
        "catalog.print_label",
        "catalog.print_count_sheet",
        "reports.view_skillscheck",
        "assembly.assemble",
        *WORK_REQUESTS,
        *RUN_LOADS,
    ),
    "OR liaison": SEE_CATALOG,
    "coordinator": (
        *SEE_CATALOG,
        "catalog.print_label",
        "catalog.print_count_sheet",
        "catalog.import_spreadsheets",
        "catalog.add_instrument",
        "catalog.change_instrument",
        "catalog.add_instrumentset",
        "catalog.change_instrumentset",
        "catalog.add_countsheet",
        "catalog.change_countsheet",
        "catalog.approve_count_sheet",
        "catalog.add_pouch",
        "catalog.change_pouch",
        "catalog.view_change",
        "assembly.override_policy",
        "reports.view_skillscheck",
        "reports.add_skillscheck",
        "assembly.assemble",
        "assembly.override_decision",
        *WORK_REQUESTS,
        *RUN_LOADS,
        "assembly.set_stock_level",
    ),
}


def set_up_roles() -> None:
    """Make the three groups and give each exactly its permissions."""
    for role, names in ROLES.items():
        group, _ = Group.objects.get_or_create(name=role)
        group.permissions.set([_permission(name) for name in names])


def _permission(name: str) -> Permission:
    app, codename = name.split(".")
    return Permission.objects.get(content_type__app_label=app, codename=codename)
