"""Whether a cycle of an instrument's instructions accepts a cycle that a sterilizer runs.

Five things are asked: the name, the temperature, the air removal, the exposure and the
drying. One *no* is a no; else one *cannot tell* leaves it open. What the instructions state
rules; what they leave open is asked of the published row for the sterilizer's own kind.
Sources: the instrument maker's IFU, the published row, and the policy for what neither says.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum

from assembly.rules.facts.cycles import Contents, CycleOption, Programme
from assembly.rules.methods.published import published_for
from assembly.rules.policy.kept import kept
from assembly.rules.policy.values import Policy
from catalog.vocabulary import AirRemoval, Method

ORDINARY = Contents()
OPEN = "open"
"""The policy's word for: a longer exposure than the IFU's least is not ruled out."""


class Says(StrEnum):
    """What an instrument's instructions say to a cycle."""

    YES = "yes"
    CANNOT_TELL = "cannot tell"
    NO = "no"


@dataclass(frozen=True, slots=True)
class Answer:
    """What the instructions say, why, and which fact is missing.

    ``caution`` is what to take care of where they say yes.
    """

    says: Says
    why: str = ""
    missing: str = ""
    caution: str = ""


YES = Answer(Says.YES)
RANK = {says: place for place, says in enumerate(Says)}
"""Yes before cannot tell before no."""


def no(why: str) -> Answer:
    return Answer(Says.NO, why)


def open_(why: str, missing: str) -> Answer:
    return Answer(Says.CANNOT_TELL, why, missing)


def accepts(
    option: CycleOption, programme: Programme, policy: Policy, contents: Contents = ORDINARY
) -> Answer:
    """What ``option`` says to ``programme`` for these ``contents``.

    >>> from datetime import date
    >>> from assembly.rules.policy.values import default_policy
    >>> ifu = CycleOption(method=Method.STEAM, temperature_c=132, exposure_min=4, drying_min=20)
    >>> run = Programme(code="P", method=Method.STEAM, temperature_c=132, exposure_min=4,
    ...                 drying_min=30, air_removal=AirRemoval.GRAVITY)
    >>> accepts(ifu, run, default_policy(date(2026, 12, 1))).says
    <Says.NO: 'no'>
    """
    return _accepts(option, programme, contents, policy)


@kept
def _accepts(
    option: CycleOption, programme: Programme, contents: Contents, policy: Policy
) -> Answer:
    if option.method is not programme.method:
        return no(f"{programme.method.words} is not among its cycles")
    answers = [check(option, programme, policy, contents) for check in _CHECKS]
    worst = max(answers, key=lambda answer: RANK[answer.says])
    if worst.says is not Says.YES:
        return worst
    return Answer(Says.YES, caution=" ".join(a.caution for a in answers if a.caution))


def _name(option: CycleOption, programme: Programme, policy: Policy, contents: Contents) -> Answer:
    """Low-temperature cycles go by the name that the sterilizer's maker gave them."""
    asked, given = option.cycle_name.casefold(), programme.cycle_name.casefold()
    if not asked:
        if option.method is Method.H2O2:
            return open_("its IFU's cycle has no name on record", "cycle_name")
        return YES
    if not given:
        return open_("which named cycle the sterilizer runs is not on record", "cycle_name")
    if asked != given:
        return no(f"its IFU names cycle {option.cycle_name}, this is {programme.cycle_name}")
    return YES


def _temperature(
    option: CycleOption, programme: Programme, policy: Policy, contents: Contents
) -> Answer:
    asked, given = option.temperature_c, programme.temperature_c
    if option.method is not Method.STEAM and asked is None:
        return YES
    if asked is None or given is None:
        return open_("the temperature is not on record", "temperature_c")
    hottest = hottest_c(option, policy)
    if not asked <= given <= hottest:
        return no(f"it asks for {_span(asked, option.hottest_c)} °C, this runs at {given:g} °C")
    if given > (option.hottest_c or asked):
        return Answer(
            Says.YES,
            caution=f"{given:g} °C serves the IFU's {asked:g} °C only by the policy on the band "
            "of a sterilizer.",
        )
    return YES


def hottest_c(option: CycleOption, policy: Policy) -> float:
    """The hottest that an option takes, °C: its own, or with the sterilizer's band on top."""
    asked = option.temperature_c or 0.0
    hottest = asked if option.hottest_c is None else option.hottest_c
    if option.method is Method.STEAM and policy.flag("temperature_band"):
        hottest = max(hottest, asked + policy.number("temperature_band_c"))
    return hottest


def _span(low: float, high: float | None) -> str:
    return f"{low:g}" if high is None or high == low else f"{low:g} to {high:g}"


def _air_removal(
    option: CycleOption, programme: Programme, policy: Policy, contents: Contents
) -> Answer:
    """Silent and short means dynamic; silent and long is held to the row of this kind."""
    asked, given = option.air_removal, programme.air_removal
    if option.method is not Method.STEAM or asked is AirRemoval.EITHER:
        return YES
    if given is None:
        return open_("how the sterilizer removes air is not on record", "air_removal")
    if asked is not None:
        return YES if asked is given else no(f"it asks for {asked.words}, this is {given.words}")
    if option.exposure_min is None:
        return YES  # the exposure is what is missing
    if option.exposure_min < policy.number("gravity_from_min"):
        if given is AirRemoval.DYNAMIC:
            return YES
        return no(f"{option.exposure_min:g} min without a word on air removal means dynamic air "
                  "removal, this is gravity")  # fmt: skip
    return _held_to_row(programme, given, contents)


def _held_to_row(programme: Programme, given: AirRemoval, contents: Contents) -> Answer:
    if contents.lumen and given is AirRemoval.GRAVITY:
        return open_("its IFU does not say that a lumen may go by gravity", "air_removal")
    row = published_for(given, contents.item_class, programme.temperature_c or 0.0)
    if row is None:
        return open_(
            f"its IFU does not name the air removal, and nothing is published for {given.words} at "
            f"{programme.temperature_c or 0:g} °C",
            "air_removal",
        )
    if programme.exposure_min is not None and programme.exposure_min < row.exposure_min:
        return no(
            f"its IFU does not name the air removal, and {given.words} needs the published "
            f"{row.exposure_min:g} min, this gives {programme.exposure_min:g}"
        )
    return YES


def _exposure(
    option: CycleOption, programme: Programme, policy: Policy, contents: Contents
) -> Answer:
    low, high, given = option.exposure_min, option.exposure_max, programme.exposure_min
    if option.cycle_name and low is None and high is None:
        return YES  # the name is the cycle
    if low is None or given is None:
        return open_("the exposure is not on record", "exposure_min")
    if given < low:
        return no(f"it needs at least {low:g} min, this gives {given:g}")
    if high is not None:
        return YES if given <= high else no(f"it bears at most {high:g} min, this gives {given:g}")
    if given == low or option.cycle_name:
        return YES
    return _longer(option, low, given, policy, contents)


def _longer(
    option: CycleOption, low: float, given: float, policy: Policy, contents: Contents
) -> Answer:
    """An exposure beyond the IFU's least where that prints no longest one, in minutes."""
    if policy.word("unknown_maximum") != OPEN:
        return no(f"it states {low:g} min and no maximum exposure, this gives {given:g}")
    if given <= longest_min(option, policy, contents):
        return Answer(
            Says.YES,
            caution=f"Its IFU prints {low:g} min and no maximum exposure, this gives {given:g}.",
        )
    return open_(f"its IFU prints {low:g} min and no maximum exposure, this gives {given:g}",
                 "exposure_max")  # fmt: skip


def longest_min(option: CycleOption, policy: Policy, contents: Contents) -> float:
    """The longest exposure that is accepted, in minutes; the least where none is known."""
    low = option.exposure_min or 0.0
    if option.exposure_max is not None:
        return option.exposure_max
    open_ended = option.method is Method.STEAM and policy.word("unknown_maximum") == OPEN
    if not open_ended or contents.delicate:
        return low
    return max(low, policy.number("open_exposure_min"))


def _drying(
    option: CycleOption, programme: Programme, policy: Policy, contents: Contents
) -> Answer:
    given = programme.drying_min
    if option.drying_min is None and option.method is not Method.STEAM:
        return YES
    if given is None:
        return open_("the drying of the sterilizer's cycle is not on record", "drying_min")
    if option.drying_min is not None:
        if given < option.drying_min:
            return no(f"it needs {option.drying_min:g} min drying, this gives {given:g}")
        return YES
    least = _published_drying(programme, contents)
    if least is not None and given < least:
        return no(f"its IFU is silent on drying and the published {least:g} min are not reached: "
                  f"this gives {given:g}")  # fmt: skip
    return YES


def _published_drying(programme: Programme, contents: Contents) -> float | None:
    """The published least drying, in minutes; of both kinds the longer where it is not known."""
    kinds = [programme.air_removal or kind for kind in (AirRemoval.GRAVITY, AirRemoval.DYNAMIC)]
    rows = [published_for(k, contents.item_class, programme.temperature_c or 0.0) for k in kinds]
    return max((row.drying_from_min for row in rows if row and row.drying_from_min is not None),
               default=None)  # fmt: skip


_CHECKS: tuple[Callable[[CycleOption, Programme, Policy, Contents], Answer], ...] = (
    _name, _temperature, _air_removal, _exposure, _drying,
)  # fmt: skip
