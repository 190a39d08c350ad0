"""What a person may switch off at the bench: sound, flash, single-key shortcuts.

Kept in the session: the next person at the same screen starts with everything on.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any
from uuid import uuid4

from django.http import HttpRequest

SESSION_KEY = "bench"
NAMES = ("sound", "flash", "keys")


@dataclass(frozen=True, slots=True)
class BenchSettings:
    """On or off, each."""

    sound: bool = True
    flash: bool = True
    keys: bool = True


def settings_of(request: HttpRequest) -> BenchSettings:
    """This person's settings; all on until they say otherwise."""
    off = request.session.get(SESSION_KEY, [])
    return BenchSettings(**{name: name not in off for name in NAMES})


def switch(request: HttpRequest, name: str) -> None:
    """Turns one setting over; an unknown name changes nothing."""
    off = [one for one in request.session.get(SESSION_KEY, []) if one in NAMES]
    if name in NAMES:
        request.session[SESSION_KEY] = (
            [one for one in off if one != name] if name in off else [*off, name]
        )


def new_key() -> str:
    """A key for one request: sent twice, it is done once."""
    return uuid4().hex


def with_keys(**context: Any) -> dict[str, Any]:
    """A template's context in which ``{{ new_key }}`` is another key each time it stands."""
    return {**context, "new_key": new_key}
