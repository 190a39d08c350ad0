"""What happens to a request before and after the views."""

from __future__ import annotations

import logging
from collections.abc import Callable, Iterable
from contextlib import nullcontext
from urllib.parse import urlsplit

from django.conf import settings
from django.core.exceptions import BadRequest
from django.db import DatabaseError
from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.middleware.gzip import GZipMiddleware
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils.cache import add_never_cache_headers

from assembly.judging.facts_from_catalog import the_same_department
from catalog import throttle
from config import typed

LOG = logging.getLogger("packbench.database")


class SignInWholePage:
    """A part of a page that asks for a sign-in leads the whole page there.

    A page that renews itself would otherwise put the sign-in page inside itself. It leads back to
    that page, and so does what was sent without a sign-in: its own address shows nothing. What was
    typed there is kept by its browser (``typed.js``), and here for one without script.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        signed_in = request.method == "POST" and request.user.is_authenticated
        answer = self.get_response(request)
        if signed_in and answer.status_code < 500:
            request.session.pop(typed.TYPED, None)  # sent, or something else was
        to_sign_in = answer.status_code == 302 and answer.headers.get("Location", "").startswith(
            reverse(settings.LOGIN_URL)
        )
        # HX-Target: a part is asked for by htmx itself. Scripts that send counts and scans
        # keep them, and try again.
        if to_sign_in and "HX-Target" in request.headers:
            return HttpResponse(
                headers={"HX-Redirect": _by_sign_in(_back(request, "HX-Current-URL"))}
            )
        turned_away = to_sign_in and "?" in answer.headers["Location"]  # not: signed out
        if turned_away and request.method == "POST":
            back = _back(request, "Referer")
            typed.keep(request, back)
            answer.headers["Location"] = _by_sign_in(back)
        return answer


def _back(request: HttpRequest, header: str) -> str:
    """The page of ours named in a header, else the first."""
    came = urlsplit(request.headers.get(header, ""))
    ours = came.netloc == request.get_host() and came.path.startswith("/")
    return f"{came.path}?{came.query}".rstrip("?") if ours else "/"


def _by_sign_in(back: str) -> str:
    return reverse(settings.LOGIN_URL, query={"next": back})


class NoNul:
    """A NUL in an address, a field or a cookie, which no database keeps: 400, before anything reads
    it. In a cookie it stands as ``%00``: what is typed there is quoted."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        sent = (text for data in (request.GET, request.POST) for text in _texts(data.lists()))
        nul = any("\0" in text for text in sent) or any(
            "%00" in one for one in request.COOKIES.values()
        )
        if nul or "\0" in request.path:
            raise BadRequest("A NUL was sent.")
        return self.get_response(request)


def _texts(fields: Iterable[tuple[str, list[str]]]) -> Iterable[str]:
    for name, values in fields:
        yield name
        yield from values


class SmallPages(GZipMiddleware):
    """HTML travels compressed, with as many random bytes in its head as hide its true length.

    Nothing else does: files are written or streamed as they are, and most are compressed inside.
    What forms carry against forgery is masked anew in every page, so that its length tells
    nothing of it (BREACH).
    """

    def process_response(
        self, request: HttpRequest, response: HttpResponseBase
    ) -> HttpResponseBase:
        whole_page = not response.streaming and response.headers.get("Content-Type", "").startswith(
            "text/html"
        )
        return super().process_response(request, response) if whole_page else response


class NothingKept:
    """No browser and no proxy keeps a page, which has names on it, unless its view says so."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        answer = self.get_response(request)
        if "Cache-Control" not in answer.headers:
            add_never_cache_headers(answer)
        return answer


class OneDepartment:
    """All of a page that is only read starts from the same policy, supplies and cycles."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        with the_same_department() if request.method in ("GET", "HEAD") else nullcontext():
            return self.get_response(request)


class NotTooManyWords:
    """Of questions of many words, each dear to answer, one person asks so many in a minute."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        asked = request.GET.get("q") or request.POST.get("words") or ""
        if len(asked.split()) > throttle.LONG_WORDS and request.user.is_authenticated:
            tries = throttle.Tries(throttle.LONG_QUESTIONS, str(request.user.pk))
            try:
                tries.check()
            except throttle.TooOften as problem:
                said = {"wait": problem.wait, "words": throttle.LONG_WORDS}
                page = "_too_long.html" if "HX-Target" in request.headers else "429.html"
                return HttpResponse(render_to_string(page, said), status=429)
            tries.count()
        return self.get_response(request)


CANNOT_SAVE = "Nothing can be saved now, only read. Tell whoever looks after Packbench."
FULL = "The disk is full: pages can only be read. Tell whoever looks after Packbench."
NO_ANSWER = "The database does not answer. Try again in a minute."
NOT_NOW = {
    "UNIQUE constraint": "Somebody saved the same at this moment: look at theirs first.",
    "duplicate key": "Somebody saved the same at this moment: look at theirs first.",
    "database is locked": "Somebody is importing a list, or many save at once. "
    "Try again in a minute.",
    "deadlock detected": "Two people changed the same things at once. Try again now.",
    "readonly": CANNOT_SAVE,
    "read-only": CANNOT_SAVE,
    "disk is full": FULL,
    "No space left on device": FULL,
    "connection failed": NO_ANSWER,
    "connection is bad": NO_ANSWER,
    "server closed the connection": NO_ANSWER,
    "terminating connection": NO_ANSWER,
    "the connection is closed": NO_ANSWER,
    "the connection is lost": NO_ANSWER,
}
"""What the database says, SQLite or PostgreSQL -> what the page says."""


def not_now(request: HttpRequest, problem: BaseException | None) -> HttpResponse | None:
    """The page that says why the database takes no write or gives no answer now; else None.

    It asks the database nothing, not even who is signed in.
    """
    said = str(problem) if isinstance(problem, DatabaseError) else ""
    why = next((words for mark, words in NOT_NOW.items() if mark in said), None)
    if why is None:
        return None
    LOG.warning("The database took no write", exc_info=problem, extra={"request": request})
    return HttpResponse(render_to_string("503.html", {"why": why}), status=503)


class SaidWhyNot:
    """A write that the database cannot take now is answered with why (503), not with an error."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_exception(self, request: HttpRequest, problem: Exception) -> HttpResponse | None:
        return not_now(request, problem)
