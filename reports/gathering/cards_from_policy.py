"""Cards made from a decision or from the policy in force: work cards, wall cards, skills."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from django.utils import timezone

from assembly.judging.decisions import (
    Answer,
    SetAnswer,
    decide_for_instrument,
    decide_for_set,
)
from assembly.judging.facts_from_catalog import lines_of
from assembly.rules.facts import instruments
from assembly.rules.findings import Caution, Outcome, Show, metric
from assembly.rules.policy.values import Policy
from assembly.rules.telling.checks import (
    Check,
    Packed,
    closed_checks,
    closing_checks,
    loading,
    orientation,
)
from assembly.rules.telling.guidance import Guidance
from assembly.rules.telling.indicators import Indicator
from assembly.rules.telling.labelling import placement
from catalog.models import Instrument, InstrumentSet, Pouch
from catalog.vocabulary import Kind
from reports.documents.cards import Card, CardSection, Item, each_once, made_words
from reports.gathering.from_catalog import NothingToPrint

PRACTICE = "common practice, no source"
IFU_FIRST = "The makers' instructions (instrument, packaging, sterilizer) come first."


def instrument_card(instrument: Instrument, printed_by: str, show: Show = metric) -> Card:
    """The card to work by for one instrument."""
    answer = decide_for_instrument(instrument, show=show, out=())
    return work_card(answer, instrument.name, instrument.item_number, printed_by)


def set_card(one: InstrumentSet, printed_by: str, show: Show = metric) -> Card:
    """The card to work by for one set; NothingToPrint where no count sheet is approved."""
    if one.current is None:
        raise NothingToPrint(f"No count sheet of {one.code} is approved yet.")
    answer = decide_for_set(one, lines_of(one.current), show, out=())
    return work_card(answer, one.name, one.code, printed_by)


def work_card(answer: Answer | SetAnswer, title: str, code: str, printed_by: str) -> Card:
    """The card to work by for one instrument or set; says so where nothing is recommended."""
    guidance, show = answer.guidance, answer.show
    taken = answer.decision.recommended
    kind = taken.kind if taken else ""
    cautions = [caution.sentence(show) for caution in answer.decision.cautions]
    if guidance is None:
        sections: tuple[CardSection, ...] = (
            CardSection("Why not", tuple(Item(words) for words in _reasons(answer))),
        )
        sources = [
            row.source for row in answer.findings if row.status in ("not met", "cannot tell")
        ]
    else:
        sections = _steps(guidance, kind, show)
        sources = [*_sources(guidance), *(caution.source for caution in answer.decision.cautions)]
    take_care = CardSection("Take care", tuple(Item(words) for words in cautions))
    return Card(
        title=title,
        code=code,
        headline=f"{answer.headline}. {answer.cycle}".strip(),
        loud="" if taken else _loud(answer),
        scenes=answer.scenes,
        scene_note=_scene_note(answer, recommended=taken is not None),
        sections=(*sections, take_care),
        sources=each_once(sources),
        foot=f"{IFU_FIRST} {_made(answer.policy, printed_by)}",
    )


def _reasons(answer: Answer | SetAnswer) -> tuple[str, ...]:
    wanted = ("What stands in the way", "Not known")
    found = [s for part in answer.sections if part.heading in wanted for s in part.sentences]
    return tuple(found) or (f"{answer.headline}.",)


def _scene_note(answer: Answer | SetAnswer, *, recommended: bool) -> str:
    if not answer.scenes:
        return "No drawing: a size is not known."
    if recommended:
        return ""
    undecided = answer.decision.outcome is Outcome.UNDECIDED
    return f"Shown: {answer.shown_name}. It is {'not decided' if undecided else 'not recommended'}."


def _loud(answer: Answer | SetAnswer) -> str:
    if answer.decision.outcome is Outcome.UNDECIDED:
        return "NOT DECIDED: something is not known. Do not pack."
    return "NOT RECOMMENDED AS IT STANDS. Do not pack."


def _steps(guidance: Guidance, kind: str, show: Show) -> tuple[CardSection, ...]:
    packing = [guidance.protector, *(one.sentence(show) for one in guidance.orientation)]
    packing += [f"Indicator, {one.type}, {one.place}: {one.text}" for one in guidance.indicators]
    after = [placement(kind), *(one.sentence(show) for one in guidance.loading)]
    return (
        CardSection("Pack", _items(packing), "number"),
        CardSection("Check before closing", _checks(guidance.checks, show, short=True), "box"),
        CardSection("Check when it is closed", _checks(guidance.closed, show, short=True), "box"),
        CardSection("Label and load", _items(after)),
    )


def _items(sentences: Iterable[str]) -> tuple[Item, ...]:
    return tuple(Item(words) for words in sentences if words)


def _checks(
    checks: Iterable[Check], show: Show = metric, *, short: bool = False
) -> tuple[Item, ...]:
    """The checks as items; ``short`` puts what to do on the same line as the question."""
    pairs = [(check.asked(show), f"If not: {check.then(show)}") for check in checks]
    return tuple(Item(f"{ask} {then}") if short else Item(ask, then) for ask, then in pairs)


def _sources(guidance: Guidance) -> list[str]:
    lists: tuple[Sequence[Caution | Indicator | Check], ...] = (
        guidance.orientation,
        guidance.indicators,
        guidance.checks,
        guidance.closed,
        guidance.loading,
    )
    return [part.source for parts in lists for part in parts]


def _made(policy: Policy, printed_by: str) -> str:
    what = f"Policy {policy.digest[:8]} in force on {policy.on:%Y-%m-%d}"
    return made_words(what, timezone.localtime(), printed_by)


# --- wall cards ------------------------------------------------------------------------


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
        foot=f"{IFU_FIRST} {_made(policy, printed_by)}",
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
        foot=_made(policy, printed_by),
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
        foot=_made(policy, printed_by),
    )  # fmt: skip
