"""How a package stands with the sterilizer: in no load, in one, released, or held back.

Whatever leaves the department or goes on a shelf asks here first.
"""

from __future__ import annotations

from dataclasses import dataclass

from django.db.models import QuerySet
from django.utils import timezone

from assembly.judging.facts_from_catalog import policy_in_force
from assembly.ledger import Refused
from assembly.models import Load, LoadState, Package, ShelfState

GONE_BAD = (ShelfState.DAMAGED, ShelfState.RECALLED)


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


@dataclass(frozen=True, slots=True)
class Condition:
    """How a package stands, as every page shows it: in a word, and whether it may be used.

    ``status`` is a finding's word; ``why`` a sentence where it is not to be used.
    """

    status: str
    word: str
    why: str = ""

    @property
    def usable(self) -> bool:
        return not self.why


def condition_of(package: Package) -> Condition:
    """Void, gone bad, past its date or held back before anything good is said of it.

    Reads ``shelved`` and ``loaded__load``: a list prefetches them.
    """
    if package.is_void:
        return Condition("not met", "void", package.void_reason)
    shelved = getattr(package, "shelved", None)
    if shelved and shelved.state in GONE_BAD:
        return Condition("not met", shelved.get_state_display().lower(), "See what happened below.")
    load = next((one.load for one in package.loaded.all() if one.taken_out_at is None), None)
    if load and load.state in (LoadState.NOT_RELEASED, LoadState.RECALLED):
        word = load.get_state_display().lower()
        return Condition("not met", word, f"Load {load} was {word}.")
    if package.use_by and package.use_by < timezone.localdate():
        return Condition("not met", "past its date", f"To be used by {package.use_by:%Y-%m-%d}.")
    if shelved and shelved.state in (ShelfState.OPENED, ShelfState.HANDED_OVER):
        return Condition("does not apply", shelved.get_state_display().lower())
    if package.shortages:
        return Condition("cannot tell", "with shortages")
    if package.override_by:
        return Condition("cannot tell", "rules overridden")
    if load and load.state == LoadState.RELEASED:
        return Condition("met", "released")
    return Condition("does not apply", "in a load" if load else "packed")


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
