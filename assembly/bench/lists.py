"""The tables under the Bench's field: my open builds, what waits, what was done today."""

from __future__ import annotations

from dataclasses import dataclass

from django.utils import timezone

from assembly.bench.tally import tally_of
from assembly.models import Build, Package, Shortfall
from assembly.packages.standing import with_standing
from assembly.persons import Person
from assembly.upkeep.repairs import away

MOST_SHOWN = 30
RUNNING = (Build.State.OPEN, Build.State.PACKED)


@dataclass(frozen=True, slots=True)
class BuildRow:
    """A running build as a table shows it."""

    build: Build
    inside: int
    wanted: int
    asked_by: str

    @property
    def state(self) -> str:
        if self.build.state == Build.State.PACKED:
            return "packed, to be signed"
        return f"{self.inside} of {self.wanted} in"


@dataclass(frozen=True, slots=True)
class Lists:
    """All tables of the Bench, and how many pieces are away."""

    mine: list[BuildRow]
    waiting: list[BuildRow]
    today: list[Package]
    shortages: list[Shortfall]
    away: int


def lists_for(person: Person) -> Lists:
    """What this person has open, what others have, and what left the bench today."""
    running = Build.objects.filter(state__in=RUNNING).order_by("started_at", "pk")
    start = timezone.localtime().replace(hour=0, minute=0, second=0, microsecond=0)
    return Lists(
        mine=[_row(build) for build in running.filter(holder_id=person.pk)[:MOST_SHOWN]],
        waiting=[_row(build) for build in running.exclude(holder_id=person.pk)[:MOST_SHOWN]],
        today=list(with_standing(Package.objects.filter(packed_at__gte=start))[:MOST_SHOWN]),
        shortages=list(
            Shortfall.objects.filter(kind=Shortfall.Kind.PACKED_SHORT, closed_at=None)
            .select_related("package")
            .order_by("-opened_at", "-pk")[:MOST_SHOWN]
        ),
        away=away().count(),
    )


def running_builds(instrument_set_pk: int) -> list[BuildRow]:
    """The running builds of one set, oldest first."""
    found = Build.objects.filter(instrument_set_id=instrument_set_pk, state__in=RUNNING)
    return [_row(build) for build in found.order_by("started_at", "pk")]


def _row(build: Build) -> BuildRow:
    tally = tally_of(build)
    asked = tally.asked
    return BuildRow(build, tally.inside, tally.wanted, asked.by if asked else "")
