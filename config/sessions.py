"""How long a sign-in holds: as long as it is used, by the department's policy."""

from __future__ import annotations

import logging
import time
from collections.abc import Callable
from typing import Any

from django.conf import settings
from django.contrib.sessions.backends.base import SessionBase, UpdateError
from django.db import DatabaseError, transaction
from django.http import HttpRequest, HttpResponse

from assembly.judging.facts_from_catalog import policy_in_force

LONGEST_S = 24 * 60 * 60
"""From the sign-in on, however much it is used: else one would pass from hand to hand. Our own
bound: nobody works as long."""
SINCE, USED = "since", "used"
LOG = logging.getLogger("packbench.sessions")


class RenewedByUse:
    """A page that is opened and whatever is sent keep the sign-in; a page that renews itself by
    script, while nobody is there, does not."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        answer = self.get_response(request)
        used = request.method == "POST" or "HX-Request" not in request.headers
        if used and answer.status_code < 500 and request.user.is_authenticated:
            _renew(request.session)
        return answer


def begun(request: HttpRequest, **_: Any) -> None:
    """Somebody signed in: the time begins."""
    request.session[SINCE] = time.time()
    _hold(request.session)


def _renew(session: SessionBase) -> None:
    """Seldom, as it is a write; where nothing can be saved the page shows all the same."""
    if time.time() - session.get(USED, 0) < settings.SESSION_RENEWED_AFTER_S:
        return
    changed = session.modified
    try:
        with transaction.atomic():
            _hold(session)
            session.save()
    except (DatabaseError, UpdateError) as problem:
        session.modified = changed
        LOG.warning("A sign-in could not be renewed", exc_info=problem)


def _hold(session: SessionBase) -> None:
    now = time.time()
    left_s = session.setdefault(SINCE, now) + LONGEST_S - now
    session[USED] = now
    session.set_expiry(int(min(left_s, policy_in_force().number("idle_min") * 60)))
