"""How a package stands with the sterilizer: in no load, in one, released, or held back.

Whatever leaves the department or goes on a shelf asks here first.
"""

from __future__ import annotations

from django.db.models import QuerySet

from assembly.builds import Refused
from assembly.facts_from_catalog import policy_in_force
from assembly.models import Load, LoadState, Package


def load_of(package: Package) -> Load | None:
    """The load a package is in, or was sterilized in; None where it is in none."""
    return Load.objects.filter(loaded__package=package, loaded__taken_out_at=None).first()


def packages_in(load: Load) -> QuerySet[Package]:
    """What is in a load, in the order in which it was put there."""
    return Package.objects.filter(loaded__load=load, loaded__taken_out_at=None).order_by(
        "loaded__pk"
    )


def asks_for_release() -> bool:
    """Whether the policy in force lets nothing go that was not released on record."""
    return policy_in_force().flag("release_on_record")


def standing_words(package: Package) -> str:
    """In a sentence how the package stands with the sterilizer."""
    load = load_of(package)
    if load is None:
        return "Packed, in no load yet: not sterile."
    if load.state == LoadState.RELEASED:
        return f"Released with load {load}."
    return f"In load {load}: {load.get_state_display().lower()}."


def check_released(package: Package) -> None:
    """Refused unless the package's load was released, with what to do.

    Where the policy does not ask for it nothing is checked: whoever puts the package away
    or sends it says that it was released.
    """
    if not asks_for_release():
        return
    load = load_of(package)
    if load is None:
        raise Refused(f"{package.code} is in no load: it was not sterilized. Put it into a load "
                      "first.")  # fmt: skip
    if load.state in (LoadState.GATHERING, LoadState.RUNNING):
        raise Refused(f"{package.code} is in load {load}, which is not released yet "
                      f"({load.get_state_display().lower()}).")  # fmt: skip
    if load.state != LoadState.RELEASED:
        raise Refused(f"{package.code} was in load {load}, which was "
                      f"{load.get_state_display().lower()}. Do not use it: void it and pack it "
                      "anew.")  # fmt: skip


def released() -> QuerySet[Package]:
    """Packages in force whose load was released."""
    return Package.objects.filter(
        void_at=None, loaded__taken_out_at=None, loaded__load__state=LoadState.RELEASED
    )


def waiting_for_a_load() -> QuerySet[Package]:
    """Packages in force that are in no load and nowhere else, oldest first."""
    loaded = Package.objects.filter(loaded__isnull=False, loaded__taken_out_at=None)
    return (
        Package.objects.filter(void_at=None, shelved=None)
        .exclude(pk__in=loaded.values("pk"))
        .order_by("packed_at", "pk")
    )
