"""Several people at the same moment, on a database that their threads can share."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier
from typing import Any

from django.db import connections

from assembly.ledger import Refused
from tests.machine import IN_CI

ROUNDS = 4 if IN_CI else 2
"""How often a race of chance is run: often where a change lands."""


def together(*presses: Callable[[], Any]) -> list[Any]:
    """All at the same moment, each on a connection of its own: what each got, or its refusal."""
    start = Barrier(len(presses))

    def once(press: Callable[[], Any]) -> Any:
        try:
            start.wait(timeout=20)
            return press()
        except Refused as problem:
            return problem
        finally:
            connections.close_all()

    with ThreadPoolExecutor(len(presses)) as pool:
        return list(pool.map(once, presses))
