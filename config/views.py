"""Pages that belong to no app."""

from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_safe


@require_safe
def healthy(request: HttpRequest) -> HttpResponse:
    """For the machine that watches whether the program answers."""
    return HttpResponse("ok", content_type="text/plain")
