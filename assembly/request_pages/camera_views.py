"""A photograph of a code, for phones whose browser reads none: read, looked up, forgotten."""

from __future__ import annotations

from urllib.parse import urlencode

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.http import require_POST

from assembly.persons import ASK
from assembly.request_pages.asking_views import carried
from catalog.photos import MAX_BYTES, PhotoError, codes_on

NO_CODE = ("No code can be read on the photograph. Hold the phone so that one label fills it, "
           "without a glare, and take it again; or type its number.")  # fmt: skip
SEVERAL = "{count} codes are on the photograph. Take it again with one of them alone."


@require_POST
@permission_required(ASK, raise_exception=True)
def read_photo(request: HttpRequest) -> HttpResponse:
    """To the page that asks, with the one code on the photograph; there too what is wrong with
    it."""
    there = "wrong" if request.POST.get("there") == "wrong" else "request_ask"
    asked = f"{reverse(there)}?{carried(request.POST).lstrip('&')}"
    try:
        code = _code_on(request)
    except PhotoError as problem:
        messages.error(request, str(problem))
        return redirect(asked)
    return redirect(f"{asked}&{urlencode({'q': code})}")


def _code_on(request: HttpRequest) -> str:
    sent = request.FILES.get("photo")
    if sent is None:
        raise PhotoError("No photograph was sent. Take one, or type the number.")
    if (sent.size or 0) > MAX_BYTES:
        raise PhotoError(f"The photograph is larger than {MAX_BYTES // 10**6} MB. Take a smaller "
                         "one.")  # fmt: skip
    codes = codes_on(sent.read())
    if not codes:
        raise PhotoError(NO_CODE)
    if len(codes) > 1:
        raise PhotoError(SEVERAL.format(count=len(codes)))
    return codes[0]
