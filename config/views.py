"""Pages that belong to no app."""

import sys
from typing import Any
from uuid import uuid4

from django.contrib.auth.forms import AuthenticationForm
from django.contrib.auth.views import LoginView
from django.core.exceptions import ValidationError
from django.db import DatabaseError, connection
from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_safe
from django.views.defaults import server_error

from assembly.persons import Unknown, authenticated
from catalog.pages.exports import streamed
from catalog.reading import read_page
from catalog.runs import Run, beside
from config.installation.databases import behind
from config.installation.lines import lines
from config.middleware import not_now
from config.typed import TYPED

COLOURS = (
    *("paper", "sheet", "white", "ink", "ink-soft", "line", "line-strong", "act", "act-dark"),
    *("act-tint", "good", "good-tint", "bad", "bad-tint", "warm", "warm-tint", "open", "open-tint"),
)


class SignInForm(AuthenticationForm):
    """Name and password, tried a few times at one workstation before it has to wait."""

    request: HttpRequest  # LoginView gives one

    error_messages = {
        **AuthenticationForm.error_messages,
        "invalid_login": "Name or password is not right. Both are case-sensitive.",
    }

    def clean(self) -> dict[str, Any]:
        name, password = (self.cleaned_data.get(one) for one in ("username", "password"))
        if not name or not password:
            return self.cleaned_data
        try:
            self.user_cache = authenticated(self.request, name, password)
        except Unknown as problem:
            raise ValidationError(str(problem)) from problem
        if self.user_cache is None:
            raise self.get_invalid_login_error()
        self.confirm_login_allowed(self.user_cache)
        return self.cleaned_data


class SignIn(LoginView):
    """Name and password; back to ``?next=`` at once for whoever is signed in, by another tab.

    Where something typed was not sent, to that first.
    """

    template_name = "accounts/sign_in.html"
    form_class = SignInForm

    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        self.redirect_authenticated_user = "next" in request.GET
        return super().dispatch(request, *args, **kwargs)

    def get_success_url(self) -> str:
        waits = TYPED in self.request.session and "scripted" not in self.request.POST
        return reverse("typed") if waits else super().get_success_url()


def failed(request: HttpRequest) -> HttpResponse:
    """Any error of ours: beside a view too, where who is signed in is looked up or a session is
    kept, a database that cannot now is said to be one."""
    return not_now(request, sys.exception()) or server_error(request)


@require_safe
def healthy(request: HttpRequest) -> HttpResponse:
    """For the machine that watches whether the program answers."""
    return HttpResponse("ok", content_type="text/plain")


@require_safe
def ready(request: HttpRequest) -> HttpResponse:
    """For what sends people here: whether the database answers and is of this version."""
    try:
        waits = behind(connection)
    except (DatabaseError, OSError):
        said = "The database does not answer."
    else:
        said = f"{len(waits)} migrations are not applied." if waits else ""
    return HttpResponse(said or "ready", content_type="text/plain", status=503 if said else 200)


@read_page("catalog.view_change")
def everything(request: HttpRequest) -> HttpResponseBase:
    """Everything on record as JSON lines, made beside the web server."""
    told = Run("Everything on record", 0, "catalog.view_change")
    if begun := beside(request, told):
        return begun
    name = f"packbench-{timezone.localdate()}.jsonl"
    found = lines(request.progress)  # type: ignore[attr-defined]
    return streamed(found, name, "application/jsonl; charset=utf-8")


@require_safe
def parts(request: HttpRequest) -> HttpResponse:
    """Every part that pages are made of, in each of its states: only while developing."""
    context = {
        "colours": COLOURS,
        "spaces": range(1, 7),
        "sizes": ("small", "text", "lead", "title", "figure"),
        "new_key": uuid4().hex,
        "options": [("1", "First"), ("2", "Second")],
    }
    return render(request, "parts.html", context)
