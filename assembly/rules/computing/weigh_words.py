"""What the weigh-check says, in the one wording of page, paper and command."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from assembly.rules.computing.weigh_check import Answer, Named, Values
from assembly.rules.findings import metric

STANDS = "The count stands: the scale only asks."
KINDS = {
    "several": "Several items may be involved ({share}): recount all of it.",
    "other": "Nothing on the count sheet explains it ({share}): a strange piece, water, another "
    "basket.",
    "nothing": "Nothing is wrong ({share}): a rare reading.",
}
"""Explanations that name no piece."""
SCALE_WRONG = "It reads less than the empty basket: the scale or its tare is wrong. Weigh it again."
BLIND = ("a piece swapped for one of the same weight", "whether a piece is clean or works")
"""What no scale sees, besides what is lighter than the least that it surely notices."""
NO_BASELINE = (
    "No baseline: nothing to hold the reading against. The sum of the weights on record is "
    "not good enough while a weight is unknown, or copies differ by more than {allowed} "
    "(here {spread})."
)


def grams(value: float) -> str:
    """A weight as a scale shows it, to 0.1 g.

    >>> grams(5432.1)
    '5,432.1 g'
    """
    return f"{value:,.1f} g"


def no_baseline(values: Values) -> str:
    """Why a reading without a baseline says nothing."""
    allowed, spread = (metric(one, "ratio") for one in (values.catalog_spread, values.spread))
    return NO_BASELINE.format(allowed=allowed, spread=spread)


def percent(share: float) -> str:
    """A share, never rounded up to all of it.

    >>> percent(0.998), percent(0.42), percent(0.004)
    ('over 99 %', '42 %', 'under 1 %')
    """
    if share > 0.99:
        return "over 99 %"
    return "under 1 %" if share < 0.01 else f"{share:.0%}".replace("%", " %")


def headline(answer: Answer) -> str:
    """What is to be done, in a sentence."""
    if answer.scale_wrong:
        return SCALE_WRONG
    apart = f"{grams(abs(answer.difference))} {'lighter' if answer.difference < 0 else 'heavier'}"
    if not answer.alarm:
        return f"Weighs as it should: {apart}, within {grams(answer.alarm_g)}."
    return (
        f"Recount: {apart} than it should be. The scale explains {grams(answer.alarm_g)} at most."
    )


def named_words(one: Named) -> str:
    """One explanation with its share."""
    if one.kind in KINDS:
        return KINDS[one.kind].format(share=percent(one.share))
    what = "missing" if one.pieces < 0 else "too many"
    return f"{abs(one.pieces)} × {one.name} {what} ({percent(one.share)})"


def list_words(answer: Answer) -> list[str]:
    """The list after an alarm, or that it would be too long; empty without one."""
    said = [named_words(one) for one in answer.named]
    if answer.needed:
        said = [f"Too many explanations ({answer.needed}): recount all of it."]
    if answer.capped:
        said.append("There are more explanations than were looked at: the shares are too high.")
    return said


def blind_words(sure_g: float, unweighed: Sequence[str] = ()) -> list[str]:
    """What the scale cannot see, and what it can never name."""
    said = [f"The scale does not see: {', '.join(BLIND)}, anything lighter than {grams(sure_g)}."]
    if unweighed:
        said.append(f"Weight not known, so never named: {', '.join(unweighed)}.")
    return said


def answer_json(answer: Answer) -> dict[str, Any]:
    """The answer for programs; g."""
    return {
        "reading_g": round(answer.reading_g, 1),
        "should_be_g": round(answer.reference.grams, 1),
        "difference_g": round(answer.difference, 1),
        "deviation_g": round(answer.reference.deviation, 3),
        "alarm_beyond_g": round(answer.alarm_g, 2),
        "surely_noticed_from_g": round(answer.sure_g, 2),
        "alarm": answer.alarm,
        "scale_or_tare_wrong": answer.scale_wrong,
        "explanations": [
            {"kind": one.kind, "name": one.name, "pieces": one.pieces, "share": round(one.share, 4)}
            for one in answer.named
        ],
        "too_many_explanations": answer.needed,
        "more_than_were_looked_at": answer.capped,
        "unweighed": list(answer.unweighed),
        "said": [headline(answer), *list_words(answer)],
        "cannot_see": blind_words(answer.sure_g, answer.unweighed),
    }
