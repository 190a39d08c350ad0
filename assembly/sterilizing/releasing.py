"""After the cycle: released, held back, or recalled when it turns out that it failed."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import asdict
from datetime import UTC, datetime, time, timedelta
from typing import Any

from django.utils import timezone

from assembly.equipment.standing import check_indicator
from assembly.judging.asked_again import check_asked
from assembly.judging.facts_from_catalog import policy_in_force
from assembly.ledger import Refused, begin, verb, write
from assembly.models import (
    Biological,
    Load,
    LoadedPackage,
    LoadState,
    Package,
)
from assembly.packages.implants import implants_in
from assembly.packages.promises import lock_with_requests, tell_of
from assembly.packages.whereabouts import Whereabouts, whereabouts_of
from assembly.persons import RELEASE_LOAD, Person
from assembly.rules.facts.from_json import plain, read_programme
from assembly.rules.findings import Finding, Rule, Status
from assembly.rules.telling.release import IMPLANT, may_be_released, release_findings
from assembly.rules.telling.run_record import RunRecord, earliest_end, record_findings
from assembly.sterilizing.wet import wet_in
from catalog.vocabulary import Method

RUNNING, RELEASED = (LoadState.RUNNING,), (LoadState.RELEASED,)


def findings_for(load: Load, answers: Mapping[str, str], biological: str) -> tuple[Finding, ...]:
    """What these answers come to for this load, by the policy in force today.

    ``biological`` is one of :class:`~assembly.models.Biological`, "" where nobody said. An implant
    that is on record is one, whatever was answered.
    """
    if biological and biological not in Biological:
        raise Refused(f"“{biological}” is nothing a biological indicator can say. Choose again.")
    wet = wet_in(load)
    if implants_in(load):
        answers = {**answers, IMPLANT: "yes"}
    found = release_findings(Method(load.method), answers, biological, policy_in_force(), len(wet))
    return (*found, *_wet_finding(wet, load)) if wet else found


def _wet_finding(wet: list[LoadedPackage], load: Load) -> Iterator[Finding]:
    rule = Rule("wet packages", "what was named at the sterilizer")
    if len(wet) == load.loaded.filter(taken_out_at=None).count():
        yield rule.not_met("Every package of it is wet: hold the load back.")
    named = "; ".join(f"{one.package.code}: {one.get_wet_because_display()}" for one in wet)
    yield rule.does_not_apply(f"Wet, and not to be used: {named}.")


def record_of(load: Load, typed: Mapping[str, Any]) -> RunRecord:
    """What was typed from the record, its times on the days on which they must have been.

    They are times of day in the department: the start the one nearest to when the load was
    started here, the end the first after the start. They come in UTC: moments of one time zone
    are compared as clocks read them, an hour off on the nights on which clocks are changed.
    """
    assert load.started_at is not None
    started, ended, figures = typed.get("started"), typed.get("ended"), dict(typed)
    start = pressed = load.started_at
    if started is not None:
        near = _moments(pressed, started, (-1, 0, 1))
        figures["started"] = start = min(near, key=lambda moment: abs(moment - pressed))
    if ended is not None:
        minute = start.replace(second=0, microsecond=0)
        after = (moment for moment in _moments(start, ended, (0, 1)) if moment >= minute)
        figures["ended"] = min(after)
    return RunRecord(**figures)


def _moments(near: datetime, at: time, days: Iterable[int]) -> Iterator[datetime]:
    """This time of day, so many days from that of ``near``: twice where the hour is there twice."""
    today = timezone.localtime(near).date()
    for day in days:
        there = datetime.combine(today + timedelta(days=day), at)
        for fold in (0, 1):
            yield timezone.make_aware(there.replace(fold=fold)).astimezone(UTC)


def _kept(read: RunRecord) -> Any:
    """The record as it is kept: times of the department, with their distance from UTC."""
    here = {name: timezone.localtime(value) if isinstance(value, datetime) else value
            for name, value in asdict(read).items()}  # fmt: skip
    return plain(here)


def _record_findings(load: Load, record: RunRecord) -> tuple[Finding, ...]:
    programme = read_programme(load.runs) if load.runs else None
    assert load.started_at is not None
    return record_findings(record, load.started_at, timezone.localtime(), programme,
                           policy_in_force())  # fmt: skip


def earliest_of(load: Load) -> datetime | None:
    """When a running load can be released at the earliest, in UTC; None where its cycle's facts do
    not tell."""
    programme = read_programme(load.runs) if load.runs else None
    assert load.started_at is not None
    return earliest_end(load.started_at, programme)


@verb(RELEASE_LOAD)
def release(
    person: Person, pk: int, answers: Mapping[str, str], biological: str, key: str,
    record: Mapping[str, Any] | None = None,
) -> Load:  # fmt: skip
    """The packages of the load may be put away and sent.

    ``record`` is what was typed from the sterilizer's own (:func:`record_of`). Refused unless
    every check is answered yes, the cycle can be over, what was typed agrees with the cycle and
    the biological indicator lets it go, with every reason.
    """
    load, before = begin(Load, pk, key, RUNNING)
    if before:
        return load
    check_asked(person)
    check_indicator(load, biological)
    read = record_of(load, record or {})
    findings = (*findings_for(load, answers, biological), *_record_findings(load, read))
    if not may_be_released(findings):
        held = (one for one in findings if one.status in (Status.NOT_MET, Status.CANNOT_TELL))
        raise Refused(f"Not released. {' '.join(one.sentence() for one in held)}")
    changes = {**_ended(LoadState.RELEASED, biological, findings), "record": _kept(read)}
    return write(load, person, key, changes, words="released", reason=read.why).load


def _ended(state: LoadState, biological: str, findings: Iterable[Finding]) -> dict[str, object]:
    decided_on = [one.as_json() for one in findings]
    return {"state": state, "biological": biological, "findings": decided_on}


@verb(RELEASE_LOAD)
def hold_back(
    person: Person, pk: int, answers: Mapping[str, str], biological: str, key: str, reason: str
) -> Load:
    """The load is not released: its packages are to be voided and packed anew.

    With a reason, which the requests of its packages learn.
    """
    inside = lock_inside(pk)
    load, before = begin(Load, pk, key, RUNNING)
    if before:
        return load
    if not reason.strip():
        raise Refused("Write why the load is not released: it stays on record.")
    findings = findings_for(load, answers, biological)
    for package in (one for one in inside if not one.is_void):
        tell_of(person, package, f"was in load {load}, not released: {reason.strip()}")
    changes = _ended(LoadState.NOT_RELEASED, biological, findings)
    return write(load, person, key, changes, words="not released", reason=reason).load


@verb(RELEASE_LOAD)
def read_later(person: Person, pk: int, biological: str, key: str) -> Load:
    """The biological indicator of a released load was read afterwards, without growth.

    Growth is a recall, with its reason: Refused here.
    """
    load, before = begin(Load, pk, key, RELEASED)
    if before:
        return load
    if biological == Biological.GROWTH:
        raise Refused("It grew: recall the load, and write what is done.")
    if biological != Biological.NO_GROWTH or load.biological != Biological.NOT_READ:
        raise Refused("Nothing waits to be read there. Nothing was changed.")
    check_indicator(load, biological)
    words = f"biological indicator: {Biological(biological).label.lower()}"
    return write(load, person, key, {"biological": biological}, words=words).load


def lock_inside(load_pk: int) -> list[Package]:
    """What is in a load that was started, which stays so, with the requests of it."""
    return lock_with_requests(
        Package.objects.filter(loaded__load=load_pk, loaded__taken_out_at=None)
    )


def whereabouts(load: Load) -> list[Whereabouts]:
    """Every package of a load and where it is, those that went out first."""
    inside = load.loaded.filter(taken_out_at=None).select_related("package")
    return whereabouts_of(one.package for one in inside)
