"""A set laid into its basket: whether a layout was found, what was proved, what nobody can tell.

Boxes overstate instruments: a layout that was not found refuses nothing. Only one piece that
goes in at no angle, or stands too high, is proved not to fit, by the rule that the set's decision
asks as well.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from assembly.rules.deciding.set_facts import SetLine, SetQuestion
from assembly.rules.deciding.set_rules import pieces_in_finding
from assembly.rules.facts.instruments import Box
from assembly.rules.facts.supplies import Container
from assembly.rules.findings import CLOSE_RATIO, Finding, Show, Status, metric, rounded
from assembly.rules.layers.blocks import Room, blocks_of, boxes_mm3
from assembly.rules.layers.layout import CORNERS, Layout, Place, arrange, tallest
from assembly.rules.layers.moving import CHANGED, NoRoomError, Plan, kept, read
from assembly.rules.policy.values import Policy

LEVELS = (1, 2, 3)
"""So many layers of stringers are tried: the more, the lower each leans."""
NOT_SHAPES = (
    "Worked out from boxes with gaps, not from shapes: instruments may lie closer, and what "
    "stands up at one end is not seen. Try it at the bench; the makers' IFUs and your policy come "
    "first."
)


class Verdict(StrEnum):
    """How laying a set out ends."""

    FITS = "fits"
    CANNOT_FIT = "cannot fit"
    NOT_FOUND = "not found"
    CANNOT_TELL = "cannot tell"


@dataclass(frozen=True, slots=True)
class Into:
    """What a set is laid into: its name, its inside (mm), and what stays free above (mm)."""

    name: str
    inside: Box
    free_above: float = 0.0

    @property
    def room(self) -> Room | None:
        """None where a size is not on record."""
        long, wide, high = self.inside.sizes
        if long is None or wide is None or high is None or high <= self.free_above:
            return None
        return Room(long=long, wide=wide, high=high - self.free_above)


@dataclass(frozen=True)
class Asked:
    """What a layout is asked with: the lines of a count sheet, what they go into, the policy."""

    lines: tuple[SetLine, ...]
    into: Into | None
    policy: Policy

    @property
    def piece(self) -> Finding | None:
        """Whether each piece by itself goes in; None where nothing is there to go into."""
        into = self.into
        if into is None or not self.lines:
            return None
        return pieces_in_finding(self.lines, into.inside, into.name, into.free_above, self.policy)

    @property
    def share(self) -> float:
        """What the boxes of all pieces take of the room: over 1 no layout of boxes is possible."""
        room = self.into.room if self.into else None
        if room is None:
            return 0.0
        return boxes_mm3(self.lines, self.policy) / (room.long * room.wide * room.high)


@dataclass(frozen=True)
class Laid:
    """What was found for a set. ``levels`` is how its stringers lean; see :func:`blocks_of`.

    ``share`` is what the boxes alone take of the room; see :attr:`Asked.share`.
    """

    into: Into | None
    layout: Layout | None
    piece: Finding | None
    unknown: tuple[str, ...]
    levels: int
    policy: Policy
    share: float = 0.0

    @property
    def verdict(self) -> Verdict:
        if self.piece and self.piece.status is Status.NOT_MET:
            return Verdict.CANNOT_FIT
        known = self.piece is not None and self.piece.status is Status.MET
        if self.layout is None or self.unknown or not known:
            return Verdict.CANNOT_TELL
        return Verdict.NOT_FOUND if self.layout.over else Verdict.FITS

    @property
    def plan(self) -> dict[str, Any]:
        """It as plain data, to be kept; empty without a layout."""
        if self.layout is None or self.into is None:
            return {}
        return kept(self.layout, self.into.name, self.levels)

    @property
    def left_over(self) -> float:
        """The area of what found no place (mm²)."""
        return self.layout.left_over if self.layout else 0.0

    def why(self, show: Show = metric) -> str:
        """The verdict in a sentence."""
        if self.into is None:
            return "No basket and no container is on record for this set: say which on its page."
        if self.verdict is Verdict.FITS:
            return f"A layout in {self.into.name} was found."
        if self.verdict is Verdict.NOT_FOUND and self.share > 1 + CLOSE_RATIO:
            return (f"As boxes the pieces take more than the room in {self.into.name} "
                    f"({show(round(self.share, 2), 'ratio')}), even without gaps: no layout can be "
                    "found. Whether the instruments go in is seen at the bench.")  # fmt: skip
        if self.verdict is Verdict.NOT_FOUND:
            return (f"No layout of all of it in {self.into.name} was found, and none was proved "
                    "impossible: see at the bench.")  # fmt: skip
        if self.piece and self.piece.status is not Status.MET:
            return self.piece.sentence(show)
        return f"Not every size is on record: measure {', '.join(self.unknown)}."

    def warnings(self, show: Show = metric) -> tuple[str, ...]:
        """Layers that are tight, a heavy corner, what is not weighed."""
        return warnings(self.layout, self.policy, show) if self.layout else ()

    def as_json(self) -> dict[str, Any]:
        """Plain JSON types; sizes in mm, weights in g, angles in degrees."""
        layers = self.layout.layers if self.layout else ()
        return {
            "verdict": str(self.verdict),
            "why": self.why(),
            "into": self.into.name if self.into else None,
            "layers": [_layer_json(n, self.layout) for n in range(len(layers)) if self.layout],
            "no_place_found": [one.name for one in self.layout.over] if self.layout else [],
            "unknown": list(self.unknown),
            "warnings": list(self.warnings()),
            "not_considered": NOT_SHAPES,
        }


def warnings(layout: Layout, policy: Policy, show: Show = metric) -> tuple[str, ...]:
    """What is to be looked at in any layout, found or laid by hand."""
    tight, most = policy.number("layer_tight_share"), policy.number("corner_most_share")
    full = [
        f"{n} ({show(fill, 'ratio')})"
        for n, (fill, layer) in enumerate(zip(layout.fills, layout.layers, strict=True), 1)
        if fill > tight and not any(one.angle for one in layer)
    ]
    said = [f"Tight, by how much of the floor is taken: layer {', '.join(full)}."] if full else []
    said += [
        f"A heavy corner: {show(share, 'ratio')} of the weight lies {corner}. Spread it."
        for share, corner in zip(layout.corner_shares, CORNERS, strict=True)
        if share > most
    ]
    places = [one.block for layer in layout.layers for one in layer]
    if unweighed := dict.fromkeys(one.name for one in places if one.weight_g is None):
        said.append(f"Not weighed, so not in the spread: {', '.join(unweighed)}.")
    return tuple(said)


def into_of(question: SetQuestion, policy: Policy) -> Into | None:
    """The basket of the set, else its container; None where neither is on record."""
    if basket := question.basket:
        return Into(f"basket {basket.code}", basket.box)
    supply = next((one for one in question.supplies if one.code == question.packed_in), None)
    if not isinstance(supply, Container):
        return None
    free = policy.number("rim_clearance_mm")
    return Into(f"container {supply.code}", supply.inside, free)


def lay_out(asked: Asked) -> Laid:
    """The lines of a set laid into a basket or container, in layers."""
    into, policy, piece = asked.into, asked.policy, asked.piece
    room, gap = into.room if into else None, policy.number("basket_gap_mm")
    if room is None or not asked.lines:
        return Laid(into, None, piece, (), 1, policy)
    found: list[Laid] = []
    share = asked.share
    for levels in LEVELS:
        blocks, unknown = blocks_of(asked.lines, room, levels, policy)
        layout = arrange(blocks, room, gap)
        found.append(Laid(into, layout, piece, unknown, levels, policy, share))
        if not found[-1].left_over or not any(one.strung for one in blocks):
            break
    return min(found, key=lambda one: one.left_over)


def laid_as(asked: Asked, plan: Plan) -> Laid:
    """The set as it was laid by hand, or kept. NoRoomError where that is not of this record."""
    into, levels = asked.into, plan.get("levels")
    room = into.room if into else None
    if into is None or room is None or levels not in LEVELS or plan.get("into") != into.name:
        raise NoRoomError(CHANGED)
    blocks, unknown = blocks_of(asked.lines, room, int(levels), asked.policy)
    layout = read(plan, blocks, room)
    if plan.get("room") != kept(layout, into.name, int(levels))["room"]:
        raise NoRoomError(CHANGED)
    return Laid(into, layout, asked.piece, unknown, int(levels), asked.policy, asked.share)


def _layer_json(n: int, layout: Layout) -> dict[str, Any]:
    layer = layout.layers[n]
    weights = [one.block.weight_g for one in layer]
    return {
        "layer": n + 1,
        "height_mm": rounded(tallest(layer)),
        "fill": rounded(layout.fills[n]),
        "weight_g": None if None in weights else rounded(sum(one or 0 for one in weights)),
        "items": [_item_json(one) for one in layer],
    }


def _item_json(place: Place) -> dict[str, Any]:
    block = place.block
    return {
        "key": block.key,
        "name": block.words,
        "lines": [{"line": line, "pieces": pieces} for line, pieces in block.holds],
        "x_mm": rounded(place.x),
        "y_mm": rounded(place.y),
        "length_mm": rounded(block.length_mm),
        "width_mm": rounded(block.width_mm),
        "height_mm": rounded(block.height_mm),
        "across": place.across,
        "angle_degrees": rounded(math.degrees(place.angle)),
    }
