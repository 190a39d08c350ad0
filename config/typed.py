"""What was typed in a form that was sent after its sign-in had ended, for browsers without script.

It lies in the session that the browser has until the next sign-in, on the server: no page of
another person shows it. Whoever had signed in there last, and nobody else, is led to a page that
shows it and sends it to where it was to go, after one press, with a token of its own.
"""

from __future__ import annotations

import time
from typing import Any

from django.conf import settings
from django.contrib.auth import SESSION_KEY
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

TYPED = "typed"
KEPT_S = 15 * 60
"""Our own bound: later it may be about another thing."""
MOST_SIGNS = 64 * 1024
"""In names and fields together. The largest form of the tests' hospital has 1,296."""
LAST = "last-person"
"""The cookie that names, signed, who signed in at this browser last; a sign-out takes it away.
The token against forgery is new at each sign-in: no page of somebody before is taken for theirs."""
OF_ITS_OWN = ("csrfmiddlewaretoken", "key", "next")
SECRET = "password"
"""What has this in its name is never kept."""


def remember(request: HttpRequest, response: HttpResponse, longest_s: int) -> None:
    """Who signed in at this browser, for as long as a sign-in may hold; nobody after a sign-out."""
    if request.session.is_empty():
        response.delete_cookie(LAST)
    elif person := request.session.get(SESSION_KEY):
        response.set_signed_cookie(
            LAST, person, LAST, max_age=longest_s, secure=settings.SESSION_COOKIE_SECURE,
            httponly=True, samesite="Lax",
        )  # fmt: skip


def keep(request: HttpRequest, back: str) -> None:
    """What a form sent without a sign-in, which leads to ``back``. Scripts keep their own."""
    person = request.get_signed_cookie(LAST, None, LAST)
    if person is None or "HX-Request" in request.headers:
        return
    pairs = [(name, value) for name, values in request.POST.lists() for value in values
             if name != OF_ITS_OWN[0] and SECRET not in name]  # fmt: skip
    if not any(name not in OF_ITS_OWN for name, _ in pairs):
        return
    fits = sum(len(name) + len(value) for name, value in pairs) <= MOST_SIGNS
    request.session[TYPED] = {
        "person": person, "until": time.time() + KEPT_S, "to": request.get_full_path(),
        "back": back, "fields": pairs if fits else [], "fits": fits,
        "secrets": [name for name in request.POST if SECRET in name], "files": [*request.FILES],
    }  # fmt: skip
    request.session.set_expiry(KEPT_S)


def only_for(request: HttpRequest, person: Any) -> None:
    """Somebody signed in: what another person typed goes."""
    if request.session.get(TYPED, {}).get("person") != str(person.pk):
        request.session.pop(TYPED, None)


@require_safe
def typed(request: HttpRequest) -> HttpResponse:
    """What this person typed as their sign-in had ended, to be looked at and sent."""
    kept = request.session.get(TYPED, {})
    if kept.get("until", 0) < time.time():
        kept = {}
    shown = [
        (_words(name), value)
        for name, value in kept.get("fields", ()) if name not in OF_ITS_OWN and value
    ]  # fmt: skip
    anew = [
        (name, f"{_words(name)}: not kept", kind)
        for kind, names in (("password", "secrets"), ("file", "files"))
        for name in kept.get(names, ())
    ]
    return render(request, "accounts/typed.html", {"kept": kept, "shown": shown, "anew": anew})


def _words(name: str) -> str:
    return name.replace("_", " ").capitalize()
