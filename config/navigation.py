"""The screens in the head of every page, each only for those who may open it."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.http import HttpRequest
from django.urls import reverse

SCREENS = (
    ("Bench", "bench", "catalog.view_instrument"),
    ("Sets", "catalog:sets", "catalog.view_instrumentset"),
    ("Instruments", "catalog:instruments", "catalog.view_instrument"),
    ("Supplies", "catalog:supplies", "catalog.view_pouch"),
    ("Papers", "papers", "catalog.view_instrumentset"),
    ("Requests", "requests", "assembly.view_request"),
    ("Loads", "loads", "assembly.view_load"),
    ("Policy", "policy", "assembly.view_policyoverride"),
    ("Records", "catalog:records", "catalog.view_change"),
    ("Spreadsheets", "catalog:spreadsheets", "catalog.import_spreadsheets"),
)


def screens(request: HttpRequest) -> dict[str, Any]:
    """Template context: the screens this person may open, and the hospital's name."""
    user = getattr(request, "user", None)
    shown = [
        {"title": title, "url": reverse(name), "here": _here(request.path, reverse(name))}
        for title, name, permission in SCREENS
        if user is not None and user.has_perm(permission)
    ]
    return {
        "screens": shown,
        "hospital_name": settings.HOSPITAL_NAME,
        "inches": getattr(request, "session", {}).get("units") == "inch",
    }


def _here(path: str, url: str) -> bool:
    return path == url if url == reverse("bench") else path.startswith(url)
