"""What is an implant, as far as the catalog says: its load waits for the biological indicator."""

from __future__ import annotations

from collections.abc import Iterable

from assembly.models import Load, LoadedPackage, Package
from catalog.models import Instrument


def implants_on_record() -> frozenset[str]:
    """The item numbers of every implant: one query."""
    found = Instrument.objects.filter(implant=True).values_list("item_number", flat=True)
    return frozenset(found)


def numbers_in(contents: Iterable[dict[str, object]]) -> set[str]:
    """The item numbers in a package, by its ``contents``."""
    return {str(one["item_number"]) for one in contents}


def implants_in(load: Load) -> list[str]:
    """The implants in a load, each with its package, in words; empty where none is on record."""
    implants = implants_on_record()
    if not implants:
        return []
    packages = Package.objects.filter(
        pk__in=LoadedPackage.objects.filter(load=load, taken_out_at=None).values("package")
    ).order_by("pk")
    return [
        f"{number} in {package.code}"
        for package in packages
        for number in sorted(implants & numbers_in(package.contents))
    ]


def loads_with_implants(states: Iterable[str]) -> set[int]:
    """The loads in these states that hold an implant, by number: two queries."""
    implants = implants_on_record()
    inside = LoadedPackage.objects.filter(load__state__in=list(states), taken_out_at=None)
    found = inside.values_list("load", "package__contents") if implants else ()
    return {load for load, contents in found if implants & numbers_in(contents)}
