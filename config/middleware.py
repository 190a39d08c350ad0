"""What happens to a request before and after the views."""

from __future__ import annotations

from collections.abc import Callable

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.urls import reverse


class SignInWholePage:
    """A part of a page that asks for a sign-in leads the whole page there.

    A page that renews itself would otherwise put the sign-in page inside itself.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        answer = self.get_response(request)
        to_sign_in = answer.status_code == 302 and answer.headers.get("Location", "").startswith(
            reverse(settings.LOGIN_URL)
        )
        # HX-Target: a part is asked for by htmx itself. Scripts that send counts and scans
        # keep them, and try again.
        if to_sign_in and "HX-Target" in request.headers:
            return HttpResponse(headers={"HX-Redirect": reverse(settings.LOGIN_URL)})
        return answer
