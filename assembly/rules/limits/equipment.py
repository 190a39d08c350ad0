"""What a sterilizer is run on and a sealer closes with: its tests of the day, its temperature."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from assembly.rules.days import day_words
from assembly.rules.findings import CLOSE_RATIO, Finding, Rule, Status, worst
from assembly.rules.policy.values import Policy
from catalog.vocabulary import AirRemoval, Method

RHYTHM = {
    "air removal": "air_removal_every_days",
    "leak": "leak_test_every_days",
    "biological": "biological_every_days",
    "seal": "seal_test_every_days",
}
"""Each kind of test with the policy's value for how often it is done, in days."""
STOPS = "tests_that_stop"
BY_VACUUM = ("air removal", "leak")
"""The tests of a sterilizer that takes its air out with pumps."""
SEAL_TEMPERATURE = Rule("seal temperature", "the packaging maker's IFU")


@dataclass(frozen=True, slots=True)
class DayFacts:
    """One kind of test of one thing as it stands: the day of the last good one, and of one that
    failed since, which nobody has signed off."""

    kind: str
    named: str
    """In words: ``air-removal test of ST1``."""
    good: date | None = None
    failed: date | None = None


def due_from(tested: DayFacts, policy: Policy) -> date | None:
    """The day from which the next one is due; None where none was good yet, or none is asked."""
    every = policy.number_or_none(RHYTHM[tested.kind])
    return tested.good + timedelta(days=int(every)) if tested.good and every else None


def day_finding(tested: DayFacts, today: date, policy: Policy) -> Finding:
    """Whether what was tested may be used today. Sources: those of the policy's rhythm.

    Failed since the last good one is not met. None that is good for today cannot be told, nor one
    of a day to come (a clock is wrong): the policy says whether that stops it (:func:`stops`).
    """
    rule = Rule(tested.kind, policy.source(RHYTHM[tested.kind]))
    if tested.failed:
        when = day_words(tested.failed)
        return rule.not_met(f"The {tested.named} failed on {when}: it is not used until a later "
                            "one passes, or a coordinator signs it off.")  # fmt: skip
    if policy.number_or_none(RHYTHM[tested.kind]) is None:
        return rule.does_not_apply(f"The policy asks for no {tested.named}.")
    due = due_from(tested, policy)
    if tested.good is None or due is None or not tested.good <= today < due:
        last = "None was good yet."
        if tested.good:
            last = f"The last good one is of {day_words(tested.good)}."
        words = f"No {tested.named} is on record for {day_words(today)}. {last}"
        return rule.cannot_tell(words, tested.kind)
    return rule.met(f"The {tested.named} passed on {day_words(tested.good)}.")


def stops(finding: Finding, policy: Policy) -> bool:
    """Whether a finding stops the sterilizer or sealer, or is only a caution.

    Not met always does; what cannot be told, where the policy names its test. The temperature
    of a sealer goes with its seal test.
    """
    if finding.status is Status.CANNOT_TELL:
        kind = "seal" if finding.rule == SEAL_TEMPERATURE.name else finding.rule
        return kind in policy.words(STOPS)
    return finding.status is Status.NOT_MET


def asked_of(method: str, air_removal: str | None) -> tuple[str, ...]:
    """The kinds of test that a sterilizer needs for a programme, by its words on record.

    Steam whose air removal is not on record is asked as dynamic: what is unknown never passes.

    >>> asked_of("steam", "gravity"), asked_of("steam", "")
    (('biological',), ('air removal', 'leak', 'biological'))
    """
    if method != Method.STEAM or air_removal == AirRemoval.GRAVITY:
        return ("biological",)
    return (*BY_VACUUM, "biological")


@dataclass(frozen=True, slots=True)
class SealWindow:
    """The temperature at which one pouch or roll is sealed, by its IFU (°C); None not on record."""

    code: str
    temperature_c: float | None = None
    tolerance_c: float | None = None
    ifu: str = ""

    @property
    def words(self) -> str:
        """``180 °C ± 5 °C (TPW-IFU 12)``; that it is not on record, where it is not."""
        if self.temperature_c is None:
            return "not on record: read it in the packaging's IFU"
        within = "" if self.tolerance_c is None else f" ± {self.tolerance_c:g} °C"
        return f"{self.temperature_c:g} °C{within}" + (f" ({self.ifu})" if self.ifu else "")


def seal_finding(read_c: float | None, sealer: str, windows: tuple[SealWindow, ...]) -> Finding:
    """Whether what a sealer reads (°C) is right for everything that it closes; at the edge is met.

    Source: the IFU of each pouch or roll; no figure is shipped.

    >>> pouch = SealWindow("P-1", 180, 5)
    >>> [str(seal_finding(read, "PS1", (pouch,)).status) for read in (184, 186)]
    ['met', 'not met']
    """
    return worst(_seal_finding(read_c, sealer, each) for each in windows)


def _seal_finding(read_c: float | None, sealer: str, window: SealWindow) -> Finding:
    rule, wanted = SEAL_TEMPERATURE, window.temperature_c
    if window.ifu:
        rule = rule.by(f"{window.ifu}, the packaging maker's IFU")
    if wanted is None:
        return rule.cannot_tell(f"The seal temperature of {window.code} is {window.words}.",
                                "seal_temperature_c")  # fmt: skip
    if read_c is None:
        return rule.cannot_tell(f"What {sealer} reads today is not on record: {window.code} is "
                                f"sealed at {window.words}.", "read_c")  # fmt: skip
    off, said = abs(read_c - wanted), f"{sealer} reads {read_c:g} °C"
    if window.tolerance_c is None and off > CLOSE_RATIO:
        words = f"{said}; {window.code} is sealed at {window.words}, its tolerance not on record."
        return rule.cannot_tell(words, "seal_tolerance_c")
    return rule.at_most(
        off, window.tolerance_c or 0.0, "C",
        met=f"{said}: right for {window.code}, sealed at {window.words}.",
        not_met=f"{said}: {window.code} is sealed at {window.words}.",
    )  # fmt: skip
