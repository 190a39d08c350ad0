"""How a package is asked for in an address: pieces, single or double, fold."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest

from assembly.judging.facts_from_catalog import policy_in_force
from catalog.vocabulary import Fold


def most_pieces() -> int:
    """How many of a kind the policy lets lie in one package."""
    return int(policy_in_force().number("most_items_in_pouch"))


def asked_for(request: HttpRequest) -> dict[str, Any]:
    """``?pieces=``, ``?double=`` and ``?fold=`` as the decision takes them."""
    fold = request.GET.get("fold", "")
    typed = request.GET.get("pieces", "1")
    pieces = int(typed) if typed.isascii() and typed.isdigit() and len(typed) < 4 else 1
    return {
        "pieces": min(most_pieces(), max(1, pieces)),
        "double": bool(request.GET.get("double")),
        "fold": Fold(fold) if fold in list(Fold) else None,
    }
