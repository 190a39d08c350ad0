"""What the page of a single package says beside the verdict: in a few words, the rest in folds."""

from __future__ import annotations

from assembly.equipment.sealers import windows_in
from assembly.judging.decisions import Answer
from assembly.judging.taking import Option
from assembly.rules.telling.explain import Section
from catalog.vocabulary import Kind

FOLDED = {"Why not a smaller one": "smaller", "Instead": "instead"}
"""Sections that stand in folds of their own, by the name the template has for them."""
CARE = "Take care"
UNSAID = ("What to take", "Before anything else", CARE)
"""What the headline and the foot of every page say, and what follows the way that is taken."""


def told_of(answer: Answer, option: Option | None) -> dict[str, object]:
    """The sections of a decision by where they stand on the page: ``open`` at once, ``smaller``
    and ``instead`` in folds. ``why`` is the sentence that a choice goes with."""
    found: dict[str, object] = dict.fromkeys(FOLDED.values(), ())
    open_ = []
    for section in answer.sections:
        if section.heading in FOLDED:
            found[FOLDED[section.heading]] = section.sentences
        elif section.heading not in UNSAID:
            open_.append(section)
    if care := _care(answer, option):
        open_.append(Section(CARE, care))
    first = answer.sections[0].sentences[1:] if option and option.recommended else ()
    return {**found, "open": open_, "why": first}


def _care(answer: Answer, option: Option | None) -> tuple[str, ...]:
    """What to take care of: with another way than the one that the rules show, what that asks."""
    cautions, shown = answer.decision.cautions, answer.shown
    if option and shown and option.candidate is not shown:
        others = (one for one in cautions if one not in shown.cautions)
        cautions = (*others, *option.candidate.cautions)
    return tuple(one.sentence(answer.show) for one in cautions)


def seal_words(option: Option | None) -> str:
    """The sealer's setting from the pouch's or roll's IFU; said where it is not on record. Nothing
    of a self-seal: how it is folded is among what to take care of."""
    if option is None or option.candidate.kind not in (Kind.POUCH, Kind.ROLL):
        return ""
    windows = windows_in(option.candidate.kind, [option.candidate.code])
    if not windows:
        return ""
    [window] = windows
    if window.temperature_c is None:
        return "The seal setting is not on record: read it in the packaging's IFU."
    return f"Seal at {window.words}."
