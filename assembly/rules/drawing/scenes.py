"""A package to scale: which scene belongs to which candidate.

A scene decides nothing: it draws what a candidate's findings were computed from, with the
same facts. None where a size that the drawing needs is unknown.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from assembly.rules.deciding.set_facts import SetQuestion
from assembly.rules.drawing.label_places import Size
from assembly.rules.drawing.pieces import Lain, lain
from assembly.rules.drawing.scenes_bags import Bag, bag_scene, pouch_bag, roll_bag
from assembly.rules.drawing.scenes_baskets import Inside, container_scene, fullest, set_scenes
from assembly.rules.drawing.scenes_sheets import wrap_scene
from assembly.rules.drawing.shapes import Outline, Scene
from assembly.rules.facts.instruments import Box, Instrument
from assembly.rules.facts.question import Question
from assembly.rules.facts.supplies import Container, Pouch, Roll, Wrap
from assembly.rules.findings import Candidate, Show, metric
from assembly.rules.kinds.lying import ACROSS, ON_ITS_SIDE, lies_open
from assembly.rules.policy.values import Policy


def scene_of(
    candidate: Candidate, question: Question, policy: Policy, show: Show = metric,
    label: Size | None = None,
) -> Scene | None:  # fmt: skip
    """The scene of a candidate for one instrument; a bag with a ``label`` of this size (mm)."""
    supplies = {supply.code: supply for supply in question.supplies}
    supply = supplies.get(candidate.code)
    opened = lies_open(question.instrument, policy).item
    if isinstance(supply, Wrap):
        piece = lain(opened)
        said = (piece.outlines(0, 0), (piece.legend,)) if piece else ((), ())
        return _wrapped(opened.name, question.pack or opened.box, supply, candidate, show, *said)
    piece = _as_it_lies(opened, candidate)
    if piece is None:
        return None
    if isinstance(supply, Container):
        return container_scene(piece, supply, policy, show)
    bags = [_bag(supply, candidate, policy)] if supply else []
    for code in candidate.with_codes:
        outer = supplies.get(code or "")
        if isinstance(outer, Pouch):
            bags.insert(0, pouch_bag(outer))
    known = [bag for bag in bags if bag]
    return bag_scene(piece, known, policy, show, label) if known and known == bags else None


def scenes_of_set(
    candidate: Candidate, question: SetQuestion, policy: Policy, show: Show = metric
) -> tuple[Scene, ...]:
    """What lies in a candidate for a set, and how its sheet is folded where it is a wrap."""
    supply = next((one for one in question.supplies if one.code == candidate.code), None)
    basket = question.basket
    if isinstance(supply, Container):
        place = Inside(supply.code, supply.inside, basket.box if basket else None, rigid=True)
        return tuple(set_scenes(question.lines, place, policy, show))
    if isinstance(supply, Wrap):
        pack = question.pack or (basket.box if basket else Box())
        name = f"basket {basket.code}" if basket else "the pack"
        place = Inside(name, basket.box if basket else pack)
        contents = fullest(question.lines, place, policy)
        folds = _wrapped("the set", pack, supply, candidate, show, contents)
        return (*set_scenes(question.lines, place, policy, show), *([folds] if folds else []))
    return ()


def _wrapped(
    name: str, pack: Box, wrap: Wrap, candidate: Candidate, show: Show,
    contents: Sequence[Outline], said: tuple[str, ...] = (),
) -> Scene | None:  # fmt: skip
    fold, across = (str(candidate.details.get(key, "")) for key in ("fold", "across"))
    return wrap_scene(name, pack, wrap, fold, across, show, contents, said)


def _as_it_lies(opened: Instrument, candidate: Candidate) -> Lain | None:
    """The instrument as the candidate's findings were asked: its sizes (mm) and its side."""
    how = str(candidate.details.get("way_to_lie", ""))
    if sizes := candidate.details.get("lying_mm"):
        length, width, height = sizes
        opened = replace(opened, length_mm=length, width_mm=width, height_mm=height)
    return lain(opened, ACROSS in how, ON_ITS_SIDE in how)


def _bag(supply: Pouch | Roll, candidate: Candidate, policy: Policy) -> Bag | None:
    if isinstance(supply, Roll):
        cut = candidate.details.get("cut_length_mm")
        return roll_bag(supply, cut, policy) if isinstance(cut, float | int) else None
    return pouch_bag(supply)
