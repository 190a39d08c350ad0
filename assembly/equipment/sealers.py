"""Which sealer closes a package, and whether what it reads today is right for its pouch."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.utils import timezone

from assembly.equipment.standing import Standing, standing_of
from assembly.judging.taking import supplies_in
from assembly.ledger import Refused
from assembly.models import Package
from assembly.rules.findings import Finding, Status
from assembly.rules.limits.equipment import SealWindow, seal_finding, stops
from assembly.rules.policy.values import Policy
from catalog.models import Pouch, Roll, Sealer
from catalog.vocabulary import Kind as PackageKind


def windows_of(package: Package) -> tuple[SealWindow, ...]:
    """The temperature of each pouch or roll that heat closes; empty where none does.

    A pouch that does not say how it is closed, or is on record no more, is sealed with heat.
    """
    kind, codes = supplies_in(package.taken)
    if kind not in (PackageKind.POUCH, PackageKind.ROLL):
        return ()
    return windows_in(kind, codes)


def windows_in(kind: str, codes: Iterable[str]) -> tuple[SealWindow, ...]:
    """The same for supplies of a kind by their codes."""
    rows: Any = Pouch if kind == PackageKind.POUCH else Roll
    known = {row.code: row for row in rows.objects.filter(code__in=list(codes))}
    return tuple(
        _window(code, known.get(code)) for code in codes
        if getattr(known.get(code), "closure", "") != Pouch.Closure.SELF_SEAL
    )  # fmt: skip


def _window(code: str, row: Pouch | Roll | None) -> SealWindow:
    if row is None:
        return SealWindow(code)
    return SealWindow(code, _number(row.seal_temperature_c), _number(row.seal_tolerance_c),
                      row.ifu_reference)  # fmt: skip


def _number(value: Decimal | None) -> float | None:
    return None if value is None else float(value)


def temperatures() -> list[str]:
    """What heat closes and is kept, by the temperature that its IFU says: for the wall. Two
    queries."""
    pouches = Pouch.objects.filter(in_stock=True).exclude(closure=Pouch.Closure.SELF_SEAL)
    rows: list[Pouch | Roll] = [*pouches, *Roll.objects.filter(in_stock=True)]
    found: dict[str, list[str]] = {}
    for row in rows:
        found.setdefault(_window(row.code, row).words, []).append(row.code)
    return [f"{', '.join(codes)}: {words}." for words, codes in sorted(found.items())]


@dataclass(frozen=True, slots=True)
class Today:
    """A sealer today: its seal test, and what it reads by it (°C); None where that is unknown."""

    sealer: Sealer
    test: Standing

    @property
    def read_c(self) -> float | None:
        good, status = self.test.good, self.test.finding.status
        if good is None or status is Status.NOT_MET:
            return None
        holds = status is Status.MET or good.day == timezone.localdate()
        return _number(good.read_c) if holds else None

    def words(self, windows: tuple[SealWindow, ...]) -> str:
        """How it stands for what it closes, in a few words."""
        if self.test.failed:
            return "its test failed"
        if self.read_c is None:
            return "not tested today"
        not_right = self.findings(windows)[1].status is Status.NOT_MET
        return f"reads {self.read_c:g} °C" + (": not right for it" if not_right else "")

    def findings(self, windows: tuple[SealWindow, ...]) -> tuple[Finding, Finding]:
        """Its test of the day, and its temperature against what it closes."""
        return self.test.finding, seal_finding(self.read_c, self.sealer.code, windows)


def sealers_today(policy: Policy, *only: Sealer) -> list[Today]:
    """Every sealer in use as it stands today, or those named."""
    things = list(only) or list(Sealer.objects.filter(active=True))
    return [Today(one.thing, one) for one in standing_of(things, policy)
            if isinstance(one.thing, Sealer)]  # fmt: skip


def judged(sealer: Sealer | None, package: Package, policy: Policy) -> tuple[Finding, ...]:
    """What a heat seal of this package by this sealer is judged by; empty where heat closes none
    of it.

    Refused where its temperature is not right for the pouch or its test failed, and where what
    is not known stops it by the policy. Without a sealer on record nothing can be told.
    """
    windows = windows_of(package)
    if not windows:
        return ()
    if sealer is None:
        if Sealer.objects.filter(active=True).exists():
            raise Refused(f"{package.code} is sealed with heat: say which sealer closed it.")
        findings: tuple[Finding, ...] = (seal_finding(None, "the sealer", windows),)
    else:
        if not sealer.active:
            raise Refused(f"{sealer} is retired on the page of supplies. Choose another sealer.")
        findings = sealers_today(policy, sealer)[0].findings(windows)
    if against := [one.sentence() for one in findings if stops(one, policy)]:
        raise Refused(f"{package.code} is not sealed. {' '.join(against)} Use another sealer, or "
                      "put a new seal test on record under Equipment.")  # fmt: skip
    return findings
