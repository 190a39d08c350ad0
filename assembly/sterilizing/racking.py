"""From the packages of a load to how they stand in its sterilizer's rack.

Sizes of the packaging are those that lie with each package; how thick its contents are is asked
of the catalog of today. What is not on record is named.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from assembly.judging.decisions import drawn
from assembly.judging.facts_from_catalog import policy_in_force
from assembly.judging.taking import supplies_in
from assembly.models import Load, Package
from assembly.packages.standing import packages_in
from assembly.rules.deciding.carried import Carried, from_json
from assembly.rules.drawing.scenes_racks import shelf_scene
from assembly.rules.facts.supplies import Container, Pouch, Roll
from assembly.rules.findings import Finding
from assembly.rules.kinds.lying import ON_ITS_SIDE
from assembly.rules.limits.racks import Piece, Shelf
from assembly.rules.policy.values import Policy
from assembly.rules.telling.loading import (
    Rack,
    Stands,
    contents_findings,
    how_many,
    rack_finding,
)
from catalog.models import Sterilizer
from catalog.vocabulary import Form, Kind

CUT = re.compile(r"cut to (\d+(?:\.\d+)?) mm")
"""How the name of a roll says its length (`telling.explain.name`)."""


@dataclass(frozen=True, slots=True)
class Loading:
    """What is said of a load before it is started: findings, how many stand, and the shelves."""

    findings: tuple[Finding, ...]
    counts: tuple[str, ...] = ()
    picture: str = ""


def loading_of(load: Load) -> Loading:
    """How what is in the load stands in its sterilizer."""
    policy = policy_in_force()
    stands = stand_in(load, policy)
    rack = rack_of(load.sterilizer)
    room, shelves = rack_finding(stands, rack, policy)
    findings = contents_findings(stands, policy) + ((room,) if room else ())
    if rack is None:
        return Loading(findings)
    scenes = [shelf_scene(one, rack.shelf, n) for n, one in enumerate(shelves, start=1)]
    return Loading(findings, tuple(how_many(stands, rack, policy)), drawn(*scenes))


def is_full(load: Load, policy: Policy) -> bool | None:
    """Whether no other one as small as the smallest in it stands in its sterilizer's rack, placed
    in the one way that is searched; None where that cannot be told."""
    stands, rack = stand_in(load, policy), rack_of(load.sterilizer)
    pieces = [(one.piece.length * one.piece.width * one.piece.height, one.code, one)
              for one in stands if one.piece]  # fmt: skip
    if rack is None or not pieces:
        return None
    _, _, smallest = min(pieces)
    _, shelves = rack_finding([*stands, smallest], rack, policy)
    return len(shelves) > rack.shelves if shelves else None


def stand_in(load: Load, policy: Policy) -> list[Stands]:
    """How each package of the load stands: one query."""
    packages = packages_in(load).select_related("instrument", "build__instrument_set__basket")
    return [stands_of(one, policy) for one in packages]


def rack_of(sterilizer: Sterilizer) -> Rack | None:
    """Its shelves; None while a size or their number is not on record."""
    sides = (sterilizer.shelf_length_mm, sterilizer.shelf_width_mm, sterilizer.shelf_height_mm)
    if None in sides or not sterilizer.shelves:
        return None
    length, width, height = (float(side) for side in sides if side is not None)
    most = sterilizer.shelf_most_g
    return Rack(
        Shelf(length, width, height), sterilizer.shelves, None if most is None else float(most)
    )


def stands_of(package: Package, policy: Policy) -> Stands:
    word, _ = supplies_in(package.taken)
    kind = next((kind for kind in Kind if kind == word), None)
    carried = from_json(package.serves) if package.serves else None
    piece, missing = _piece(package, kind, carried, policy)
    inside = carried.inside if carried else ()
    return Stands(
        code=package.code, what=package.what, kind=kind,
        classes=frozenset(one.item_class for one in inside),
        basin=any(one.form is Form.BASIN for one in inside),
        gross_g=carried.gross_g if carried else None, piece=piece, missing=missing,
    )  # fmt: skip


def _piece(
    package: Package, kind: Kind | None, carried: Carried | None, policy: Policy
) -> tuple[Piece | None, str]:
    gross = carried.gross_g if carried else None
    around = carried.around if carried else ()
    if kind in (Kind.POUCH, Kind.ROLL):
        return _on_edge(package, around, gross, policy)
    sizes: Any = next((one for one in around if isinstance(one, Container)), None)
    if kind is Kind.WRAP and package.build:
        sizes = package.build.instrument_set.basket
    names = ("outer_length_mm", "outer_width_mm", "outer_height_mm")
    sides = [getattr(sizes, name, None) for name in names]
    if None in sides:
        return None, "its size outside"
    length, width, height = (float(side) for side in sides if side is not None)
    return Piece(package.code, length, width, height, gross_g=gross), ""


def _on_edge(
    package: Package, around: Iterable[object], gross: float | None, policy: Policy
) -> tuple[Piece | None, str]:
    sheets = [one for one in around if isinstance(one, Pouch | Roll)]
    cut = CUT.search(package.supply)
    width = max((_wide(one) or 0 for one in sheets), default=0)
    length = max((_long(one) or 0 for one in sheets), default=0) or (float(cut[1]) if cut else 0)
    if not width or not length:
        return None, "the size of its pouch outside"
    item = package.instrument
    side = ON_ITS_SIDE in package.supply
    thick = (item.width_mm if side else item.height_mm) if item else None
    if thick is None:
        return None, f"how thick {package.what} is as it lies"
    more = policy.number("pouch_thicker_mm")
    return Piece(package.code, length, float(thick) + more, width, pouch=True, gross_g=gross), ""


def _wide(sheet: Pouch | Roll) -> float | None:
    return sheet.outer_width_mm if isinstance(sheet, Pouch) else sheet.nominal_width_mm


def _long(sheet: Pouch | Roll) -> float | None:
    return sheet.outer_length_mm if isinstance(sheet, Pouch) else None
