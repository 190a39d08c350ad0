"""When a load can be released at the earliest, and what was read off the sterilizer's record.

A cycle that has just been started cannot be over: start, exposure and drying of its facts say
when. The sterilizer's own record overrides them with a reason, but nothing shortens an exposure.
The sterilizer maker's IFU comes first.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta

from assembly.rules.days import day_words
from assembly.rules.facts.cycles import Programme
from assembly.rules.findings import CLOSE_BY_UNIT, Finding, Rule
from assembly.rules.policy.values import Policy
from catalog.vocabulary import Method

TIMES = "the times of its cycle on record"
RECORD = "the sterilizer's own record beside its cycle; the sterilizer maker's IFU"
HOT = (Method.STEAM, Method.DRY_HEAT)
"""Where every minute below the temperature counts for nothing."""
DRIED = (Method.STEAM,)


@dataclass(frozen=True, slots=True, kw_only=True)
class RunRecord:
    """What was typed from the sterilizer's record of one load; None was not typed.

    Moments bear their time zone. ``why`` says why what differs is right.
    """

    started: datetime | None = None
    ended: datetime | None = None
    least_c: float | None = None
    greatest_c: float | None = None
    exposure_min: float | None = None
    drying_min: float | None = None
    why: str = ""


def earliest_end(start: datetime, programme: Programme | None) -> datetime | None:
    """Start, exposure and drying: nothing is released before; None where a time is unknown.

    What it takes to reach the temperature is left out, so that this is the least.

    >>> s134 = Programme(code="S134-4", method=Method.STEAM, exposure_min=4, drying_min=30)
    >>> f"{earliest_end(datetime(2026, 1, 1, 21, 42), s134):%H:%M}"
    '22:16'
    """
    if programme is None or programme.exposure_min is None:
        return None
    if programme.drying_min is None and programme.method in DRIED:
        return None
    return start + timedelta(minutes=programme.exposure_min + (programme.drying_min or 0))


def record_findings(
    record: RunRecord, pressed: datetime, now: datetime, programme: Programme | None, policy: Policy
) -> tuple[Finding, ...]:
    """Whether the cycle can be over by ``now``, and each figure that was typed beside its cycle.

    ``pressed`` is when the load was started here. Times in the sentences are in the time zone
    of ``now``.
    """
    return (
        _over(record, pressed, now, programme),
        *_start(record, pressed, now, policy),
        *_temperatures(record, programme, policy),
        *_minutes(record, programme),
    )


def _clock(moment: datetime, now: datetime) -> str:
    local = moment.astimezone(now.tzinfo)
    day = "" if local.date() == now.date() else f"{day_words(local)}, "
    return f"{day}{local:%H:%M}"


def _over(
    record: RunRecord, pressed: datetime, now: datetime, programme: Programme | None
) -> Finding:
    start = (record.started or pressed).replace(second=0, microsecond=0)  # as clocks read
    earliest = earliest_end(start, programme)
    if record.ended is not None:
        return _ended(record.ended, record, start, now, programme)
    rule = Rule("end of the cycle", TIMES)
    if programme is None or earliest is None:
        return rule.cannot_tell(
            "Exposure or drying of this cycle is not on record: type when the sterilizer's record "
            "says that it ended.", "ended",
        )  # fmt: skip
    reckoned = _reckoned(start, earliest, now, programme)
    if now < earliest:
        return rule.not_met(f"The cycle cannot be over: {reckoned}. If the sterilizer's record "
                            "shows its end, type it, and why.")  # fmt: skip
    return rule.met(f"The cycle can be over: {reckoned}.")


def _reckoned(start: datetime, earliest: datetime, now: datetime, programme: Programme) -> str:
    dry = f" and {programme.drying_min:g} min drying" if programme.drying_min else ""
    return (f"started {_clock(start, now)}, {programme.exposure_min or 0:g} min exposure{dry}, so "
            f"not before {_clock(earliest, now)}")  # fmt: skip


def _ended(
    ended: datetime, record: RunRecord, start: datetime, now: datetime, programme: Programme | None
) -> Finding:
    rule, at = Rule("end of the cycle", RECORD), _clock(ended, now)
    if ended > now:
        return rule.not_met(f"The end {at} is still to come: read the record again.")
    if ended <= start:
        return rule.not_met(f"The end {at} is before the start {_clock(start, now)}: read the "
                            "record again, and type its start too.")  # fmt: skip
    exposure = programme.exposure_min if programme else None
    if exposure is not None and ended < start + timedelta(minutes=exposure):
        return rule.not_met(f"From {_clock(start, now)} to {at} is less than the {exposure:g} min "
                            "of exposure alone: hold the load back.")  # fmt: skip
    earliest = earliest_end(start, programme)
    if programme and earliest and ended < earliest:
        reckoned = _reckoned(start, earliest, now, programme)
        return _unless(rule, f"The record ends at {at}; {reckoned}", record.why)
    return rule.met(f"The sterilizer's record ends at {at}.")


def _unless(rule: Rule, what: str, why: str) -> Finding:
    """Not met, unless it was written why what differs is right."""
    if why:
        return rule.met(f"{what}. Taken because: {why}")
    return rule.not_met(f"{what}. Write why the sterilizer's record is right, or hold the load "
                        "back.")  # fmt: skip


def _start(
    record: RunRecord, pressed: datetime, now: datetime, policy: Policy
) -> Iterator[Finding]:
    if record.started is None:
        return
    rule = Rule("start of the cycle", policy.source("record_apart_min"))
    apart = abs((record.started - pressed).total_seconds()) / 60
    words = (
        f"The record starts at {_clock(record.started, now)}, here it was {_clock(pressed, now)}"
    )
    if apart <= policy.number("record_apart_min"):
        yield rule.met(f"{words}.")
    else:
        yield _unless(rule, f"{words}: is it the record of this load?", record.why)


def _temperatures(
    record: RunRecord, programme: Programme | None, policy: Policy
) -> Iterator[Finding]:
    asked = programme.temperature_c if programme and programme.method in HOT else None
    if (least := record.least_c) is not None:
        rule = Rule("least temperature", RECORD)
        if asked is None:
            yield rule.does_not_apply(f"Least temperature {least:g} °C: nothing on record of this "
                                      "cycle to hold it against.")  # fmt: skip
        else:
            ok = least >= asked - CLOSE_BY_UNIT["ratio"]
            find = rule.met if ok else rule.not_met
            yield find(f"Least temperature {least:g} °C, the cycle asks {asked:g} °C.")
    if (greatest := record.greatest_c) is not None:
        yield _greatest(greatest, record.least_c, asked, policy)


def _greatest(greatest: float, least: float | None, asked: float | None, policy: Policy) -> Finding:
    rule = Rule("greatest temperature", policy.source("temperature_band_c"))
    if least is not None and greatest < least:
        return rule.not_met(f"Greatest temperature {greatest:g} °C is below the least, {least:g} "
                            "°C: read the record again.")  # fmt: skip
    words = f"Greatest temperature {greatest:g} °C"
    if asked is None or not policy.flag("temperature_band"):
        return rule.does_not_apply(f"{words}: no band is set that it has to keep.")
    most = asked + policy.number("temperature_band_c")
    find = rule.met if greatest <= most + CLOSE_BY_UNIT["ratio"] else rule.not_met
    return find(f"{words}, the band of this cycle ends at {most:g} °C.")


def _minutes(record: RunRecord, programme: Programme | None) -> Iterator[Finding]:
    for name in ("exposure", "drying"):
        read = getattr(record, f"{name}_min")
        if read is None:
            continue
        rule, asked = Rule(name, RECORD), getattr(programme, f"{name}_min", None)
        words = f"{name.capitalize()} {read:g} min"
        if asked is None:
            yield rule.does_not_apply(f"{words}: nothing on record of this cycle to hold it "
                                      "against.")  # fmt: skip
        elif read >= asked - CLOSE_BY_UNIT["min"]:
            yield rule.met(f"{words}, the cycle asks {asked:g} min.")
        elif name == "drying":
            yield _unless(rule, f"{words}, the cycle asks {asked:g} min", record.why)
        else:
            yield rule.not_met(f"{words}, the cycle asks {asked:g} min: hold the load back.")
