"""Wet packages of a load: named one by one with a cause, so that the others can go."""

from __future__ import annotations

from assembly.ledger import Refused, begin, verb, write
from assembly.models import Load, LoadedPackage, LoadState, Package, ShelfState, WetCause
from assembly.packages.promises import lock_with_requests
from assembly.packages.shelf import leave
from assembly.persons import RELEASE_LOAD, Person

AFTER_THE_CYCLE = (LoadState.RUNNING, LoadState.RELEASED)


@verb(RELEASE_LOAD)
def name_wet(person: Person, pk: int, package: Package, cause: str, key: str) -> Load:
    """One package of a load that was run is wet: it is not to be used, whatever becomes of the
    others, and its requests learn it.

    Refused for a package that is not in the load, is void or named already, and without a cause.
    """
    [package] = lock_with_requests(Package.objects.filter(pk=package.pk))
    load, before = begin(Load, pk, key, AFTER_THE_CYCLE)
    if before:
        return load
    inside = load.loaded.filter(package=package, taken_out_at=None).first()
    if inside is None:
        raise Refused(f"{package.code} is not in load {load}. Nothing was changed.")
    if inside.wet_because:
        raise Refused(f"{package.code} is named already: {inside.get_wet_because_display()}.")
    if cause not in WetCause.values:
        raise Refused("Choose why it is wet; “not found yet” where nobody knows.")
    words = WetCause(cause).label.lower()
    leave(person, package, key, ShelfState.DAMAGED, reason=f"wet in load {load}: {words}")
    inside.wet_because = cause
    inside.save(update_fields=["wet_because"])
    return write(load, person, key, words=f"{package.code} wet", reason=words).load


def wet_in(load: Load) -> list[LoadedPackage]:
    """What was named wet in the load, in the order in which it was put there."""
    return list(load.loaded.exclude(wet_because="").select_related("package"))
