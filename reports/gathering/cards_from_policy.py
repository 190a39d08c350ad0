"""What cards share that are made from the policy in force, and the card beside the sealer."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from django.utils import timezone

from assembly.rules.days import day_words
from assembly.rules.policy.values import Policy
from reports.documents.cards import Card, CardSection, Item, made_words

PRACTICE = "common practice, no source"
IFU_FIRST = "The makers' instructions (instrument, packaging, sterilizer) come first."


def items(sentences: Iterable[str]) -> tuple[Item, ...]:
    """Sentences as the items of a card."""
    return tuple(Item(words) for words in sentences if words)


def made(policy: Policy, printed_by: str) -> str:
    """The foot of a card: the policy it was made from, when and by whom."""
    what = f"Policy {policy.digest[:8]} in force on {day_words(policy.on)}"
    return made_words(what, timezone.localtime(), printed_by)


TEMPERATURES = "Sealing temperatures"


def temperatures_card(policy: Policy, printed_by: str, seals: Sequence[str]) -> Card:
    """What hangs beside a sealer: at which temperature what is sealed."""
    lines = [*seals] or ["No pouch or roll in stock is closed with heat."]
    return Card(
        title=TEMPERATURES,
        headline="Read the sealer before the first seal.",
        sections=(CardSection("Sealed at", items(lines)),),
        sources=("the IFU of each pouch and roll",),
        foot=f"{IFU_FIRST} {made(policy, printed_by)}",
    )
