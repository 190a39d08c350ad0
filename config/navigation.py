"""The screens in the head of every page, each only for those who may open it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.conf import settings
from django.http import HttpRequest
from django.urls import reverse

from assembly.bench.settings import settings_of


@dataclass(frozen=True, slots=True)
class Screen:
    """A word in the head: the page it opens, who sees it and who does not.

    ``around``: further pages that lie under this word.
    """

    title: str
    page: str
    needs: str
    unless: str = ""
    around: tuple[str, ...] = ()


BENCH = "assembly.assemble"
FIRST = (
    Screen("Waiting", "waits", "assembly.override_decision"),
    Screen("Bench", "bench", BENCH),
    Screen("Ask", "request_ask", "assembly.ask_request", unless=BENCH),
    Screen("Requests", "requests", "assembly.view_request"),
    Screen("Loads", "loads", "assembly.run_load"),
    Screen("Shelf", "shelf", "assembly.keep_shelf"),
    Screen("Catalog", "catalog:instruments", "catalog.view_instrument",
           around=("catalog:sets", "catalog:supplies", "catalog:missing")),
)  # fmt: skip
"""The words that always show: six at the most. The first that somebody has is their first page."""
MORE = (
    Screen("Bench", "bench", "catalog.view_instrument", unless=BENCH),
    Screen("Loads", "loads", "assembly.view_load", unless="assembly.run_load"),
    Screen("Work ahead", "work_ahead", BENCH),
    Screen("Equipment", "equipment", "assembly.view_equipmenttest"),
    Screen("Upkeep", "away", BENCH, around=("containers", "loaners")),
    Screen("Stock", "stock", "assembly.set_stock_level"),
    Screen("Papers", "papers", "catalog.view_instrumentset"),
    Screen("Policy", "policy", "assembly.view_policyoverride"),
    Screen("Records", "catalog:records", "catalog.view_change"),
    Screen("Spreadsheets", "catalog:spreadsheets", "catalog.import_spreadsheets"),
    Screen("Accounts", "accounts", "auth.change_user"),
    Screen("Scanner test", "scanner", "catalog.view_instrument"),
)


def shell(request: HttpRequest) -> dict[str, Any]:
    """Template context of every page: the screens this person may open, the hospital's name,
    the units shown, and what is switched on at the bench."""
    first, more = _shown(request, FIRST), _shown(request, MORE)
    _mark_here(request.path, [*first, *more])
    session = getattr(request, "session", None)
    return {
        "screens": {"first": first, "more": more, "here_in_more": any(s["here"] for s in more)},
        "hospital_name": settings.HOSPITAL_NAME,
        "inches": session is not None and session.get("units") == "inch",
        "bench": settings_of(request) if session is not None else None,
    }


def _shown(request: HttpRequest, screens: tuple[Screen, ...]) -> list[dict[str, Any]]:
    user = getattr(request, "user", None)
    return [
        {
            "title": one.title,
            "url": reverse(one.page),
            "pages": [reverse(page) for page in (one.page, *one.around)],
            "here": False,
        }
        for one in screens
        if user is not None and user.has_perm(one.needs)
        and not (one.unless and user.has_perm(one.unless))
    ]  # fmt: skip


def _mark_here(path: str, screens: list[dict[str, Any]]) -> None:
    """Marks the screen that the path lies under: the one with the longest address; on the first
    page, whose address says nothing, the first."""
    under = [
        (len(page), number)
        for number, screen in enumerate(screens)
        for page in screen["pages"]
        if path.startswith(page)
    ]
    if path == reverse("home"):
        under = [(0, 0)] if screens else []
    if under:
        screens[max(under)[1]]["here"] = True
