"""Published least times for steam, shown beside what the instrument's instructions say.

The rows are ``data/published_cycles.toml``, read strictly. The instrument maker's IFU comes
first: a cycle shorter than the published one is met where that IFU itself states it, and
not met otherwise. A holding time can only prove a cycle too short.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from pathlib import Path
from typing import Any, TypeVar

from assembly.rules.facts.checks import check_number
from assembly.rules.facts.cycles import CycleOption, Programme
from assembly.rules.findings import Finding, Status, cannot_tell
from assembly.rules.methods.routes import accepts
from assembly.rules.policy.values import (
    CONFIDENCE,
    DATA,
    Policy,
    PolicyError,
    check_day,
    check_keys,
    read_toml,
)
from catalog.vocabulary import ItemClass, Method

Word = TypeVar("Word", bound=StrEnum)

RULE = "published minimum"
IFU = "the instrument maker's IFU"
MEMORY = "M"
"""The confidence of what nobody read: it never stands as a rule."""


class Sterilizer(StrEnum):
    """How a steam sterilizer gets rid of air."""

    GRAVITY = "gravity"
    DYNAMIC = "dynamic air removal"


class Basis(StrEnum):
    """What a published time counts."""

    WRAPPED = "wrapped minimum"
    HOLDING = "holding time"


@dataclass(frozen=True, slots=True, kw_only=True)
class PublishedRow:
    """One published time: least exposure and range of drying in minutes, class in °C.

    ``sterilizer`` and ``item`` None: it holds for every one of them. ``drying_from_min``
    None: nothing is published about drying.
    """

    basis: Basis
    temperature_c: float
    exposure_min: float
    source: str
    confidence: str
    sterilizer: Sterilizer | None = None
    item: ItemClass | None = None
    drying_from_min: float | None = None
    drying_to_min: float | None = None

    def sentence(self) -> str:
        """The row in words.

        >>> print(published_rows()[0].sentence())
        gravity, instruments: 121 °C, 30 min, dry 15 to 30 min
        """
        who = ", ".join(str(word) for word in (self.sterilizer, self.item) if word)
        words = f"{self.temperature_c:g} °C, {self.exposure_min:g} min"
        if self.drying_from_min is not None:
            words += f", dry {self.drying_from_min:g}"
            if self.drying_to_min is not None and self.drying_to_min != self.drying_from_min:
                words += f" to {self.drying_to_min:g}"
            words += " min"
        return f"{who or self.basis}: {words}"


_NEEDED = {"basis", "temperature_c", "exposure_min", "source", "confidence"}
_KEYS = _NEEDED | {"sterilizer", "item", "drying_from_min", "drying_to_min"}
_NUMBERS = ("temperature_c", "exposure_min", "drying_from_min", "drying_to_min")
_LARGEST = 1000.0
"""No published steam time or temperature is beyond this: a larger figure is a slip."""


def load(path: Path) -> tuple[PublishedRow, ...]:
    """The rows in ``path``; PolicyError on the first thing that is wrong."""
    table = check_keys(
        path.name, "(top)", read_toml(path), {"last_checked", "row"}, {"last_checked", "row"}
    )
    check_day(path.name, "last_checked", table["last_checked"])
    if not isinstance(table["row"], list) or not table["row"]:
        raise PolicyError(path.name, "row", "needs at least one row")
    rows = [_row(path.name, f"row {n}", raw) for n, raw in enumerate(table["row"], start=1)]
    places = [(row.basis, row.sterilizer, row.item, row.temperature_c) for row in rows]
    for n, place in enumerate(places, start=1):
        if place in places[: n - 1]:
            raise PolicyError(path.name, f"row {n}", "answers the same question as an earlier row")
    return tuple(rows)


def _row(file: str, key: str, raw: object) -> PublishedRow:
    table = check_keys(file, key, raw, _KEYS, _NEEDED)
    if not isinstance(table["source"], str) or not table["source"].strip():
        raise PolicyError(file, f"{key}.source", "must name where the value comes from")
    if table["confidence"] not in CONFIDENCE:
        raise PolicyError(
            file, f"{key}.confidence", f"read {table['confidence']!r}; one of {CONFIDENCE}"
        )
    try:
        for name in _NUMBERS:
            check_number(name, table.get(name), largest=_LARGEST)
        row = PublishedRow(
            **{
                **table,
                "basis": Basis(table["basis"]),
                "sterilizer": _word(Sterilizer, table.get("sterilizer")),
                "item": _word(ItemClass, table.get("item")),
            }
        )
    except ValueError as problem:
        raise PolicyError(file, key, str(problem)) from problem
    _check_row(file, key, row)
    return row


def _word(kind: type[Word], value: Any) -> Word | None:
    return None if value is None else kind(value)


def _check_row(file: str, key: str, row: PublishedRow) -> None:
    low, high = row.drying_from_min, row.drying_to_min
    if (low is None) != (high is None):
        raise PolicyError(file, key, "state drying_from_min and drying_to_min, or neither")
    if low is not None and high is not None and high < low:
        raise PolicyError(file, f"{key}.drying_to_min", f"read {high:g}; it is below {low:g}")
    if row.basis is Basis.WRAPPED and (row.sterilizer is None or row.item is None):
        raise PolicyError(file, key, "a wrapped minimum names its sterilizer and its item")


@cache
def published_rows() -> tuple[PublishedRow, ...]:
    """The shipped rows, read once."""
    return load(DATA / "published_cycles.toml")


def published_for(
    sterilizer: Sterilizer, item: ItemClass, temperature_c: float, basis: Basis = Basis.WRAPPED
) -> PublishedRow | None:
    """The row for exactly this temperature class (°C); None where nothing is published.

    >>> published_for(Sterilizer.DYNAMIC, ItemClass.INSTRUMENTS, 132).exposure_min
    4
    >>> published_for(Sterilizer.DYNAMIC, ItemClass.INSTRUMENTS, 121) is None
    True
    """
    for row in published_rows():
        if (
            row.basis is basis
            and row.temperature_c == temperature_c
            and row.sterilizer in (None, sterilizer)
            and row.item in (None, item)
            and row.confidence != MEMORY
        ):
            return row
    return None


def published_minimum_finding(
    cycle: CycleOption | Programme,
    item: ItemClass | None,
    policy: Policy,
    *,
    sterilizer: Sterilizer | None = None,
    stated: Sequence[CycleOption] = (),
) -> Finding:
    """Whether a steam cycle reaches the published least exposure and drying, in minutes.

    ``stated`` are the cycles of the instrument's IFU; a shorter cycle that one of them
    states is met, because the IFU rules. A CycleOption is its own IFU. Equal is met. A
    missing temperature, exposure or drying cannot be told, nor can an unknown sterilizer
    or item class unless every one of them gives the same answer. Source: the row's own.
    """
    if cycle.method is not Method.STEAM:
        return Finding(RULE, Status.DOES_NOT_APPLY,
                       "Published least times are on record for steam only.", IFU)  # fmt: skip
    if cycle.temperature_c is None:
        return cannot_tell(RULE, "The temperature is not on record.", IFU,
                           missing=("temperature_c",))  # fmt: skip
    if isinstance(cycle, CycleOption):
        stated = (cycle,)
    answers = [
        _against(cycle, cycle.temperature_c, one, each, stated, policy)
        for one in _all_or(sterilizer, Sterilizer)
        for each in _all_or(item, ItemClass)
    ]
    if len({answer.status for answer in answers}) == 1:
        return answers[0]
    unknown = [("the kind of sterilizer", "sterilizer", sterilizer),
               ("the kind of item", "item", item)]  # fmt: skip
    missing = [(words, name) for words, name, value in unknown if value is None]
    words = " and ".join(word for word, _ in missing)
    return cannot_tell(
        RULE,
        f"The published least times depend on {words}: say which.",
        answers[0].source,
        missing=[name for _, name in missing],
    )


def _all_or(value: Word | None, kind: type[Word]) -> Iterable[Word]:
    return tuple(kind) if value is None else (value,)


def _against(
    cycle: CycleOption | Programme,
    temperature_c: float,
    sterilizer: Sterilizer,
    item: ItemClass,
    stated: Sequence[CycleOption],
    policy: Policy,
) -> Finding:
    row = published_for(sterilizer, item, temperature_c)
    holding = published_for(sterilizer, item, temperature_c, Basis.HOLDING)
    by_ifu = []
    for part, given, least, found in _parts(cycle, row, holding):
        if given is None or given >= least:
            continue
        finding = _shorter(cycle, part, given, least, found, stated, policy)
        if finding.status is not Status.MET:
            return finding
        by_ifu.append(finding)
    for part, given, _, found in _parts(cycle, row, None):
        if given is None:
            return cannot_tell(
                RULE,
                f"The {part} is not on record. Published: {found.sentence()}.",
                found.source,
                missing=(f"{part}_min",),
            )
    if by_ifu:
        return by_ifu[0]
    if row is None:
        words = f"wrapped {item} is on record at {temperature_c:g} °C with {sterilizer}"
        return Finding(
            RULE,
            Status.DOES_NOT_APPLY,
            f"No least time for {words}: the instrument's IFU alone counts.",
            holding.source if holding else IFU,
        )
    words = f"It reaches the published least times ({row.sentence()})."
    return Finding(RULE, Status.MET, words, row.source)


def _parts(
    cycle: CycleOption | Programme, row: PublishedRow | None, holding: PublishedRow | None
) -> Iterable[tuple[str, float | None, float, PublishedRow]]:
    """What is compared: the part, what the cycle gives, the published least and its row."""
    for found in (row, holding):
        if found is not None:
            yield "exposure", cycle.exposure_min, found.exposure_min, found
            if found.drying_from_min is not None:
                yield "drying", cycle.drying_min, found.drying_from_min, found


def _shorter(
    cycle: CycleOption | Programme,
    part: str,
    given: float,
    least: float,
    row: PublishedRow,
    stated: Sequence[CycleOption],
    policy: Policy,
) -> Finding:
    """What a cycle below a published time is: met only where the IFU itself states it."""
    published = f"Published: {row.sentence()}."
    source = f"{IFU}; {row.source}"
    below = f"{part} of {given:g} min is below the published {least:g} min"
    answers = {_states(option, cycle, part, policy) for option in stated}
    if "yes" in answers:
        return Finding(
            RULE,
            Status.MET,
            f"Its {below}, but the instrument's IFU states this shorter cycle, and the IFU "
            f"rules. {published}",
            source,
        )
    if "cannot tell" in answers:
        return cannot_tell(
            RULE,
            f"Its {below}, and whether the instrument's IFU states it is not on record. "
            f"{published}",
            source,
            missing=("cycles",),
        )
    return Finding(
        RULE,
        Status.NOT_MET,
        f"Too short: its {below}, and the instrument's IFU does not state it. {published}",
        row.source,
    )


def _states(option: CycleOption, cycle: CycleOption | Programme, part: str, policy: Policy) -> str:
    """Whether an IFU's cycle states this one: an IFU silent on drying states no short one."""
    if isinstance(cycle, CycleOption):
        return "yes" if option is cycle else "no"
    answer = accepts(option, cycle, policy)[0]
    if answer == "yes" and part == "drying" and option.drying_min is None:
        return "no"
    return answer
