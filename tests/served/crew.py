"""Who works: accounts with their sets on the database, then each with a browser at a server."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import timedelta
from threading import Event

from django.contrib.auth.models import Group, User
from django.contrib.sessions.backends.db import SessionStore
from django.db import connections

from tests.factories import bench as at
from tests.factories import catalog as make
from tests.served.browser import Browser
from tests.served.people import Bench, Liaison, Person, Press, Probe

PROBES = 2


@dataclass(frozen=True, slots=True)
class Pace:
    """Seconds between two presses, or between two bare pages."""

    bench: float = 2.0
    liaison: float = 8.0
    probe: float = 0.25


@dataclass(frozen=True, slots=True)
class Hired:
    """Sessions by name: of benches with the set and pieces of each, of liaisons, of probes."""

    benches: dict[str, tuple[str, str, tuple[str, ...]]]
    liaisons: dict[str, str]
    probes: dict[str, str]
    item: str
    sign: bool

    def at(self, port: int, over: Event, pace: Pace) -> list[Person]:
        """All of them, with a browser at the server on this port."""
        return [
            *(Bench(Browser(port, session), over, pace.bench, name, code=code, pieces=pieces,
                    signs=self.sign) for name, (session, code, pieces) in self.benches.items()),
            *(Liaison(Browser(port, session), over, pace.liaison, name, item=self.item)
              for name, session in self.liaisons.items()),
            *(Probe(Browser(port, session), over, pace.probe, name)
              for name, session in self.probes.items()),
        ]  # fmt: skip


def hire(benches: int, liaisons: int, *, lines: int, each: int, sign: bool = False) -> Hired:
    """So many, in the database that Django is set up on; each bench has a set that can be packed,
    of so many lines of so many pieces."""
    kept = {}
    for number in range(1, benches + 1):
        code = f"B-{number}"
        at.a_set(code, (each,) * lines)
        pieces = tuple(f"{code}-{line}" for line in range(1, lines + 1) for _ in range(each))
        kept[f"bench {number}"] = (session_of("technician", f"bench {number}"), code, pieces)
    asks = {f"liaison {number}": session_of("OR liaison", f"liaison {number}")
            for number in range(1, liaisons + 1)}  # fmt: skip
    probes = {f"probe {number}": session_of("technician", f"probe {number}")
              for number in range(1, PROBES + 1)}  # fmt: skip
    item = make.Instrument(item_number="N-1").item_number
    connections.close_all()
    return Hired(kept, asks, probes, str(item), sign)


def session_of(role: str, name: str) -> str:
    """Somebody in this role, signed in: the key of the session."""
    user = User.objects.create_user(name.replace(" ", "-"), first_name=name, last_name=role)
    user.groups.add(Group.objects.get(name=role))
    session = SessionStore()
    session.update({
        "_auth_user_id": str(user.pk), "_auth_user_hash": user.get_session_auth_hash(),
        "_auth_user_backend": "django.contrib.auth.backends.ModelBackend",
    })  # fmt: skip
    session.set_expiry(timedelta(hours=12))
    session.create()
    return str(session.session_key)


@contextmanager
def at_work(people: list[Person]) -> Iterator[None]:
    """All of them meanwhile; then what each is at is brought to its end."""
    for one in people:
        one.start()
    try:
        yield
    finally:
        for one in people:
            one.over.set()
        for one in people:
            one.join(120)


def presses_of(people: list[Person]) -> list[Press]:
    return [press for one in people for press in one.presses]
