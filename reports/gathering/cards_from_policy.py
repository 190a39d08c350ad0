"""Cards made from the policy in force: wall cards, skills."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from django.utils import timezone

from assembly.rules.facts import instruments
from assembly.rules.policy.values import Policy
from assembly.rules.telling.checks import (
    Check,
    Packed,
    closed_checks,
    closing_checks,
    loading,
    orientation,
)
from assembly.rules.telling.days import day_words
from assembly.rules.telling.labelling import placement
from catalog.models import Pouch
from catalog.vocabulary import Kind
from reports.documents.cards import Card, CardSection, Item, each_once, made_words

PRACTICE = "common practice, no source"
IFU_FIRST = "The makers' instructions (instrument, packaging, sterilizer) come first."


def items(sentences: Iterable[str]) -> tuple[Item, ...]:
    """Sentences as the items of a card."""
    return tuple(Item(words) for words in sentences if words)


def _checks(checks: Iterable[Check]) -> tuple[Item, ...]:
    return tuple(Item(check.asked(), f"If not: {check.then()}") for check in checks)


def made(policy: Policy, printed_by: str) -> str:
    """The foot of a card: the policy it was made from, when and by whom."""
    what = f"Policy {policy.digest[:8]} in force on {day_words(policy.on)}"
    return made_words(what, timezone.localtime(), printed_by)


@dataclass(frozen=True, slots=True)
class WallCard:
    """One wall card that can be asked for: its key in the address and its title."""

    key: str
    title: str
    packed: Packed | None = None

    @property
    def by_heat(self) -> bool:
        """Whether it says how something is sealed with heat."""
        return self.packed is not None and self.packed.closure == Pouch.Closure.HEAT_SEAL


ANYTHING = instruments.Instrument(name="anything")
"""What nothing is known of: all is asked about with "if"."""
POUCH_CARDS = tuple(
    WallCard(
        f"closing-{closure}-{'double' if double else 'single'}",
        f"Closing a {closure} pouch, {'double' if double else 'single'}",
        Packed(kind=Kind.POUCH, closure=closure, double=double),
    )
    for closure in ("self-seal", "heat-seal")
    for double in (False, True)
)
LOADING = WallCard("loading", "Loading the sterilizer")
SKILLS = WallCard("skills", "Skills check: packing in pouches")
WALL_CARDS = {card.key: card for card in (*POUCH_CARDS, LOADING, SKILLS)}

LOADED = (
    ("Pouches", Packed(kind=Kind.POUCH)),
    ("Wrapped packs", Packed(kind=Kind.WRAP)),
    ("Rigid containers", Packed(kind=Kind.CONTAINER)),
)


def wall_card(key: str, policy: Policy, printed_by: str, seals: Iterable[str] = ()) -> Card:
    """A wall card from the policy in force. KeyError for a key that is none.

    ``seals``: at which temperature what is sealed, for a card about sealing with heat.
    """
    card = WALL_CARDS[key]
    if card is SKILLS:
        return skills_sheet(policy, printed_by)
    if card.packed is None:
        return _loading_card(policy, printed_by)
    before = closing_checks(card.packed, ANYTHING, policy)
    after = closed_checks(card.packed, policy)
    lying = orientation(card.packed, ANYTHING, policy)
    heat = tuple(map(Item, seals))
    return Card(
        title=card.title,
        headline="Every question is answered yes before the package leaves the bench.",
        sections=(
            CardSection("How it lies", tuple(Item(one.sentence()) for one in lying)),
            CardSection("Before closing", _checks(before), "box"),
            *([CardSection("Sealed at", heat)] if heat else ()),
            CardSection("When it is closed", _checks(after), "box"),
            CardSection("Label", (Item(placement(card.packed.kind)),)),
        ),
        sources=each_once(
            [*(one.source for one in lying), *(one.source for one in (*before, *after))]
        ),
        foot=f"{IFU_FIRST} {made(policy, printed_by)}",
    )


def _loading_card(policy: Policy, printed_by: str) -> Card:
    rules = [(name, loading(packed, policy)) for name, packed in LOADED]
    return Card(
        title=LOADING.title,
        headline="The sterilizer maker's instructions come first.",
        sections=tuple(
            CardSection(name, tuple(Item(one.sentence()) for one in found), "number")
            for name, found in rules
        ),
        sources=each_once(one.source for _, found in rules for one in found),
        foot=made(policy, printed_by),
    )


def skills_steps(policy: Policy) -> tuple[str, ...]:
    """What a trainer watches: the work itself, then each closing check of a pouch."""
    checks: dict[str, str] = {}
    for card in POUCH_CARDS:
        if card.packed:
            found = (
                *closing_checks(card.packed, ANYTHING, policy),
                *closed_checks(card.packed, policy),
            )
            checks |= {check.key: check.asked() for check in found}
    return (
        "Cleans hands and bench, and takes only clean, dry, inspected instruments.",
        "Chooses the pouch that the decision names, and can say why no smaller one.",
        *checks.values(),
        "Signs, labels and places the label where it belongs.",
    )


def skills_sheet(policy: Policy, printed_by: str) -> Card:
    """The sheet on which a trainer writes down what was seen."""
    return Card(
        title=SKILLS.title,
        headline="The trainer watches real work and marks each step: seen, or not yet.",
        sections=(
            CardSection("Steps", tuple(Item(step) for step in skills_steps(policy)), "number",
                        ("seen", "not yet")),
        ),
        fields=("Trainee, name and signature", "Trainer, name and signature", "Date",
                "Next check due"),
        sources=("the checks: as on the closing cards", f"the sheet itself: {PRACTICE}"),
        foot=made(policy, printed_by),
    )  # fmt: skip
