"""What each instrument of a whole catalog is packed in, by arrays as far as they reach.

They know pouches, rolls and wraps. Where a container, or a pack of textiles, may be meant they
say ASK: then the rules for one package are asked, with the supplies that are not ruled out. The
tests hold every answer equal to :func:`assembly.rules.deciding.choose.decide`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from assembly.rules.comparing.choosing import ASK, Choice, Found, Judged
from assembly.rules.comparing.cut_rolls import rolls_judged
from assembly.rules.comparing.sheets import (
    FAILS,
    OPEN,
    UNKNOWN,
    Sheet,
    Terms,
    said_of,
    ways_of,
    weights_of,
    worn,
)
from assembly.rules.comparing.wrap_sheets import wraps_judged
from assembly.rules.computing.catalogue import (
    BIT,
    NONE,
    UNDECIDED,
    Bits,
    Evaluation,
    Needs,
    evaluate,
    ways_to_lie,
)
from assembly.rules.computing.columns import Catalog, Columns, floats
from assembly.rules.deciding.choose import decide
from assembly.rules.facts.question import Question
from assembly.rules.facts.supplies import Container, Pouch, Roll, Supply, Wrap
from assembly.rules.findings import Outcome
from catalog.vocabulary import ItemClass, Kind


@dataclass(frozen=True, slots=True)
class Outcomes:
    """What each row is packed in: its place in ``sheets``, or NONE, UNDECIDED or ASK.

    ``flags`` are those of each row in each sheet, all findings together.
    """

    terms: Terms
    sheets: tuple[Sheet, ...]
    found: Found
    flags: Bits

    def said(self, row: int) -> str:
        """The package of one row, or "undecided" or "none"; "" where the rules are to be asked."""
        code = int(self.found[row])
        return name_of(self.sheets[code]) if code >= 0 else _WORDS[code]

    def asked(self, catalog: Catalog, row: int, ifu_received: bool | None = None) -> str:
        """The package of one row by the rules for one package, of what may serve it."""
        question = Question(
            instrument=catalog.facts(row),
            supplies=self.left(row),
            programmes=self.terms.programmes,
            protectors=self.terms.protectors,
            ifu_received=ifu_received,
        )
        decision = decide(question, self.terms.policy)
        if decision.recommended:
            return f"{decision.recommended.kind} {decision.recommended.code}"
        return str(decision.outcome)

    def left(self, row: int) -> tuple[Supply, ...]:
        """What is not ruled out: no other is ever taken, and none leaves anything undecided."""
        out = {(one.kind, one.code) for one, flags in zip(self.sheets, self.flags[row], strict=True)
               if flags & FAILS}  # fmt: skip
        return tuple(one for one in self.terms.supplies if (one.kind, one.code) not in out)


_WORDS = {NONE: str(Outcome.NONE), UNDECIDED: str(Outcome.UNDECIDED), ASK: ""}


def name_of(supply: Supply) -> str:
    """A supply as an outcome names it.

    >>> name_of(Pouch(code="P01"))
    'pouch P01'
    """
    return f"{supply.kind} {supply.code}"


def outcomes(catalog: Catalog, terms: Terms) -> Outcomes:
    """Every instrument with these supplies, cycles, protectors and values."""
    policy, kinds = terms.policy, terms.policy.words("kinds_in_order")
    on = _Worn(worn(catalog, terms.protectors, policy), terms)
    choice, judged = Choice(len(catalog), on.ways, policy), list[Judged]()
    for n, kind in enumerate(kinds):
        if kind == Kind.CONTAINER:
            if any(isinstance(one, Container) for one in terms.supplies):
                choice.container(Kind.ROLL in kinds[n:])
            continue
        start = sum(len(one.sheets) for one in judged)
        judged.append(_JUDGED[Kind(kind)](on))
        choice.take(judged[-1], start)
    sheets = tuple(sheet for one in judged for sheet in one.sheets)
    none = np.zeros((len(catalog), 0), np.uint8)
    return Outcomes(
        terms, sheets, choice.ended(), np.hstack([none, *(one.flags for one in judged)])
    )


class _Worn:
    """The catalog with its protectors on, and each way in which it may lie."""

    def __init__(self, catalog: Catalog, terms: Terms) -> None:
        self.catalog, self.terms = catalog, terms
        self.lying = ways_to_lie(catalog.columns, terms.policy)
        self.ways = [Needs(way, terms.policy) for way in self.lying]
        self.sure = np.zeros(len(catalog), bool)

    def told(self, sheets: Sequence[Sheet], kind: Kind) -> Bits:
        """The flags of what is no arithmetic."""
        said = said_of(self.catalog, sheets, kind, self.terms)
        return said | ways_of(self.catalog, sheets, self.terms)


def _in_pouches(on: _Worn) -> Judged:
    columns, terms = on.catalog.columns, on.terms
    stocked = [one for one in terms.supplies if isinstance(one, Pouch)]
    found = evaluate(columns, stocked, terms.programmes, terms.policy)
    weights = floats(one.weight_g for one in found.pouches)[None, :]
    flags = on.told(found.pouches, Kind.POUCH) | _arithmetic(found, columns)
    flags |= weights_of(columns.weight_g, weights, terms.policy)
    place = np.broadcast_to(np.arange(len(found.pouches), dtype=float), flags.shape)
    return Judged(Kind.POUCH, found.pouches, flags, place, on.sure)


def _arithmetic(found: Evaluation, columns: Columns) -> Bits:
    """The flags of each row in each pouch by its sizes and weight."""
    said = BIT["allowed"] | BIT["method"] | BIT["sharp points"]
    flags = (found.not_met != 0).astype(np.uint8) * FAILS
    flags |= (found.cannot_tell & ~said != 0).astype(np.uint8) * OPEN
    unknown = np.array([_unknown(one) for one in found.pouches], dtype=np.uint8)
    rated = np.isnan(floats(one.rated_g for one in found.pouches))
    theirs = (found.cannot_tell & unknown != 0) | rated & ~np.isnan(columns.weight_g)[:, None]
    return flags | theirs.astype(np.uint8) * UNKNOWN


def _unknown(pouch: Pouch) -> int:
    """The rules that lack a size of the pouch, as bits."""
    width, length = pouch.inner_width_mm is None, pouch.inner_length_mm is None
    return int(BIT["width"] * width | BIT["length"] * length | BIT["fill"] * (width or length))


def _in_rolls(on: _Worn) -> Judged:
    rolls = sorted((one for one in on.terms.supplies if isinstance(one, Roll)), key=_by_cost)
    said = said_of(on.catalog, rolls, Kind.ROLL, on.terms)
    flags, material, piece_g = rolls_judged(on.ways, rolls, said, on.terms.policy)
    flags |= ways_of(on.catalog, rolls, on.terms)
    flags |= weights_of(on.catalog.columns.weight_g, piece_g, on.terms.policy)
    return Judged(Kind.ROLL, tuple(rolls), flags, np.round(material, 3), on.sure, material)


def _in_wraps(on: _Worn) -> Judged:
    """Packs of textiles have limits of their own, which the arrays do not know."""
    wraps = sorted((one for one in on.terms.supplies if isinstance(one, Wrap)), key=_by_area)
    flags, suits = wraps_judged(on.lying[0], wraps, on.terms.policy)
    sheets_g = floats(one.pack_g for one in wraps)[None, :]
    flags |= on.told(wraps, Kind.WRAP)
    flags |= weights_of(on.catalog.columns.weight_g, sheets_g, on.terms.policy, wrapped=True)
    textiles = [one.item_class is ItemClass.TEXTILES for one in on.catalog.examples]
    unsure = np.array(textiles, dtype=bool)[on.catalog.kinds] & bool(wraps)
    place = np.arange(len(wraps)) + np.where(suits, 0, len(wraps))
    return Judged(Kind.WRAP, tuple(wraps), flags, place.astype(float), unsure)


def _by_cost(supply: Roll | Wrap) -> tuple[float, str]:
    return (math.inf if supply.cost is None else supply.cost, supply.code)


def _by_area(wrap: Wrap) -> tuple[float, float, str]:
    area = math.inf if wrap.area_mm2 is None else round(wrap.area_mm2, 3)
    return (area, *_by_cost(wrap))


_JUDGED = {Kind.POUCH: _in_pouches, Kind.ROLL: _in_rolls, Kind.WRAP: _in_wraps}
