"""Where packages are, in words, and who has them: what a recall and a load's page name."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from assembly.models import (
    Load,
    LoadedPackage,
    LoadState,
    Package,
    Request,
    ShelfMove,
    ShelfState,
)

OUT = (ShelfState.HANDED_OVER, ShelfState.OPENED)
"""What was so once left the department, or was opened."""


@dataclass(frozen=True, slots=True)
class Whereabouts:
    """A package and where it is now, in words.

    ``out``: it left the department, or was opened: somebody has to be told. ``to``: who got it.
    ``last`` is how it last moved, blank where it never did; ``request`` what it serves.
    """

    package: Package
    words: str
    out: bool = False
    opened: bool = False
    to: str = ""
    last: str = ""
    request: Request | None = None


def whereabouts_of(packages: Iterable[Package]) -> list[Whereabouts]:
    """Each package and where it is, those that went out first: two queries."""
    found = list(packages)
    moves: dict[int, list[ShelfMove]] = {}
    of_them = ShelfMove.objects.filter(package__in=found).select_related("place")
    for move in of_them:
        moves.setdefault(move.package_id, []).append(move)
    loads = _loads([one for one in found if one.pk not in moves])
    each = (_whereabouts(one, moves.get(one.pk, []), loads.get(one.pk)) for one in found)
    return sorted(each, key=lambda one: not one.out)


def _loads(packages: list[Package]) -> dict[int, Load]:
    """The load that each of them is in or was run in; no query where there are none."""
    if not packages:
        return {}
    inside = LoadedPackage.objects.filter(package__in=packages, taken_out_at=None)
    return {one.package_id: one.load for one in inside.select_related("load")}


def _whereabouts(package: Package, moves: list[ShelfMove], load: Load | None) -> Whereabouts:
    opened = any(move.state == ShelfState.OPENED for move in moves)
    out = any(move.state in OUT for move in moves)
    to = next((move.to for move in reversed(moves) if move.to), "")
    last = moves[-1].state if moves else ""
    if package.is_void:
        words = f"void: {package.void_reason}"
    elif not moves:
        words = _not_moved(load)
    else:
        words = _words(moves, to)
    return Whereabouts(package, words, out, opened, to, last)


def _not_moved(load: Load | None) -> str:
    """Where what never lay on a shelf is looked for."""
    if load is None:
        return "in the department, not put away"
    if load.state == LoadState.GATHERING:
        return f"Loaded for {load.sterilizer_code}, load {load}, not started"
    if load.state == LoadState.RUNNING:
        return f"In the sterilizer {load.sterilizer_code}, load {load}"
    return f"Out of {load.sterilizer_code}, load {load}, not put away"


def _words(moves: list[ShelfMove], to: str) -> str:
    last = moves[-1]
    words = last.get_state_display()
    if last.state == ShelfState.DAMAGED:
        words += f" ({last.reason})"
    if any(move.state == ShelfState.OPENED for move in moves[:-1]):
        words = f"Opened, then {words[0].lower()}{words[1:]}"
    if last.place:
        words += f": {last.place}"
    return f"{words}, went to {to}" if to else words
