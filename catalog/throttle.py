"""How often somebody may try in a short time: passwords, and questions of many words.

Counted in one small file that all processes of this machine's web server share, by the library
``limits``. It names nobody: its keys are digests, and what has run out is left out of it.
"""

from __future__ import annotations

import fcntl
import hashlib
import json
import logging
import math
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from django.conf import settings
from django.http import HttpRequest
from limits import RateLimitItem, RateLimitItemPerMinute
from limits.storage import Storage
from limits.strategies import FixedWindowRateLimiter

PASSWORDS = RateLimitItemPerMinute(5, 2, namespace="passwords")
"""Passwords for one account at one workstation, until one of them is right: five in two minutes,
150 an hour where NIST SP 800-63B allows 100 in all, of ten letters at least. Our own bound: short,
because gloves mistype."""
LONG_QUESTIONS = RateLimitItemPerMinute(30, namespace="questions")
LONG_WORDS = 6
"""A question of more words is a long one, of which thirty a minute come from whoever types slowly
where answers come while one types. Both our own bounds: people look for two or three words."""
LOG = logging.getLogger("packbench.throttle")


class TooOften(Exception):  # noqa: N818
    """It is not tried. ``seconds`` says how long to wait."""

    def __init__(self, seconds: int) -> None:
        minutes = math.ceil(seconds / 60)
        self.wait = f"{seconds} seconds" if seconds <= 60 else f"{minutes} minutes"
        super().__init__(f"Wait {self.wait}")


class _InOneFile(Storage):
    """Counts by key, each with the time until which it holds (seconds since 1970)."""

    STORAGE_SCHEME = ["packbench"]
    base_exceptions = OSError

    @contextmanager
    def _counts(self) -> Iterator[dict[str, list[float]]]:
        """What is counted, nobody else's meanwhile, and kept as it is left."""
        path = Path(settings.ATTEMPTS_FILE)
        path.parent.mkdir(parents=True, exist_ok=True)
        with path.open("a+", encoding="ascii") as file:
            fcntl.flock(file, fcntl.LOCK_EX)
            file.seek(0)
            text, now = file.read(), time.time()
            try:
                counts = {key: one for key, one in json.loads(text).items() if one[1] > now}
            except ValueError:  # nothing yet, or half of it: the machine went down
                counts = {}
            yield counts
            if (left := json.dumps(counts)) != text:
                file.truncate(0)
                file.write(left)

    def incr(self, key: str, expiry: int, amount: int = 1) -> int:
        with self._counts() as counts:
            one = counts.setdefault(key, [0, time.time() + expiry])
            one[0] += amount
            return int(one[0])

    def get(self, key: str) -> int:
        with self._counts() as counts:
            return int(counts.get(key, (0, 0))[0])

    def get_expiry(self, key: str) -> float:
        with self._counts() as counts:
            return counts.get(key, (0, time.time()))[1]

    def clear(self, key: str) -> None:
        with self._counts() as counts:
            counts.pop(key, None)

    def check(self) -> bool:
        return True

    def reset(self) -> int:
        with self._counts() as counts:
            many = len(counts)
            counts.clear()
        return many


_LIMITER = FixedWindowRateLimiter(_InOneFile())


class Tries:
    """What somebody tries, told apart by the words in ``who``.

    Where nothing can be counted (a full disk), nobody is kept out; the log says so.
    """

    def __init__(self, limit: RateLimitItem, *who: str) -> None:
        self.limit = limit
        self.named = hashlib.sha256("\n".join(who).encode()).hexdigest()

    def check(self) -> None:
        """TooOften where they were too many."""
        with _told():
            if not _LIMITER.test(self.limit, self.named):
                until = _LIMITER.get_window_stats(self.limit, self.named).reset_time
                raise TooOften(max(1, math.ceil(until - time.time())))

    def count(self) -> None:
        """One more."""
        with _told():
            _LIMITER.hit(self.limit, self.named)

    def forget(self) -> None:
        """None: it was right."""
        with _told():
            _LIMITER.clear(self.limit, self.named)


@contextmanager
def _told() -> Iterator[None]:
    try:
        yield
    except OSError:
        LOG.exception("Tries cannot be counted")


def machine_of(request: HttpRequest) -> str:
    """The address of the workstation: what the proxy in front saw, where there is one. Anything
    else that the browser says of itself could be changed at each try."""
    seen = request.headers.get("X-Forwarded-For", "") if settings.BEHIND_PROXY else ""
    return seen.rpartition(",")[2].strip() or str(request.META.get("REMOTE_ADDR", ""))
