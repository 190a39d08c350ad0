"""What stands white on black on a package's label: what it is, whose it is, what was accepted."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cached_property

from assembly.judging.facts_from_catalog import policy_in_force
from assembly.models import Loaner, Package
from assembly.packages.implants import implants_on_record, numbers_in
from assembly.rules.policy.values import Policy
from reports.documents.giving_way import IMPLANT, LOANER


class Marks:
    """Flags for many packages: the policy, and what is asked of the catalog, are asked once."""

    @cached_property
    def policy(self) -> Policy:
        """The policy in force, for all of them."""
        return policy_in_force()

    @cached_property
    def _implants(self) -> frozenset[str]:
        return implants_on_record()

    @cached_property
    def _lent(self) -> list[Loaner]:
        return list(Loaner.objects.exclude(instrument=None, instrument_set=None)
                    .select_related("instrument", "instrument_set"))  # fmt: skip

    def of(self, package: Package) -> Iterator[str]:
        """Implant and loaner as the records have them, then what was accepted and by whom."""
        numbers = numbers_in(package.contents)
        if numbers & self._implants:
            yield IMPLANT
        if any(_is_of(one, package, numbers) for one in self._lent):
            yield LOANER
        yield from package.accepted_marks


def _is_of(one: Loaner, package: Package, numbers: set[str]) -> bool:
    """Whether the package is, or has in it, what was lent when it was packed."""
    if one.came_at > package.packed_at or (one.ended_at and one.ended_at < package.packed_at):
        return False
    if one.instrument_set:
        return package.kind == Package.Kind.SET and package.number == one.instrument_set.code
    return bool(one.instrument and one.instrument.item_number in numbers)
