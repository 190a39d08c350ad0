"""A package to scale: which scene belongs to which candidate.

A scene decides nothing: it draws what a candidate's findings were computed from, with the
same facts. None where a size that the drawing needs is unknown.
"""

from __future__ import annotations

from assembly.rules.drawing.scenes_bags import Bag, bag_scene, pouch_bag, roll_bag
from assembly.rules.drawing.scenes_sheets import container_scene, wrap_scene
from assembly.rules.drawing.shapes import Scene
from assembly.rules.facts.question import Question
from assembly.rules.facts.supplies import Container, Pouch, Roll, Wrap
from assembly.rules.findings import Candidate, Show, metric
from assembly.rules.policy.values import Policy


def scene_of(
    candidate: Candidate, question: Question, policy: Policy, show: Show = metric
) -> Scene | None:
    """The scene of a candidate for one instrument."""
    supplies = {supply.code: supply for supply in question.supplies}
    supply = supplies.get(candidate.code)
    if isinstance(supply, Wrap):
        pack = question.pack or question.instrument.box
        details = candidate.details
        return wrap_scene(question.instrument.name, pack, supply, str(details.get("fold", "")),
                          str(details.get("across", "")), show)  # fmt: skip
    if isinstance(supply, Container):
        return container_scene(question.instrument, supply, show)
    bags = [_bag(supply, candidate, policy)] if supply else []
    for code in candidate.with_codes:
        outer = supplies.get(code or "")
        if isinstance(outer, Pouch):
            bags.insert(0, pouch_bag(outer))
    if not bags or None in bags:
        return None
    return bag_scene(question.instrument, [bag for bag in bags if bag], policy, show)


def _bag(supply: Pouch | Roll, candidate: Candidate, policy: Policy) -> Bag | None:
    if isinstance(supply, Roll):
        cut = candidate.details.get("cut_length_mm")
        return roll_bag(supply, cut, policy) if isinstance(cut, float | int) else None
    return pouch_bag(supply)
