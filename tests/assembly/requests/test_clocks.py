"""Times as people say them."""

from datetime import UTC, datetime, timedelta

import pytest
from django.utils import timezone

from assembly.requests.clocks import clock

NOON = datetime(2026, 11, 26, 12, tzinfo=UTC)
"""A Thursday."""


@pytest.mark.parametrize(
    ("days", "words"),
    [(0, "09:05"), (1, "Fri 09:05"), (6, "Wed 09:05"), (7, "Thu 03 Dec, 09:05"),
     (-1, "Wed 25 Nov, 09:05"), (60, "Mon 25 Jan 2027, 09:05")],
)  # fmt: skip
def test_a_time_has_as_much_of_its_day_as_tells_it_apart(days: int, words: str) -> None:
    with timezone.override(UTC):
        assert clock(NOON.replace(hour=9, minute=5) + timedelta(days=days), NOON) == words
