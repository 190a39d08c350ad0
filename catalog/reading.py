"""Pages that are only read: by those who may, and without changing anything."""

from __future__ import annotations

from collections.abc import Callable

from django.contrib.auth.decorators import permission_required
from django.http.response import HttpResponseBase
from django.views.decorators.http import require_safe

View = Callable[..., HttpResponseBase]


def read_page(permission: str) -> Callable[[View], View]:
    """A view that answers GET and HEAD alone, to who has ``permission``; else it refuses."""
    may = permission_required(permission, raise_exception=True)
    return lambda view: require_safe(may(view))
