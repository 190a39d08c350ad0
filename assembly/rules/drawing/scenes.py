"""A package to scale: which scene belongs to which candidate.

A scene decides nothing: it draws what a candidate's findings were computed from, with the
same facts. None where a size that the drawing needs is unknown.
"""

from __future__ import annotations

from dataclasses import replace

from assembly.rules.drawing.scenes_bags import Bag, bag_scene, pouch_bag, roll_bag
from assembly.rules.drawing.scenes_sheets import container_scene, wrap_scene
from assembly.rules.drawing.shapes import Scene
from assembly.rules.facts.instruments import Instrument
from assembly.rules.facts.question import Question
from assembly.rules.facts.supplies import Container, Pouch, Roll, Wrap
from assembly.rules.findings import Candidate, Show, metric
from assembly.rules.kinds.lying import lies_open
from assembly.rules.policy.values import Policy


def scene_of(
    candidate: Candidate, question: Question, policy: Policy, show: Show = metric
) -> Scene | None:
    """The scene of a candidate for one instrument."""
    supplies = {supply.code: supply for supply in question.supplies}
    supply = supplies.get(candidate.code)
    opened = lies_open(question.instrument, policy).item
    if isinstance(supply, Wrap):
        pack = question.pack or opened.box
        details = candidate.details
        return wrap_scene(question.instrument.name, pack, supply, str(details.get("fold", "")),
                          str(details.get("across", "")), show)  # fmt: skip
    if isinstance(supply, Container):
        return container_scene(opened, supply, show)
    bags = [_bag(supply, candidate, policy)] if supply else []
    for code in candidate.with_codes:
        outer = supplies.get(code or "")
        if isinstance(outer, Pouch):
            bags.insert(0, pouch_bag(outer))
    if not bags or None in bags:
        return None
    lying = _as_it_lies(opened, candidate)
    return bag_scene(lying, [bag for bag in bags if bag], policy, show)


def _as_it_lies(opened: Instrument, candidate: Candidate) -> Instrument:
    """The instrument with the sizes that the candidate's findings were asked with (mm)."""
    sizes = candidate.details.get("lying_mm")
    if not sizes:
        return opened
    length, width, height = sizes
    return replace(opened, length_mm=length, width_mm=width, height_mm=height)


def _bag(supply: Pouch | Roll, candidate: Candidate, policy: Policy) -> Bag | None:
    if isinstance(supply, Roll):
        cut = candidate.details.get("cut_length_mm")
        return roll_bag(supply, cut, policy) if isinstance(cut, float | int) else None
    return pouch_bag(supply)
