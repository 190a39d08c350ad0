"""What no arithmetic tells of instruments and what goes round them, as flags.

Pouches, rolls and wraps are sheets. A pair's flags are one byte: FAILS where a rule is not met,
OPEN where one cannot be told, and THEIRS where that is for want of a fact of the supply. Each
distinct question is asked once of the rules for one package, and looked up.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from assembly.rules.computing.catalogue import Bits
from assembly.rules.computing.columns import Catalog, Columns, Floats, floats, grouped
from assembly.rules.deciding.doubts import OF_CONTENTS
from assembly.rules.deciding.protection import protected
from assembly.rules.deciding.ways import Inside
from assembly.rules.facts.checks import derived
from assembly.rules.facts.cycles import Programme
from assembly.rules.facts.instruments import Instrument
from assembly.rules.facts.supplies import Pouch, Protector, Roll, Supply, Wrap
from assembly.rules.findings import CLOSE_G, Finding, Status
from assembly.rules.limits.handling import allowed_finding, sharp_finding
from assembly.rules.limits.weights import gross_limit_g
from assembly.rules.methods.materials import method_finding, routes_through
from assembly.rules.methods.routes import routes_for
from assembly.rules.policy.values import Policy
from catalog.vocabulary import Kind

FAILS, OPEN, THEIRS = 1, 2, 4
UNKNOWN = OPEN | THEIRS
Sheet = Pouch | Roll | Wrap
Mask = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Terms:
    """What every instrument of a catalog is decided with; as in a question about one."""

    supplies: tuple[Supply, ...]
    programmes: tuple[Programme, ...] | None
    protectors: tuple[Protector, ...] | None
    policy: Policy


def flags_of(findings: Iterable[Finding]) -> int:
    """The flags of findings together."""
    flags = 0
    for one in findings:
        if one.status is Status.NOT_MET:
            flags |= FAILS
        elif one.status is Status.CANNOT_TELL:
            known = one.missing and all(n.split(".")[0] in OF_CONTENTS for n in one.missing)
            flags |= OPEN if known else UNKNOWN
    return flags


def said_of(catalog: Catalog, sheets: Sequence[Sheet], kind: Kind, terms: Terms) -> Bits:
    """The flags of what the IFU allows, the method and sharp points: each row in each sheet."""

    def asked(one: Instrument) -> Hashable:
        return one.cycles, one.contents, one.sharp, one.protector, one.forbids

    def told(one: Instrument, sheet: Sheet) -> tuple[Finding, ...]:
        routes = routes_for(one.cycles, terms.programmes, terms.policy, one.contents)
        method = method_finding(routes, sheet.material, sheet.methods)
        return allowed_finding(one, kind), method, sharp_finding(one, kind)

    return _looked_up(catalog, sheets, asked, told)


def ways_of(catalog: Catalog, sheets: Sequence[Sheet], terms: Terms) -> Bits:
    """The flags of the way that is taken: published times, protectors, lumens."""

    def asked(one: Instrument) -> Hashable:
        tip = (one.tip_across_mm, one.tip_cover_mm) if one.protector else ()
        lumen: tuple[Hashable, ...] = ()
        if one.contents.lumen:
            lumen = (one.lumen_mm, one.lumen_length_mm, one.lumen_material, one.channels)
        return one.cycles, one.contents, one.protector or "", tip, lumen, one.pieces

    def told(one: Instrument, sheet: Sheet) -> tuple[Finding, ...]:
        routes = routes_for(one.cycles, terms.programmes, terms.policy, one.contents)
        inside = Inside(((one, one.pieces),), terms.protectors, terms.policy)
        return inside.taken(routes_through(routes, sheet.material, sheet.methods)).findings

    return _looked_up(catalog, sheets, asked, told)


def _looked_up(
    catalog: Catalog,
    sheets: Sequence[Sheet],
    asked: Callable[[Instrument], Hashable],
    told: Callable[[Instrument, Sheet], Iterable[Finding]],
) -> Bits:
    """Each row's flags in each sheet: ``told`` once of each distinct question that is ``asked``."""
    cases, of_cases = grouped(catalog.examples, asked)
    stuffs, of_stuffs = grouped(sheets, lambda sheet: (sheet.material, sheet.methods))
    flags = [[flags_of(told(one, sheet)) for sheet in of_stuffs] for one in of_cases]
    table = np.array(flags, dtype=np.uint8).reshape(len(of_cases), len(of_stuffs))
    return table[np.ix_(cases, stuffs)][catalog.kinds]


def rated_flags(weight_g: Floats, rated_g: float | None) -> Bits:
    """The flags of contents (g) against what one supply may hold."""
    bare = np.isnan(weight_g)
    if rated_g is None:
        return np.where(bare, OPEN, UNKNOWN).astype(np.uint8)
    return np.where(bare, OPEN, (weight_g > rated_g + CLOSE_G) * FAILS).astype(np.uint8)


def weights_of(
    weight_g: Floats, packaging_g: Floats, policy: Policy, wrapped: bool = False
) -> Bits:
    """The flags of the policy's net and gross limits (g), as in
    :mod:`assembly.rules.limits.weights`: each row in each supply."""
    weight_g = weight_g[:, None]
    known, bare = np.nan_to_num(weight_g, nan=0.0), np.isnan(weight_g)
    flags = np.zeros(np.broadcast_shapes(known.shape, packaging_g.shape), np.uint8)
    net, gross = policy.number_or_none("net_limit_g"), gross_limit_g(policy, wrapped)
    if net is not None:
        flags |= np.where(known > net + CLOSE_G, FAILS, bare * OPEN).astype(np.uint8)
    if gross is not None:
        near = known > policy.number("near_limit_share") * gross
        theirs = np.isnan(packaging_g) & near
        over = known + np.nan_to_num(packaging_g, nan=0.0) > gross + CLOSE_G
        open_ = (bare | theirs) * OPEN | theirs * THEIRS
        flags |= np.where(over, FAILS, open_).astype(np.uint8)
    return flags


def worn(catalog: Catalog, protectors: Sequence[Protector] | None, policy: Policy) -> Catalog:
    """The catalog with the protectors on, as in :func:`assembly.rules.deciding.protection`."""
    if not protectors:
        return catalog
    columns = catalog.columns
    tips, of_tips = grouped(
        catalog.examples, lambda one: (one.protector or "", one.tip_across_mm, one.tip_cover_mm)
    )
    bare = [derived(one, **_NOTHING) for one in of_tips]
    grown = [protected(one, protectors, policy) for one in bare]
    on = np.array([a is not b for a, b in zip(bare, grown, strict=True)])[tips][catalog.kinds]
    beyond, outside, thicker = (
        floats(getattr(one, name) for one in grown)[tips][catalog.kinds]
        for name in ("length_mm", "width_mm", "height_mm")
    )
    gaps = (columns.pieces - 1) * policy.number("item_gap_mm")
    one = (columns.width_mm - gaps) / columns.pieces
    wider = columns.pieces * (one + np.maximum(0, outside - one) - one)
    sizes = {
        "length_mm": columns.length_mm + beyond,
        "width_mm": columns.width_mm + wider,
        "height_mm": columns.height_mm + thicker,
    }
    changed = {name: np.where(on, size, getattr(columns, name)) for name, size in sizes.items()}
    grew: Columns = replace(columns, **changed)  # type: ignore[arg-type]
    return replace(catalog, columns=grew)


_NOTHING = {"length_mm": 0.0, "width_mm": 0.0, "height_mm": 0.0, "pieces": 1}
"""What a protector is put on to see what it adds: its own sizes come out."""
