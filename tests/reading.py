"""What one visit costs: queries, rows that the database hands over, bytes that are sent."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any

from django.db import connection
from django.db.backends.utils import CursorWrapper
from django.test import Client
from django.test.utils import CaptureQueriesContext

FETCHES = ("fetchone", "fetchmany", "fetchall")


@dataclass
class Cost:
    """Of one visit; ``sql`` has the queries as they were asked, ``answer`` what was answered."""

    rows: int = 0
    sent: int = 0
    sql: list[str] = field(default_factory=list)
    answer: Any = field(default=None, repr=False)

    @property
    def queries(self) -> int:
        return len(self.sql)


def visit(client: Client, address: str) -> Cost:
    """What a GET of the address costs; the whole answer is read, as a browser does."""
    cost = Cost()
    with _counted(cost), CaptureQueriesContext(connection) as found:
        cost.answer = answer = client.get(address)
        sent = answer.streaming_content if answer.streaming else [answer.content]
        cost.sent = sum(len(part) for part in sent)
        if answer.streaming:
            answer.close()
    cost.sql = [one["sql"] for one in found.captured_queries]
    return cost


@contextmanager
def _counted(cost: Cost) -> Iterator[None]:
    """Every cursor adds to ``cost`` what is fetched from it."""
    before = CursorWrapper.__getattr__

    def get(cursor: CursorWrapper, name: str) -> Any:
        found = before(cursor, name)
        return _counting(found, cost) if name in FETCHES else found

    CursorWrapper.__getattr__ = get
    try:
        yield
    finally:
        CursorWrapper.__getattr__ = before


def _counting(fetch: Callable[..., Any], cost: Cost) -> Callable[..., Any]:
    def fetched(*args: Any) -> Any:
        rows = fetch(*args)
        cost.rows += len(rows) if isinstance(rows, list) else rows is not None
        return rows

    return fetched
