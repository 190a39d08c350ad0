"""When something can be where it is wanted: the stages that are left, one after the other.

A stage whose length nobody knows makes the whole unknown: a time is reckoned or not said, never
guessed. What is promised is the earliest, if nobody lets it lie.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from assembly.rules.facts.cycles import Programme
from assembly.rules.policy.values import Policy
from catalog.vocabulary import Method

HOT = (Method.STEAM, Method.DRY_HEAT)
"""What has to cool before it is touched."""
AERATED = (Method.EO, Method.LTSF)
"""What is aerated after the cycle, for a time that no cycle has on record."""
ON_RECORD = "on record of the cycle"
WITH_IMPLANTS = "loads with implants"


@dataclass(frozen=True, slots=True)
class Stage:
    """One stage that is left, ``minutes`` long by its ``source``.

    ``minutes`` None: nobody knows, and ``source`` says what is missing. ``own``: it is what the
    department really took, by its record. It cannot begin before
    ``not_before``; what it waits for then is said in ``waits``.
    """

    name: str
    minutes: float | None
    source: str = ""
    not_before: datetime | None = None
    waits: str = ""
    own: bool = False


@dataclass(frozen=True, slots=True)
class Part:
    """A part of the reckoning, in minutes."""

    name: str
    minutes: float
    source: str = ""


@dataclass(frozen=True, slots=True)
class Ready:
    """The earliest time, from ``start``, as the sum of its ``parts``.

    ``at`` None: it cannot be told, and ``unknown`` says why. ``when`` is the condition that it
    holds under, ``notes`` what is not in it.
    """

    start: datetime
    at: datetime | None
    parts: tuple[Part, ...] = ()
    unknown: str = ""
    when: str = ""
    notes: tuple[str, ...] = ()

    @property
    def shown(self) -> datetime | None:
        """The time as a clock shows it: the next whole minute, never one that is too early."""
        if self.at is None or not (self.at.second or self.at.microsecond):
            return self.at
        return self.at.replace(second=0, microsecond=0) + timedelta(minutes=1)

    def late(self, wanted: datetime) -> timedelta | None:
        """How much later than ``wanted`` it is; None where it is not, or cannot be told."""
        if self.at is None or self.at <= wanted:
            return None
        return self.at - wanted


def earliest(start: datetime, stages: Iterable[Stage]) -> Ready:
    """The end of the last of the stages, each begun as soon as the one before is over.

    ``start`` and every ``not_before`` bear a time zone, or none of them does.

    >>> left = [Stage("packing", 3), Stage("come-up", 15), Stage("exposure", 4)]
    >>> earliest(datetime(2026, 1, 1, 21, 41), left).at
    datetime.datetime(2026, 1, 1, 22, 3)
    """
    at, parts, unknown = start, list[Part](), list[str]()
    for stage in stages:
        if stage.minutes is None:
            unknown.append(stage.source)
            continue
        if stage.not_before is not None and stage.not_before > at:
            parts.append(Part(stage.waits, (stage.not_before - at) / timedelta(minutes=1)))
            at = stage.not_before
        parts.append(Part(stage.name, stage.minutes, stage.source))
        at += timedelta(minutes=stage.minutes)
    if unknown:
        return Ready(start, None, unknown="; ".join(dict.fromkeys(unknown)))
    return Ready(start, at, tuple(parts))


def soonest(found: Sequence[Ready]) -> Ready:
    """The earliest of them; where none can be told, the first. There is at least one."""
    known = [one for one in found if one.at is not None]
    return min(known, key=lambda one: one.at or one.start) if known else found[0]


def latest(found: Sequence[Ready]) -> Ready:
    """When all of them are there; unknown where one of them is. There is at least one.

    >>> at = [datetime(2026, 1, 1, 22, 3), datetime(2026, 1, 1, 23, 3)]
    >>> latest([Ready(at[0], one) for one in at]).at
    datetime.datetime(2026, 1, 1, 23, 3)
    """
    unknown = next((one for one in found if one.at is None), None)
    return unknown or max(found, key=lambda one: one.at or one.start)


def cycle_stages(
    programme: Programme, free: datetime | None = None, waits: str = ""
) -> tuple[Stage, ...]:
    """A cycle from the press that starts it to its end: come-up, exposure, drying."""
    code = programme.code
    drying: float | None = programme.drying_min
    if drying is None and programme.method is not Method.STEAM:
        drying = 0
    parts = (("come-up", programme.come_up_min), ("exposure", programme.exposure_min),
             ("drying", drying))  # fmt: skip
    stages = [
        Stage(f"{name}, {code}", minutes, ON_RECORD)
        if minutes is not None
        else Stage(name, None, f"the {name} of {code} is not on record")
        for name, minutes in parts
        if minutes != 0
    ]
    return (replace(stages[0], not_before=free, waits=waits), *stages[1:])


def after_cycle(method: Method, policy: Policy, implant: bool = False) -> tuple[Stage, ...]:
    """What follows a cycle until it is where it is wanted: cooling, indicator, way. ``implant``:
    one is in the load, as far as is on record."""
    stages = []
    if method in HOT:
        stages.append(by_policy("cooling", "cooling_min", policy))
    if method in AERATED:
        stages.append(Stage("aeration", None, f"how long {method.words} is aerated is not on "
                            "record"))  # fmt: skip
    waits = policy.word("biological_before_release")
    if waits == "every load" or (implant and waits == WITH_IMPLANTS):
        stages.append(by_policy("biological indicator", "biological_wait_min", policy))
    return (*stages, way(policy))


def way(policy: Policy) -> Stage:
    """The way from the department to whoever asked."""
    return by_policy("way there", "way_there_min", policy)


def by_policy(name: str, value: str, policy: Policy) -> Stage:
    """A stage as long as the policy says."""
    return Stage(name, policy.number(value), policy.source(value))


def implant_note(policy: Policy) -> str:
    """What an implant adds that no record knows of, where the policy lets only loads with one wait
    for their indicator."""
    if policy.word("biological_before_release") != WITH_IMPLANTS:
        return ""
    minutes, source = policy.number("biological_wait_min"), policy.source("biological_wait_min")
    return ("No implant is in it, as far as is on record. With one in the load it waits for the "
            f"biological indicator: {minutes:g} min more ({source}).")  # fmt: skip
