"""How the packages of one load stand in its sterilizer: findings on what is really in it.

What is told is met; what cannot be told for want of a fact names it. The page does not see the
rack: the sterilizer maker's IFU comes first.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from assembly.rules.findings import Finding, Rule, metric
from assembly.rules.limits.racks import Piece, Placed, Shelf, arranged, pouches_on, why_not
from assembly.rules.policy.values import Policy
from assembly.rules.telling.words import told
from catalog.vocabulary import ItemClass, Kind

SHEETS = (Kind.POUCH, Kind.ROLL)
RACK = "our geometry: equal boxes in one grid, pouches on edge in lanes"
MOST_NAMED = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class Stands:
    """A package as far as its place in a rack turns on it.

    ``kind`` and ``classes`` (of what is inside) are empty where it carries no facts. ``piece``
    is its size as it stands, None where ``missing`` says what is not on record.
    """

    code: str
    what: str
    kind: Kind | None = None
    classes: frozenset[ItemClass] = frozenset()
    basin: bool = False
    gross_g: float | None = None
    piece: Piece | None = None
    missing: str = ""

    @property
    def textile(self) -> bool:
        return self.classes == {ItemClass.TEXTILES}

    @property
    def named(self) -> str:
        weight = "" if self.gross_g is None else f" ({metric(self.gross_g, 'g')})"
        return f"{self.code} {self.what}{weight}"


@dataclass(frozen=True, slots=True)
class Rack:
    """The shelves of a sterilizer: how many, the room on each, and what each may bear (g)."""

    shelf: Shelf
    shelves: int
    most_g: float | None = None


def contents_findings(load: Sequence[Stands], policy: Policy) -> tuple[Finding, ...]:
    """What is heavy and goes low, how pouches face, which basins stand on edge."""
    found = (_heavy(load), _pouches(load, policy), _basins(load), _unknown(load))
    return tuple(one for one in found if one is not None)


def _list(named: Iterable[str]) -> str:
    every = list(named)
    more = f" and {len(every) - MOST_NAMED} more" if len(every) > MOST_NAMED else ""
    return ", ".join(every[:MOST_NAMED]) + more


def _rule(name: str, **put_in: str) -> tuple[Rule, str]:
    words = told("loading", name, None, known=None, **put_in)
    return Rule(name, words["source"]), words["text"]


def _heavy(load: Sequence[Stands]) -> Finding | None:
    """The order from below, heaviest first, where there is something to put above."""
    textiles = [one for one in load if one.textile]
    boxes = [one for one in load if one.kind not in (*SHEETS, None) and not one.textile]
    if not boxes or len(boxes) + len(textiles) < 2:
        return None
    if unknown := [one for one in boxes if one.gross_g is None]:
        rule, _ = _rule("heavy below", heavy="", above="")
        return rule.cannot_tell("Which goes lowest cannot be told: the weight is not on record of "
                                f"{_list(one.named for one in unknown)}.", "gross_g")  # fmt: skip
    order = sorted(boxes, key=lambda one: -(one.gross_g or 0))
    above = (
        f", and above them the textiles {_list(one.named for one in textiles)}" if textiles else ""
    )
    rule, text = _rule("heavy below", heavy=_list(one.named for one in order), above=above)
    return rule.met(text)


def _pouches(load: Sequence[Stands], policy: Policy) -> Finding | None:
    pouches = [one for one in load if one.kind in SHEETS]
    if not pouches:
        return None
    way = policy.word("facing_in_chamber")
    facing = told("loading", way, policy)
    rule = Rule("pouches on edge", f"{told('loading', 'edge')['source']}; {facing['source']}")
    count = f"{len(pouches)} pouches" if len(pouches) > 1 else f"The pouch {pouches[0].code}"
    return rule.met(f"{count}: on edge, with space between, not stacked. {facing['text']}")


def _basins(load: Sequence[Stands]) -> Finding | None:
    basins = [one for one in load if one.basin]
    if not basins:
        return None
    rule, text = _rule("basins on edge", named=_list(one.named for one in basins))
    return rule.met(text)


def _unknown(load: Sequence[Stands]) -> Finding | None:
    unknown = [one for one in load if one.kind is None]
    if not unknown:
        return None
    return Rule("what it is", RACK).cannot_tell(
        f"How these stand cannot be told: what they are packed in is not on record of "
        f"{_list(one.named for one in unknown)}.", "kind",
    )  # fmt: skip


def rack_finding(
    load: Sequence[Stands], rack: Rack | None, policy: Policy
) -> tuple[Finding | None, list[list[Placed]]]:
    """Whether all of it stands on the sterilizer's shelves, and how, shelf by shelf.

    None and nothing for an empty load. What is not found is not refused: other ways to turn the
    packages are not searched.
    """
    rule = Rule("room in the rack", f"{RACK}; {policy.source('rack_gap_mm')}")
    if not load:
        return None, []
    if rack is None:
        return rule.cannot_tell("The shelves of this sterilizer are not on record: how many stand "
                                "cannot be told. A coordinator adds them under Supplies.",
                                "shelf_length_mm"), []  # fmt: skip
    if large := [
        (one, why) for one in load if one.piece and (why := why_not(rack.shelf, one.piece))
    ]:
        words = "; ".join(f"{one.named}: {why}" for one, why in large)
        return rule.not_met(f"Does not stand on a shelf of this sterilizer: {words}."), []
    if unknown := [one for one in load if one.piece is None]:
        words = "; ".join(f"{one.code}: {one.missing}" for one in unknown[:MOST_NAMED])
        return rule.cannot_tell(f"Whether all of it stands cannot be told. Not on record: {words}.",
                                "size"), []  # fmt: skip
    if rack.most_g is not None and (light := [one for one in load if one.gross_g is None]):
        return rule.cannot_tell("A shelf bears a weight, and it is not on record of "
                                f"{_list(one.named for one in light)}.", "gross_g"), []  # fmt: skip
    pieces = [one.piece for one in load if one.piece]
    found = arranged(pieces, rack.shelf, policy.number("rack_gap_mm"), rack.most_g) or []
    if len(found) <= rack.shelves:
        return rule.met(f"All of it stands on {len(found)} of {rack.shelves} shelves.",
                        figure=len(found), limit=rack.shelves, unit=""), found  # fmt: skip
    return rule.cannot_tell(f"One way to place it takes {len(found)} shelves, there are "
                            f"{rack.shelves}: try it by hand, or leave some for the next load.",
                            "arrangement"), found  # fmt: skip


def how_many(load: Sequence[Stands], rack: Rack, policy: Policy) -> list[str]:
    """Of each size of pouch in the load, as thick as its thickest, how many stand at least."""
    thickest: dict[tuple[float, float], Piece] = {}
    for one in load:
        if one.piece and one.piece.pouch:
            size = (one.piece.height, one.piece.length)
            if size not in thickest or thickest[size].width < one.piece.width:
                thickest[size] = one.piece
    gap, said = policy.number("rack_gap_mm"), []
    for (width, length), piece in sorted(thickest.items()):
        count = pouches_on(rack.shelf, piece, gap).count
        thick = metric(piece.width, "mm")
        said.append(f"Pouches {width:g} × {length:g} mm, {thick} thick: at least "
                    f"{count} on a shelf, {count * rack.shelves} in the rack.")  # fmt: skip
    return said
