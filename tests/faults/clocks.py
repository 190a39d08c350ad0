"""The clock: set back in the middle of work, past midnight, past both changes of the year.

In this process, where it can be set. What a person does over one of these moments is done, once
each; a page that cannot be read at such a moment, or a cycle that is over too soon, is a breach.
"""

from __future__ import annotations

import logging
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta

from django.conf import settings
from django.contrib.auth.models import Group, User
from django.test import Client
from django.utils import timezone

from assembly.bench import builds, signing
from assembly.bench.tally import tally_of
from assembly.ledger import Refused
from assembly.models import BuildEvent, Load, LoadState, Package, Request, ShelfMove
from assembly.requests import asking, working
from assembly.requests.asking import Wanted
from assembly.sterilizing import gathering, releasing
from config.demo.day import clock_at
from tests.addresses import concrete, states
from tests.factories import bench as at
from tests.factories import loads
from tests.factories import requests as ask
from tests.factories.hospital import a_hospital
from tests.faults.places import Outcome, Place
from tests.served.held import Held
from tests.served.record import half

MINUTE = timedelta(minutes=1)
MOMENTS = {
    "midnight": datetime(2025, 11, 20, 0, 0, tzinfo=UTC),
    "midnight in summer": datetime(2025, 7, 1, 23, 0, tzinfo=UTC),
    "new year": datetime(2026, 1, 1, 0, 0, tzinfo=UTC),
    "leap day": datetime(2024, 2, 29, 0, 0, tzinfo=UTC),
    "clocks go forward": datetime(2026, 3, 29, 1, 0, tzinfo=UTC),
    "clocks go back": datetime(2026, 10, 25, 1, 0, tzinfo=UTC),
    "an hour is there twice": datetime(2026, 10, 25, 0, 40, tzinfo=UTC),
}
"""In London, where the settings of this command are."""
AT_TEN = datetime(2024, 1, 12, 10, 0, tzinfo=UTC)
"""When the clock is set back on a day long before the others."""
PIECES = 4
CYCLE_MIN = 24
"""Exposure and drying of the cycle that is run: nothing is released before."""


@dataclass
class Shift:
    """Somebody's work, done press by press; what was confirmed, and what was wrong."""

    tag: str
    confirmed: int = 0
    wrong: list[str] = field(default_factory=list)

    def press(
        self, what: str, verb: Callable[..., object], *args: object, **more: object
    ) -> object:
        """One press, with the key that it would be sent with again: sent twice, done once."""
        try:
            done = verb(at.person(), *args, **more)
        except Refused as problem:
            self.wrong.append(f"{self.tag}: {what} was refused: {problem}")
            return None
        self.confirmed += 1
        return done

    def refused(self, what: str, verb: Callable[..., object], *args: object) -> None:
        """One that has to be refused at this moment."""
        try:
            verb(at.person(), *args)
        except Refused:
            return
        self.wrong.append(f"{self.tag}: {what} was not refused")


def clocks(place: Place, _: int) -> Outcome:
    """Each of the moments, then the clock set back: all pages, and a set from count to shelf."""
    logging.disable()
    settings.PRINT_FOLDER = str(place.beside / "print-runs")
    rows = a_hospital()
    client = _somebody()
    confirmed, wrong = 0, list[str]()
    for number, (name, moment) in enumerate(MOMENTS.items()):
        shift = Shift(name)
        _over(shift, f"C{number}", moment, timedelta())
        with clock_at(moment):
            wrong += [f"{name}: {one}" for one in _pages(client, rows)]
        confirmed, wrong = confirmed + shift.confirmed, wrong + shift.wrong
    for hours in (1, 30):
        shift = Shift(f"set back by {hours} h")
        _over(shift, f"B{hours}", AT_TEN, timedelta(hours=hours))
        with clock_at(AT_TEN - timedelta(hours=hours)):
            wrong += [f"{shift.tag}: {one}" for one in _pages(client, rows)]
        confirmed, wrong = confirmed + shift.confirmed, wrong + shift.wrong
    return Outcome(len(MOMENTS) + 2, Held(confirmed, [], [], list(half())), wrong=wrong)


def _over(shift: Shift, code: str, moment: datetime, back: timedelta) -> None:
    """A set counted before the moment and after it, packed, run, released and handed over; from
    the moment on the clock is ``back`` by so much, and right again when the load is released."""
    with clock_at(moment - 10 * MINUTE):
        kept = at.a_set(code, (PIECES,))
        build = builds.start(at.person(), kept, at.key())
        line = tally_of(build).lines[0].line
        _counted(shift, build.pk, line.pk, PIECES // 2)
        asked = asking.ask(at.person(), Wanted(instrument_set=kept), ask.ask_for(), at.key())
    with clock_at(moment + MINUTE - back):
        _counted(shift, build.pk, line.pk, PIECES // 2)
        shift.press("pack", signing.pack, build.pk, at.all_yes(build), at.key())
        package = shift.press("sign", signing.sign, build.pk, at.key())
        assert isinstance(package, Package)
        at.sealed(package)
    with clock_at(moment - 5 * MINUTE):  # tested and gathered before, started at the moment
        load = loads.a_load(package)
    with clock_at(moment - back):
        if timezone.localdate() != timezone.localdate(moment - 5 * MINUTE):
            shift.refused("a start without the test of the day", gathering.start, load.pk, at.key())
        loads.a_sterilizer()
        load = _started(shift, load)
    if load.started_at is None:
        return
    with clock_at(load.started_at + (CYCLE_MIN - 4) * MINUTE):
        shift.refused("a release before the cycle can be over", _release, load.pk)
        load.refresh_from_db()
    if back:
        with clock_at(load.started_at - back):
            shift.refused("a release before the start", _release, load.pk)
    with clock_at(load.started_at + 90 * MINUTE):
        shift.press("release", _release, load.pk)
        shift.press("take", working.take, asked.pk, at.key())
        shift.press("send", working.send, asked.pk, at.key(), package)
    with clock_at(load.started_at + 95 * MINUTE):
        shift.press("hand over", working.hand_over, asked.pk, at.key())
    shift.wrong += [
        f"{shift.tag}: {one}" for one in _not_as_confirmed(build.pk, load, package, asked)
    ]


def _started(shift: Shift, load: Load) -> Load:
    shift.press("start", gathering.start, load.pk, at.key())
    load.refresh_from_db()
    return load


def _release(person: at.Person, pk: int) -> Load:
    return releasing.release(person, pk, loads.all_yes(), loads.NO_GROWTH, at.key())


def _counted(shift: Shift, build: int, line: int, pieces: int) -> None:
    for _ in range(pieces):
        key = at.key()
        for _ in range(2):
            shift.press("count", builds.count, build, line, 1, key)
        shift.confirmed -= 1  # the same press


def _not_as_confirmed(build: int, load: Load, package: Package, asked: Request) -> Iterator[str]:
    """What is not on record though it was confirmed, or is there twice."""
    counts = BuildEvent.objects.filter(build=build, kind=BuildEvent.Kind.COUNTED).count()
    if counts != PIECES:
        yield f"{counts} pieces are on record, {PIECES} were counted"
    if Package.objects.filter(build=build).count() != 1:
        yield "not one package of a set that was signed once"
    load.refresh_from_db()
    asked.refresh_from_db()
    last = ShelfMove.objects.filter(package=package).order_by("pk").last()
    found = (load.state, asked.state, last and last.state)
    if found != (LoadState.RELEASED, "handed over", "handed over"):
        yield f"load, request and package are {found}"


def _somebody() -> Client:
    user = User.objects.create_user("reader")
    user.groups.add(Group.objects.get(name="coordinator"))
    client = Client(raise_request_exception=False)
    client.force_login(user)
    client.cookies["sessionid"]["expires"] = ""
    return client


def _pages(client: Client, rows: dict[str, str]) -> Iterator[str]:
    """Every page and part that cannot be read now."""
    client.force_login(User.objects.get(username="reader"))
    for kind in ("page", "part"):
        for path, asked in states(kind):
            status = client.get(concrete(path, rows) + asked).status_code
            if status >= 500:
                yield f"/{path}{asked} is answered {status}"
