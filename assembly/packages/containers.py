"""Which container a package goes into: by its number, where its kind has numbers on record.

What nobody has recorded of one stops nothing; a fault, a worn gasket and a filter beyond its date
do, wherever a container is named.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from django.db.models import QuerySet
from django.utils import timezone

from assembly.judging.taking import supplies_in
from assembly.ledger import Refused, inside, lock
from assembly.models import OwnContainer, Package
from assembly.packages.standing import is_closed, standing_of, with_standing
from assembly.rules.days import day_words
from assembly.rules.policy.values import Policy
from catalog import vocabulary

Gasket = OwnContainer.Gasket
LONGEST_NUMBER, LONGEST_SUPPLY = 20, 114
CONTAINER, ASKED = str(vocabulary.Kind.CONTAINER), "container_number_asked"
NOT_HERE = "“{text}” is no container on record. Scan or type the number on it."
ONE_BY_ONE = ("Each goes into a container of its own: pack one after the other, each with the "
              "number on its container.")  # fmt: skip


def hindrance(one: OwnContainer, today: date) -> str:
    """Why nothing is packed in it, as a sentence; "" where nothing on record speaks against it."""
    if one.out_of_use:
        return f"{one.number} is out of use."
    if one.fault:
        return f"{one.number} has a fault: {one.fault}."
    if one.gasket == Gasket.WORN:
        return f"The gasket of {one.number} is worn."
    if one.filter_until and one.filter_until < today:
        return f"The filter of {one.number} was to be changed by {day_words(one.filter_until)}."
    return ""


def around(containers: Iterable[OwnContainer]) -> dict[int, Package]:
    """The closed package that each is around here, by the container's number of its row."""
    packages = Package.objects.filter(own_container__in=containers, void_at=None)
    packages = with_standing(packages.order_by("packed_at"))
    closed = [one for one in packages if is_closed(standing_of(one))]
    return {one.own_container_id: one for one in closed if one.own_container_id}


def to_be_packed(option_key: str) -> list[OwnContainer] | None:
    """The containers that something may go into now, for what it is packed in; None where that is
    no container, or none of its kind has its number on record."""
    code = _kind_of(option_key)
    every = list(OwnContainer.objects.filter(kind__code=code, out_of_use=False)) if code else []
    if not every:
        return None
    busy, today = around(every), timezone.localdate()
    return [one for one in every if one.pk not in busy and not hindrance(one, today)]


def _kind_of(option_key: str) -> str:
    """The code of the container that an option names; "" where it is none."""
    kind, codes = supplies_in(option_key)
    return codes[0] if kind == CONTAINER else ""


@inside
def lock_container(number: str) -> list[OwnContainer]:
    """The container with this number, locked; none where there is none, or nobody named one."""
    return lock(_numbered(number)) if number.strip() else []


@inside
def for_packing(
    option_key: str, number: str, policy: Policy, copies: int = 1
) -> OwnContainer | None:
    """The container with this number for what is packed so, locked; None where it goes into none,
    or where nobody named one and the policy lets that be.

    Refused for several ``copies`` in one, and where it is none on record, of another kind, not to
    be packed, or around a closed package that is still here.
    """
    code = _kind_of(option_key)
    if not code:
        return None
    in_use = OwnContainer.objects.filter(kind__code=code, out_of_use=False)
    wanted = bool(number.strip()) or (policy.flag(ASKED) and in_use.exists())
    if wanted and copies > 1:
        raise Refused(ONE_BY_ONE)
    if wanted and not number.strip():
        raise Refused("Scan the number on the container, or type it: the policy lets nothing go "
                      "without.")  # fmt: skip
    return _to_take(number, code, lock_container(number)) if wanted else None


def looked_at(option_key: str, number: str) -> OwnContainer | None:
    """The same for a page, before anything is pressed: nothing is locked, and none is asked for."""
    code = _kind_of(option_key)
    return _to_take(number, code, _numbered(number)) if code and number.strip() else None


def supply_words(name: str, one: OwnContainer | None) -> str:
    """What something is packed in, with the number on its container where that is known."""
    return f"{name[: LONGEST_SUPPLY - LONGEST_NUMBER]}, no. {one.number}" if one else name


def _numbered(number: str) -> QuerySet[OwnContainer]:
    return OwnContainer.objects.filter(number__folded=number.strip())


def _to_take(number: str, kind_code: str, found: Iterable[OwnContainer]) -> OwnContainer:
    """The one found by its number, for what goes into this kind; Refused where it may not."""
    one = next(iter(found), None)
    if one is None:
        raise Refused(NOT_HERE.format(text=number.strip()))
    if one.kind.code != kind_code:
        raise Refused(f"{one.number} is a {one.kind.code}, and this goes into {kind_code}. Take "
                      f"another container, or choose {one.kind.code}.")  # fmt: skip
    if problem := hindrance(one, timezone.localdate()):
        raise Refused(f"{problem} Take another container.")
    if package := around([one]).get(one.pk):
        raise Refused(f"{one.number} is around {package.code}, {package.what}. Read its number "
                      "again, or open that one first.")  # fmt: skip
    return one
