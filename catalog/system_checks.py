"""What Django checks at start-up beyond its own."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.core.checks import CheckMessage, Error, register

from catalog.scans.scanning import stand_in_problem


@register
def separator_can_stand_in(**_: Any) -> list[CheckMessage]:
    """SCANNER_SEPARATOR must be nothing that a GS1 value may hold."""
    stand_in = settings.SCANNER_SEPARATOR
    problem = stand_in_problem(stand_in) if stand_in else None
    return [Error(f"SCANNER_SEPARATOR: {problem}", id="catalog.E001")] if problem else []
