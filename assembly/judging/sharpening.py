"""How often what cuts was used since it was sharpened, by the packages that it was in.

A use is a package that was closed with it inside and not made void. Of several pieces with one
number nobody knows which was in which package: each of them was used that often at the most.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from django.utils import timezone

from assembly.judging.inspection import has_an_edge
from assembly.ledger import Refused
from assembly.models import Package, Sharpening
from assembly.rules.days import day_words
from assembly.rules.policy.values import Policy
from catalog.models import Instrument, InstrumentSet

AFTER, STOPS = "sharpen_after_uses", "sharpening_stops"


@dataclass(frozen=True, slots=True)
class Uses:
    """What was used since it was sharpened: ``uses`` are counted to the limit and no further.

    ``since`` None: no sharpening is on record, and every package on record counts.
    """

    instrument: Instrument
    instrument_set: InstrumentSet | None
    since: date | None
    uses: int
    limit: int

    @property
    def due(self) -> bool:
        return self.uses >= self.limit

    @property
    def words(self) -> str:
        """How often, since when, and what the policy says."""
        where = f" of {self.instrument_set.code}" if self.instrument_set else ""
        since = (f"since it was sharpened on {day_words(self.since)}" if self.since
                 else "on record, and no sharpening")  # fmt: skip
        more = " or more" if self.due else ""
        return (f"{self.instrument.name}: in {self.uses}{more} packages{where} {since}; to be "
                f"looked at after {self.limit}.")  # fmt: skip


def uses_of(
    instruments: Sequence[Instrument], instrument_set: InstrumentSet | None, policy: Policy
) -> list[Uses]:
    """The uses of each that has an edge or was sharpened once: in packages of the set, or in
    single ones. Nothing where the policy sets no number; else two queries."""
    limit = policy.number_or_none(AFTER)
    if limit is None:
        return []
    most = int(limit)
    rows = Sharpening.objects.filter(instrument_set=instrument_set, instrument__in=instruments)
    last = {one.instrument_id: one for one in rows}  # the latest of each stands last
    asked = [one for one in instruments if one.pk in last or has_an_edge(one)]
    if not asked:
        return []
    packed = _packed_with(asked, instrument_set, 2 * most)
    found = []
    for one in asked:
        done = last.get(one.pk)
        start, day = (_counts_from(done), done.done_on) if done else (None, None)
        uses = sum(1 for at in packed[one.item_number] if start is None or at > start)
        found.append(Uses(one, instrument_set, day, min(uses, most), most))
    return found


def _counts_from(done: Sharpening) -> datetime:
    """The moment from which packages count again: it was put on record, or the end of its day
    where that came before."""
    end = datetime.combine(done.done_on + timedelta(days=1), time.min)
    return min(done.at, timezone.make_aware(end))


def _packed_with(
    asked: list[Instrument], instrument_set: InstrumentSet | None, most: int
) -> dict[str, list[datetime]]:
    """When each was packed, the last times first; as many as can matter."""
    packages = Package.objects.filter(void_at=None)
    if instrument_set is None:
        packages = packages.filter(kind=Package.Kind.SINGLE, instrument__in=asked)
    else:
        packages = packages.filter(kind=Package.Kind.SET, build__instrument_set=instrument_set)
    times: dict[str, list[datetime]] = {one.item_number: [] for one in asked}
    for at, contents in packages.values_list("packed_at", "contents")[:most]:
        for number in {line["item_number"] for line in contents} & times.keys():
            times[number].append(at)
    return times


def due(
    instruments: Sequence[Instrument], instrument_set: InstrumentSet | None, policy: Policy
) -> list[Uses]:
    """Those that are due by the policy."""
    return [one for one in uses_of(instruments, instrument_set, policy) if one.due]


def check_sharp(
    instruments: Sequence[Instrument], instrument_set: InstrumentSet | None, policy: Policy
) -> None:
    """Refused where the policy lets nothing be packed that is due to be sharpened."""
    if not policy.flag(STOPS):
        return
    for one in due(instruments, instrument_set, policy):
        raise Refused(f"{one.words} The policy lets it be packed only once it was sharpened: say "
                      "so, or send it to repair.")  # fmt: skip
