"""The sealer beside a workstation: named once, kept in the browser, because it stands there."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest

from assembly.equipment.sealers import sealers_today, windows_of
from assembly.judging.facts_from_catalog import policy_in_force
from assembly.ledger import Refused
from assembly.models import Package
from catalog.models import Sealer

SEALER = "sealer"
"""What the browser keeps it under, and pages send it as."""


def sealer_from(request: HttpRequest) -> Sealer | None:
    """The sealer that a page sends, else the workstation's, else the only one; None where none
    is said. Refused for one that is unknown."""
    sent = request.POST.get(SEALER, "")
    asked = sent or request.COOKIES.get(SEALER, "")
    in_use = Sealer.objects.filter(active=True)
    found = in_use.filter(code=asked).first() if asked else None
    if sent and found is None:
        raise Refused(f"“{sent}” is no sealer in use here. Choose one of the list.")
    return found or (in_use.first() if in_use.count() == 1 else None)


def sealers_shown(request: HttpRequest, package: Package) -> dict[str, Any]:
    """The sealers to choose from for a package that heat closes, each as it stands for it, the
    workstation's chosen; empty where heat closes none of it or no sealer is on record."""
    windows = windows_of(package)
    every = sealers_today(policy_in_force()) if windows else []
    if not every:
        return {}
    chosen = request.POST.get(SEALER, "") or request.COOKIES.get(SEALER, "")
    only = every[0].sealer.code if len(every) == 1 else ""
    return {
        "asked": [f"{one.code} is sealed at {one.words}." for one in windows],
        "chosen": chosen if any(one.sealer.code == chosen for one in every) else only,
        "sealers": [(one.sealer.code, f"{one.sealer.code}, {one.words(windows)}") for one in every],
    }
