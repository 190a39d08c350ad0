"""A disk that is full, and a database that can only be read: said so, and made good afterwards."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from threading import Event

import psycopg

from tests.faults.killing import BENCHES, FAST, LIAISONS
from tests.faults.places import Outcome, Place, errors_of, left_open
from tests.served.browser import Browser
from tests.served.crew import at_work, hire, presses_of
from tests.served.record import held
from tests.served.server import Server

BEFORE_S, MEANWHILE_S, AFTER_S = 2.0, 6.0, 3.0
PAGES = ("/bench/", "/requests/", "/instruments/", "/sets/", "/loads/", "/shelf/")
SAID_WHY = {0, 503}
READ_ONLY = "ALTER DATABASE {} SET default_transaction_read_only = {}"


def full(place: Place, _: int) -> Outcome:
    """The disk of the database fills up while people work, then there is room again."""
    hired = hire(BENCHES, LIAISONS, lines=2, each=2, sign=True)
    with Server(place.url, place.beside) as server:
        people = hired.at(server.port, over := Event(), FAST)
        with at_work(people):
            over.wait(BEFORE_S)
            with _filled(place.folder):
                over.wait(MEANWHILE_S)
                ended = place.cluster and not place.cluster.runs()  # it stops where its log is full
                wrong = [] if ended else _pages(server, next(iter(hired.probes.values())))
            if place.cluster and not place.cluster.runs():
                place.cluster.start()
            over.wait(AFTER_S)
    return _outcome(people, wrong)


def read_only(place: Place, _: int) -> Outcome:
    """Nothing can be written for a while: SQLite's file, or by order of PostgreSQL."""
    hired = hire(BENCHES, LIAISONS, lines=2, each=2, sign=True)
    with Server(place.url, place.beside) as server:
        people = hired.at(server.port, over := Event(), FAST)
        with at_work(people):
            over.wait(BEFORE_S)
            with _only_read(place, server):
                over.wait(MEANWHILE_S)
                wrong = _pages(server, next(iter(hired.probes.values())))
            over.wait(AFTER_S)
    return _outcome(people, wrong)


def _outcome(people: list, wrong: list[str]) -> Outcome:
    statuses = errors_of(people)
    wrong += [f"answered {code}, which does not say why" for code in statuses.keys() - SAID_WHY]
    if not statuses[503]:
        wrong.append("nobody noticed: no press was refused")
    return Outcome(1, held(presses_of(people)), statuses, [*wrong, *left_open(people)])


@contextmanager
def _filled(folder: Path) -> Iterator[None]:
    """Not a byte is left on its disk."""
    ballast = folder / "ballast"
    with ballast.open("wb", buffering=0) as file:
        for size in (1 << 20, 1 << 12):
            try:
                while file.write(b"\0" * size) == size:
                    pass
            except OSError:
                continue
    try:
        yield
    finally:
        ballast.unlink()


@contextmanager
def _only_read(place: Place, server: Server) -> Iterator[None]:
    if place.cluster:
        address, name = place.cluster.url, place.url.rpartition("/")[2]
        with psycopg.connect(address, autocommit=True) as there:
            there.execute(READ_ONLY.format(name, "on"))
            yield
            there.execute(READ_ONLY.format(name, "off"))
        return
    for pragmas in ("PRAGMA query_only=ON;", ""):
        server.end()
        server.more = {"MORE_PRAGMAS": pragmas}
        server.start()
        if pragmas:
            yield


def _pages(server: Server, session: str) -> list[str]:
    """What could not be read meanwhile."""
    browser = Browser(server.port, session)
    asked = {path: browser.get(path).status for path in PAGES}
    return [f"{path} was answered {status}" for path, status in asked.items() if status != 200]
