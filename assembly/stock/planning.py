"""What to stock: the sizes of pouches and widths of rolls that a year asks for, least material."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import timedelta
from hashlib import sha256

from django.core.cache import caches
from django.db import connection
from django.db.models import Count, Max, Min
from django.utils import timezone

from assembly.judging.facts_from_catalog import (
    Department,
    department,
    every_pouch_and_roll,
    instrument_facts,
)
from assembly.judging.taking import supplies_in
from assembly.ledger import Refused
from assembly.models import Package
from assembly.rules.deciding.protection import protected
from assembly.rules.facts.checks import FactsError
from assembly.rules.facts.supplies import Pouch, Roll
from assembly.rules.limits.several import together
from assembly.rules.policy.values import Policy
from assembly.rules.stock.stock_plan import Plan, plans, told
from assembly.rules.stock.stock_sizes import (
    Sizes,
    Wanted,
    for_rolls,
    further_pouch,
    further_roll,
    pouch_sizes,
    roll_sizes,
)
from assembly.rules.stock.stocking import WORK
from catalog.models import Change, Instrument
from catalog.units import UnitError, read_length
from catalog.vocabulary import Kind

DAYS = 365
ENOUGH = 100
"""Fewer single packages in a year than these say little: the catalog is asked. Our own bound."""
MOST_SIZES, MOST_FURTHER = 12, 40
"""How far the curve goes, and how many further sizes may be typed. Our own bounds."""
SOON, WAITED_FOR, WAITED_ROLLS = 3e7, 2_000, 4_000
"""What a page waits for, about half a second of a processor each: how much is searched for each
kind, how many instruments are read, and how many pairs of instrument and roll are looked at."""
KEPT_S = 600

Further = tuple[float, ...]
"""A size that nobody stocks yet (mm): outer width and length of a pouch; width of a roll."""


@dataclass(frozen=True, slots=True)
class Demand:
    """What sizes are sought for. ``packed``: single packages of so many ``days``; else loose spares
    of the catalog, each as one package. ``left_out`` says how many, and why."""

    wanted: tuple[Wanted, ...]
    packed: bool
    packages: int
    days: int
    left_out: tuple[tuple[int, str], ...]

    @property
    def words(self) -> str:
        if self.packed:
            return f"{self.packages} single packages of the last {self.days} days, void ones too"
        return (f"{self.packages} loose spares on record, each as one package: fewer than {ENOUGH} "
                "single packages in pouches or rolls were recorded in a year")  # fmt: skip


@dataclass(frozen=True, slots=True)
class Side:
    """One kind: its sizes, the least for each number of them, and what is in stock today."""

    sizes: Sizes
    plans: tuple[Plan, ...]
    today: Plan

    @property
    def proved(self) -> bool:
        return all(one.proved for one in self.plans)

    @property
    def fewest(self) -> Plan | None:
        """The fewest sizes that take no more than those in stock; None: these do not cover all."""
        most = self.today.material_mm2
        if most is None:
            return None
        takes = ((one, one.material_mm2) for one in self.plans)
        return next((one for one, mm2 in takes if mm2 is not None and mm2 <= most), None)

    def plan(self, k: int | None) -> Plan:
        """The one for at most ``k`` sizes, or today's."""
        return next((one for one in self.plans[::-1] if k and one.k <= k), self.today)


@dataclass(frozen=True, slots=True)
class Planned:
    """Both kinds, each proved by itself, for one demand."""

    demand: Demand
    pouches: Side
    rolls: Side

    @property
    def sides(self) -> tuple[Side, Side]:
        return self.pouches, self.rolls


# --- further sizes, as typed ----------------------------------------------------------------


def read_sizes(text: str) -> tuple[Further, ...]:
    """``100x200, 6 x 10 in, roll 150``: outer sizes of pouches, widths of rolls (mm).

    Refused with what was read of the first that is neither.

    >>> read_sizes("100x200; 6 x 10 in, roll 150")
    ((100.0, 200.0), (152.4, 254.0), (150.0,))
    """
    typed = [one.strip() for one in re.split("[,;]", text) if one.strip()]
    if len(typed) > MOST_FURTHER:
        raise Refused(f"{len(typed)} sizes were read: at most {MOST_FURTHER} at a time.")
    return tuple(dict.fromkeys(_size(one) for one in typed))


def _size(typed: str) -> Further:
    roll = re.fullmatch(r"roll\s+(.+)", typed, re.IGNORECASE)
    sides = [roll[1]] if roll else re.split(r"\s*[x×*]\s*", typed, flags=re.IGNORECASE)
    if len(sides) != (1 if roll else 2):
        raise Refused(f"“{typed}” is no size. Write 100x200 for a pouch, or roll 150.")
    unit = re.search(r"[a-z\"″]*$", sides[-1], re.IGNORECASE)
    said = unit[0] if unit else ""
    try:
        return tuple(float(read_length(f"{one.removesuffix(said)} {said}", "mm")) for one in sides)
    except UnitError as problem:
        raise Refused(f"“{typed}” is no size: {problem.message}") from problem


def _with_further(
    pouches: list[Pouch], rolls: list[Roll], further: Iterable[Further], policy: Policy
) -> tuple[list[Pouch], list[Roll]]:
    """What is on record, and what was typed."""
    more_pouches, more_rolls = list[Pouch](), list[Roll]()
    for size in further:
        try:
            if len(size) == 1:
                more_rolls.append(further_roll(size[0], rolls))
            else:
                more_pouches.append(further_pouch(size[0], size[1], pouches, policy))
        except FactsError as problem:
            words = "x".join(f"{side:g}" for side in size)
            raise Refused(f"“{words}” cannot be planned with: {problem}.") from problem
    known = {one.code for one in pouches} | {one.code for one in rolls}
    more = {one.code for one in more_pouches} | {one.code for one in more_rolls}
    for code in sorted(more & known):
        raise Refused(f"“{code}” is the code of a supply on record, which is planned with.")
    return [*pouches, *more_pouches], [*rolls, *more_rolls]


# --- what sizes are sought for --------------------------------------------------------------


def demand(here: Department, policy: Policy, most: int | None = None) -> Demand | None:
    """The single packages of the last year in pouches and rolls, or where they are few the loose
    spares of the catalog. Sizes are those on record today, whatever was taken then.

    None: more than ``most`` different ones.
    """
    singles = Package.objects.filter(
        kind=Package.Kind.SINGLE, packed_at__gte=timezone.now() - timedelta(days=DAYS)
    ).order_by()
    counts: dict[tuple[int, int, Kind | None, bool], int] = {}
    others = 0
    for pk, pieces, taken, count in singles.values_list("instrument", "pieces", "taken").annotate(
        count=Count("pk")
    ):
        kind, codes = supplies_in(taken)
        if pk is None or kind not in (Kind.POUCH, Kind.ROLL):
            others += count
            continue
        key = (pk, pieces, Kind(kind), kind == Kind.POUCH and len(codes) > 1)
        counts[key] = counts.get(key, 0) + count
    packages = sum(counts.values())
    if packages < ENOUGH:
        return _of_catalog(here, policy, most)
    if most is not None and len(counts) > most:
        return None
    wanted, left = _wanted(counts, here, policy)
    first = singles.aggregate(first=Min("packed_at"))["first"]
    days = min((timezone.now() - first).days + 1, DAYS) if first else DAYS
    left_out = [(others, "packed in a wrap or container"), *left]
    return Demand(wanted, True, packages, days, tuple(one for one in left_out if one[0]))


def _of_catalog(here: Department, policy: Policy, most: int | None) -> Demand | None:
    use = Instrument.objects.filter(retired=False)
    spares = use.filter(spares_on_hand__gt=0).values_list("pk", "spares_on_hand")
    counts = {pk: n or 0 for pk, n in spares}
    if most is not None and len(counts) > most:
        return None
    wanted, left = _wanted({(pk, 1, None, False): n for pk, n in counts.items()}, here, policy)
    uncounted = use.filter(spares_on_hand=None).count()
    left_out = [(uncounted, "instruments whose loose spares nobody counted"), *left]
    return Demand(wanted, False, sum(counts.values()), 0,
                  tuple(one for one in left_out if one[0]))  # fmt: skip


def _wanted(
    counts: dict[tuple[int, int, Kind | None, bool], int], here: Department, policy: Policy
) -> tuple[tuple[Wanted, ...], list[tuple[int, str]]]:
    """The facts of each, protector on, several side by side; and what cannot lie together."""
    rows = Instrument.objects.prefetch_related("cycles").in_bulk({pk for pk, *_ in counts})
    wanted, too_many = list[Wanted](), 0
    for (pk, pieces, kind, double), count in sorted(counts.items(), key=str):
        try:
            item = together(instrument_facts(rows[pk]), pieces, policy)
        except FactsError:
            too_many += count
            continue
        item = protected(item, here.protectors, policy)
        wanted.append(Wanted(rows[pk].item_number, item, count, kind, double))
    return tuple(wanted), [(too_many, "more pieces in one than the policy lets lie together")]


# --- the plan -------------------------------------------------------------------------------


def planned(further: tuple[Further, ...] = (), work: float | None = WORK) -> Planned | None:
    """What to stock, kept until something that it reads changes.

    ``work`` None is for a page: None where what somebody may wait for finds, or proves, not all.
    Refused for a size that cannot be planned with.
    """
    here = department()
    policy = here.policy(timezone.localdate())
    pouches, rolls = _with_further(*every_pouch_and_roll(), further, policy)
    key = _kept_as(further, policy)
    kept: Planned | None = caches["lists"].get(key)
    if kept is not None:
        return kept
    asked = demand(here, policy, None if work else WAITED_FOR)
    if asked is None:
        return None
    sizes = pouch_sizes(asked.wanted, pouches, here.programmes, policy)
    rest = for_rolls(asked.wanted, sizes)
    if work is None and len(rest) * len(rolls) > WAITED_ROLLS:
        return None
    of_rolls = roll_sizes(rest, rolls, here.programmes, policy)
    stocked = {one.code for one in here.stock}
    found = Planned(asked, *(_side(one, stocked, work or SOON) for one in (sizes, of_rolls)))
    if work is None and not all(one.proved for one in found.sides):
        return None
    caches["lists"].set(key, found, KEPT_S)
    return found


def _side(sizes: Sizes, stocked: Iterable[str], work: float) -> Side:
    today = told(sizes, sizes.numbers(tuple(stocked)))
    return Side(sizes, tuple(plans(sizes, MOST_SIZES, work)), today)


def _kept_as(further: tuple[Further, ...], policy: Policy) -> str:
    """Named by all that it reads: what changed last, packages, policy, day and typed sizes."""
    last = Change.objects.aggregate(last=Max("pk"))["last"]
    packed = Package.objects.aggregate(last=Max("pk"))["last"]
    parts = (connection.settings_dict["NAME"], last, packed, policy.digest, timezone.localdate(),
             further)  # fmt: skip
    return f"stock-plan:{sha256(repr(parts).encode()).hexdigest()}"


def a_year(used: float, of: Demand) -> float | None:
    """What that use comes to in a year; None where it is no use of so many days."""
    return used * DAYS / of.days if of.packed and of.days else None
