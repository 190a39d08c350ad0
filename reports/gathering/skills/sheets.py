"""What a trainer watches, by kind of work (``reports/data/skills.toml``), and its sheet."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from pathlib import Path

from django.conf import settings

from assembly.rules.findings import metric
from assembly.rules.policy.values import Policy
from assembly.skills import Skill
from catalog.data_files import DataError, check_keys, check_some, check_text, read_data
from reports.documents.cards import Card, CardSection, Item, each_once
from reports.gathering.cards_from_policy import PRACTICE, made
from reports.gathering.skills.recording import title_of

FILE = Path(settings.BASE_DIR) / "reports" / "data" / "skills.toml"
WORDS = ("ratchet", "tips_in_pouch", "internal_indicator", "facing_in_chamber")
SIZES = ("closing_clearance_mm", "closing_seal_mm", "wrap_tape_mm", "rim_clearance_mm")
COLUMNS = ("seen", "not yet", "n/a")
RESULTS = ("Passed: every step seen or not applicable.", "Again: a step was not yet seen.")


@dataclass(frozen=True, slots=True)
class Step:
    """One step as it is seen, and where it comes from."""

    words: str
    source: str


@cache
def _read() -> dict[Skill, tuple[Step, ...]]:
    return load(FILE)


def load(path: Path) -> dict[Skill, tuple[Step, ...]]:
    """The steps of each kind of work; DataError on the first thing that is wrong."""
    kinds = check_keys(path.name, "(top)", read_data(path), list(Skill), list(Skill))
    return {Skill(kind): tuple(_steps(path.name, kind, table)) for kind, table in kinds.items()}


def _steps(file: str, kind: str, raw: object) -> list[Step]:
    table = check_keys(file, kind, raw, ["steps"], ["steps"])
    found = []
    for number, pair in enumerate(check_some(file, f"{kind}.steps", table["steps"], "step"), 1):
        place = f"{kind}.steps[{number}]"
        if not isinstance(pair, list) or len(pair) != 2:
            raise DataError(file, place, "must be a step with its source")
        words, source = (check_text(file, place, text) for text in pair)
        found.append(Step(words, source))
    return found


def steps_of(skill: Skill, policy: Policy) -> tuple[Step, ...]:
    """What is watched, with the values of the policy in it."""
    values = {name: policy.word(name) for name in WORDS}
    values |= {name: metric(policy.number(name), "mm") for name in SIZES}
    return tuple(Step(one.words.format(**values), one.source) for one in _read()[skill])


def skills_sheet(skill: Skill, policy: Policy, printed_by: str) -> Card:
    """The sheet on which a trainer writes down what was seen."""
    steps = steps_of(skill, policy)
    return Card(
        title=title_of(skill),
        headline="The trainer watches real work, and marks each step.",
        sections=(
            CardSection("Steps", tuple(Item(one.words) for one in steps), "number", COLUMNS),
            CardSection("Result", tuple(Item(words) for words in RESULTS), "box"),
        ),
        fields=("Trainee, name and signature", "Trainer, name and signature", "Date",
                "How many were watched", "Remarks", "Next check due"),
        sources=each_once([*(one.source for one in steps), f"the sheet itself: {PRACTICE}"]),
        foot=made(policy, printed_by),
    )  # fmt: skip
