"""How long a sign-in holds: as long as it is used, by the department's policy."""

from __future__ import annotations

import logging
import time
from typing import Any

from django.conf import settings
from django.contrib.sessions.backends.base import SessionBase
from django.contrib.sessions.exceptions import SessionInterrupted
from django.contrib.sessions.middleware import SessionMiddleware
from django.db import DatabaseError
from django.http import HttpRequest, HttpResponse
from django.template.loader import render_to_string

from assembly.judging.facts_from_catalog import policy_in_force
from config import typed

LONGEST_S = 24 * 60 * 60
"""From the sign-in on, however much it is used: else one would pass from hand to hand. Our own
bound: nobody works as long."""
SINCE, USED = "since", "used"
NOT_KEPT = "This could not be kept. Try again in a minute."
LOG = logging.getLogger("packbench.sessions")


class RenewedByUse(SessionMiddleware):
    """A page that is opened and whatever is sent keep the sign-in; a page that renews itself by
    script, while nobody is there, does not.

    Where it cannot be written, what was done is answered all the same. What stands in the session
    itself (who signed in, whose units) was not done then: 503, to be tried again.
    """

    def process_response(self, request: HttpRequest, response: HttpResponse) -> HttpResponse:
        changed = request.session.modified
        try:
            if _used(request, response):
                _hold(request.session)
            if request.session.modified:
                typed.remember(request, response, LONGEST_S)
            return super().process_response(request, response)
        except (DatabaseError, SessionInterrupted) as problem:
            LOG.warning("A sign-in could not be renewed", exc_info=problem)
        if not changed:
            return response
        return HttpResponse(render_to_string("503.html", {"why": NOT_KEPT}), status=503)


def _used(request: HttpRequest, response: HttpResponse) -> bool:
    """Whether somebody is there, and it was not written a moment ago."""
    sent = request.method == "POST" or "HX-Request" not in request.headers
    if not sent or response.status_code >= 500 or not hasattr(request, "user"):
        return False
    since_s = time.time() - request.session.get(USED, 0)
    return since_s >= settings.SESSION_RENEWED_AFTER_S and request.user.is_authenticated


def begun(request: HttpRequest, user: Any, **_: Any) -> None:
    """Somebody signed in: the time begins. What has run out goes."""
    typed.only_for(request, user)
    type(request.session).clear_expired()
    request.session[SINCE] = time.time()
    _hold(request.session)


def _hold(session: SessionBase) -> None:
    now = time.time()
    left_s = session.setdefault(SINCE, now) + LONGEST_S - now
    session[USED] = now
    session.set_expiry(int(min(left_s, policy_in_force().number("idle_min") * 60)))
