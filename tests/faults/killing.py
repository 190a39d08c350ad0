"""Killed in the middle of work: the web server on SQLite, the database server on PostgreSQL."""

from __future__ import annotations

from collections.abc import Sequence
from random import Random
from threading import Event

from tests.faults.places import Outcome, Place, errors_of, kill_cluster, left_open
from tests.served.crew import Pace, at_work, hire, presses_of
from tests.served.people import Person
from tests.served.record import held
from tests.served.server import Server

BENCHES, LIAISONS = 6, 2
FAST = Pace(bench=0.15, liaison=0.5, probe=1.0)
AT_THE_MOST_S = 0.6
"""Until the next kill, once work goes on."""
ASIDE = {0, 500, 502, 503}
"""What people may be answered while there is no server, or no database."""


def kills(place: Place, times: int) -> Outcome:
    """So many kills (-9); every second one of PostgreSQL takes the web server with it."""
    chance, hired = Random(16), hire(BENCHES, LIAISONS, lines=2, each=2, sign=True)
    with Server(place.url, place.beside) as server:
        people = hired.at(server.port, over := Event(), FAST)
        with at_work(people):
            for number in range(times):
                _wait_for_work(people, over)
                over.wait(chance.random() * AT_THE_MOST_S)
                if place.cluster is None or number % 2:
                    server.end()
                if place.cluster:
                    kill_cluster(place.cluster)
                if place.cluster is None or number % 2:
                    server.start()
    statuses = errors_of(people)
    wrong = [f"answered {code}" for code in statuses if code not in ASIDE]
    return Outcome(times, held(presses_of(people)), statuses, [*wrong, *left_open(people)])


def _wait_for_work(people: Sequence[Person], over: Event) -> None:
    """Until something was confirmed since the last kill."""
    before = sum(len(one.presses) for one in people)
    for _ in range(600):
        if sum(len(one.presses) for one in people) > before + 1:
            return
        over.wait(0.05)
    raise RuntimeError("Nobody could work for half a minute.")
