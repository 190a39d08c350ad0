"""Work cards: one instrument or one set on one page, made from its decision."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from assembly.judging.decisions import (
    Answer,
    SetAnswer,
    decide_for_instrument,
    decide_for_set,
)
from assembly.judging.facts_from_catalog import lines_of
from assembly.layouts.saved import asked_of, latest_of, layout_of
from assembly.rules.deciding.protection import NO_PROTECTOR
from assembly.rules.findings import Caution, Outcome, Show, metric
from assembly.rules.layers.laid import Asked
from assembly.rules.layers.layout import Layout
from assembly.rules.layers.scene import layer_scene
from assembly.rules.limits.handling import SHARP_NOT_ON_RECORD
from assembly.rules.telling.checks import Check
from assembly.rules.telling.decided import Decided
from assembly.rules.telling.guidance import Guidance, protectors_listed
from assembly.rules.telling.indicators import Indicator
from assembly.rules.telling.labelling import placement
from catalog.models import Instrument, InstrumentSet
from reports.documents.cards import Card, CardSection, Item, each_once
from reports.documents.papers import NothingToPrint
from reports.gathering.cards_from_policy import IFU_FIRST, items, made

STOP = "any no, stop"
ANY_NO = "Any no: its page on the screen says what to do."


def instrument_card(
    instrument: Instrument, printed_by: str, show: Show = metric, *, double: bool = False,
    label: tuple[float, float] | None = None,
) -> Card:  # fmt: skip
    """The card to work by for one instrument, with a ``label`` of this size (mm) in its drawing."""
    answer = decide_for_instrument(instrument, double=double, show=show, out=(), label=label)
    return work_card(answer, instrument.name, instrument.item_number, printed_by)


def set_card(one: InstrumentSet, printed_by: str, show: Show = metric) -> Card:
    """The card to work by for one set; NothingToPrint where no count sheet is approved."""
    if one.current is None:
        raise NothingToPrint(f"No count sheet of {one.code} is approved yet: approve one first.")
    lines = lines_of(one.current)
    answer = decide_for_set(one, lines, show, out=())
    card = work_card(answer, one.name, one.code, printed_by)
    if answer.decision.recommended is None or latest_of(one.current) is None:
        return card
    asked = asked_of(one, lines)
    shown = layout_of(asked, one.current)
    return _laid(card, shown.laid.layout, asked, show) if shown.holds else card


def _laid(card: Card, layout: Layout | None, asked: Asked, show: Show) -> Card:
    """The card with the layers as they were saved for this revision, in place of what merely shows
    sizes; the drawings give way where there is no room, the line of words does not."""
    if layout is None:
        return card
    count, (pack, *others) = len(layout.layers), card.sections
    layers = [layer_scene(layout, n, asked, show) for n in range(1, count + 1)]
    words = f"Lay it as saved, {count} layer{'s' * (count > 1)}: its page has each place."
    return replace(
        card,
        scenes=(*layers, *(scene for scene in card.scenes if not scene.layer)),
        sections=(replace(pack, items=(*pack.items, Item(words))), *others),
    )


def work_card(answer: Answer | SetAnswer, title: str, code: str, printed_by: str) -> Card:
    """The card to work by for one instrument or set; says so where nothing is recommended."""
    guidance, show = answer.guidance, answer.show
    taken = answer.decision.recommended
    kind = taken.kind if taken else ""
    said = [caution.sentence(show) for caution in answer.decision.cautions]
    sharp = "".join(words for words in said if SHARP_NOT_ON_RECORD in words)
    if guidance is None:
        sections: tuple[CardSection, ...] = (
            CardSection("Why not", tuple(Item(words) for words in _reasons(answer))),
        )
        sources = [
            row.source for row in answer.findings if row.status in ("not met", "cannot tell")
        ]
    else:
        it = "any of it" if isinstance(answer, SetAnswer) else "it"
        sections = _steps(guidance, kind, show, _listed(answer), it, sharp)
        said = [words for words in said if words != sharp]
        sources = [*_sources(guidance), *(caution.source for caution in answer.decision.cautions)]
    take_care = CardSection("Take care", items(said))
    return Card(
        title=title,
        code=code,
        headline=" ".join(filter(None, (f"{answer.headline}.", _said(answer.decided)))),
        loud=answer.decided.stop,
        scenes=answer.scenes,
        scene_note=_scene_note(answer, recommended=taken is not None),
        sections=(*sections, take_care),
        on_screen=each_once(sources),
        foot=f"{ANY_NO} {IFU_FIRST} {made(answer.policy, printed_by)}",
    )


def _said(decided: Decided) -> str:
    """The cycle, and of a set the weight, as its page and its count sheet say them."""
    weight = f"{decided.weighed}: {decided.weight}." if decided.weight else ""
    return ". ".join(filter(None, (decided.cycle, weight)))


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


def _steps(
    guidance: Guidance, kind: str, show: Show, listed: str, it: str, sharp: str
) -> tuple[CardSection, ...]:
    packing = [words for words in guidance.protectors if words != NO_PROTECTOR]
    packing += [guidance.suitable, *(one.sentence(show) for one in guidance.orientation)]
    packing += _indicators(guidance.indicators)
    after = [placement(kind), *(one.sentence(show) for one in guidance.loading)]
    before, closed = (
        (*_asked(checks, show, listed), *_not_on_record(checks, it, sharp))
        for checks in (guidance.checks, guidance.closed)
    )
    return (
        CardSection("Pack", items(packing), "number"),
        CardSection(f"Before closing: {STOP}", before, "box"),
        CardSection(f"When closed: {STOP}", closed, "box"),
        CardSection("Label and load", items(after)),
    )


def _indicators(every: Iterable[Indicator]) -> list[str]:
    """One step for all that are alike, with the place of each."""
    places: dict[tuple[str, str], list[str]] = {}
    for one in every:
        places.setdefault((one.type, one.text), []).append(one.place)
    return [
        f"Indicator{'s' if len(found) > 1 else ''}, {kind}, {' and '.join(found)}: {text}"
        for (kind, text), found in places.items()
    ]


def _asked(checks: Iterable[Check], show: Show, listed: str) -> Iterator[Item]:
    """What is known to apply. What is ``listed`` in the steps is not listed again."""
    for check in checks:
        if not check.when:
            yield Item(check.asked(show).replace(listed, ""), word=check.word)


def _not_on_record(checks: Iterable[Check], it: str, sharp: str) -> Iterator[Item]:
    """What nobody knows to apply, all in one, to be looked at, never left out; by itself, in the
    words of its caution, whether there is something ``sharp``, and on what."""
    unknown = [check for check in checks if check.when]
    if sharp and (asked := [check for check in unknown if check.key == "protector"]):
        yield Item(sharp, word=asked[0].word)
        unknown.remove(asked[0])
    if found := [check.when.removeprefix("it ") for check in unknown]:
        *others, last = found
        each = f"{', '.join(others)} or {last}" if others else last
        yield Item(f"whether {it} {each}: look, and read its IFU. What it has is checked as "
                   "its page on the screen asks.", word="Not on record")  # fmt: skip


def _listed(answer: Answer | SetAnswer) -> str:
    """The protectors of a set as a check names them."""
    named = protectors_listed(answer.question.lines) if isinstance(answer, SetAnswer) else ""
    return f" ({named})"


def _sources(guidance: Guidance) -> list[str]:
    lists: tuple[Sequence[Caution | Indicator | Check], ...] = (
        guidance.orientation,
        guidance.indicators,
        guidance.checks,
        guidance.closed,
        guidance.loading,
    )
    return [part.source for parts in lists for part in parts]
