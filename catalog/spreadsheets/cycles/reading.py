"""How an item is sterilized, as instructions and lists write it: methods and cycles.

A cell may hold several cycles: ``132C 4 min; 134C 3 min``. Each is read word by word: the
method, how air is removed, a temperature or a range of them (°C, or °F to the nearest whole
°C), an exposure that is the least unless a longest one is printed, drying, aeration, the name
of the cycle. A word that is none of these makes the whole cell unreadable: nothing is guessed
around it. A steam temperature with minutes and no method is steam. Spellings: common practice
in instructions and lists, no source.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, fields, replace
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

from catalog.spreadsheets.cycles.words import (
    AERATION,
    AIR_REMOVAL,
    BETWEEN,
    DRYING,
    FILLERS,
    LEAST,
    METHOD_WORDS,
    MOST,
    NAMED,
    STEAM,
    UNITS_OF_TIME,
)
from catalog.units import UNKNOWN_MARKS, tidy

LEAST_C, MOST_C = 30, 210
"""Temperatures of any sterilizing cycle, low-temperature to dry heat (common practice)."""
STEAM_C = (115, 138)
"""A temperature in here, with minutes and without a method, is steam's (common practice)."""
BARE_C = "121|132|134|135"
"""Numbers that are temperatures even without their unit (common practice)."""
MOST_MIN = 1440
"""No exposure, drying or aeration is longer than a day (common practice)."""

Number = int | Decimal
Option = dict[str, Any]
"""One permitted way, by the names of :class:`ReadCycle`."""


class UnreadableError(ValueError):
    """A cell that cannot be read. ``code`` is for programs, ``message`` for people."""

    def __init__(self, code: str, message: str) -> None:
        super().__init__(message)
        self.code = code
        self.message = message


@dataclass(frozen=True, slots=True)
class ReadCycle:
    """One cycle as read: degrees Celsius and minutes; None and "" are not said."""

    method: str = ""
    temperature_c: Number | None = None
    temperature_to_c: Number | None = None
    air_removal: str = ""
    exposure_min: Number | None = None
    exposure_max: Number | None = None
    drying_min: Number | None = None
    aeration_min: Number | None = None
    cycle_name: str = ""

    @property
    def doubt(self) -> str:
        """What a reader should look up in the instructions; "" where nothing."""
        if self.exposure_min is not None and self.temperature_c is None and self.method == STEAM:
            return "It gives an exposure and no temperature"
        return ""


NAMES = tuple(field.name for field in fields(ReadCycle))
_Reader = Callable[[ReadCycle, Mapping[str, str], str], ReadCycle]

_NUMBER = r"[0-9]+(?:[.,][0-9]+)?"
_RANGE = rf"(?P<low>{_NUMBER})(?:\s*°?\s*[cf]?\s*(?:-|to|bis|a|à|al|tot)\s*(?P<high>{_NUMBER}))?"
_TIME = rf"{_RANGE}\s*(?P<unit>{UNITS_OF_TIME})\b\.?"
_FIGURE = rf"{_NUMBER}\s*(?:°|[cf]\b|-|min)"
_NO_DEGREES = r"(?![0-9.,]*\s*(?:°|[cf]\b)|[0-9])"


def _with_its_time(words: str, *, bare: bool) -> str:
    """A time after its word (``dry 20``), else before it; never the time of what follows."""
    after = rf"(?:{words})\b(?:\s*(?:time|zeit)\b)?[\s:=]*(?:(?:{LEAST})\s*)?"
    times = rf"(?:{_TIME}|{_RANGE}{_NO_DEGREES})" if bare else _TIME
    next_time = rf"(?!\b(?:\s*(?:time|zeit)\b)?[\s:=]*(?:(?:{LEAST})\s*)?{_NUMBER}{_NO_DEGREES})"
    return rf"{after}{times}|{_TIME}\s*(?:{words})\b{next_time}"


_TOKENS: Sequence[tuple[str, str]] = (
    ("named", rf"(?:{NAMED})\s*[:=]?\s*\"(?P<name>[^\"]+)\""),
    ("named", rf"(?:{NAMED})\s*[:=]?\s*(?!{_FIGURE})(?P<name>[a-z0-9][\w.+-]*)"),
    ("drying", _with_its_time(DRYING, bare=True)),
    ("aeration", _with_its_time(AERATION, bare=False)),
    ("most", rf"(?:{MOST})\s*{_TIME}"),
    ("exposure", rf"(?:(?:{LEAST})\s*)?{_TIME}(?:\s*\(?(?:{LEAST})\)?)?"),
    ("degrees", rf"{_RANGE}\s*(?:°\s*(?P<scale>[cf])?|(?P<bare>[cf])\b)"),
    ("bare_degrees", rf"\b(?P<low>{BARE_C})\b"),
    *((f"air_{word}", rf"\b(?:{spellings})\b") for word, spellings in AIR_REMOVAL.items()),
    ("method", rf"\b(?:{'|'.join(sorted(map(re.escape, METHOD_WORDS), key=len, reverse=True))})\b"),
    ("named", rf"(?!(?:{FILLERS})\b)(?P<name>[a-z][\w+-]*)\s+(?:{NAMED})\b"),
    ("filler", rf"\b(?:{FILLERS})\b|[,:/().@=+]|(?<!\w)-(?!\w)"),
    ("between", rf"[;\n|]|\b(?:{BETWEEN})\b"),
    ("space", r"\s+"),
)
_NAMES_OF_GROUPS = re.compile(r"\(\?P<(\w+)>")


def _compiled(name: str, pattern: str) -> tuple[str, re.Pattern[str]]:
    # A pattern may offer a part twice (drying before or after its time): number the groups.
    seen: dict[str, int] = {}

    def numbered(found: re.Match[str]) -> str:
        seen[found[1]] = seen.get(found[1], 0) + 1
        return f"(?P<{found[1]}_{seen[found[1]]}>"

    return name, re.compile(_NAMES_OF_GROUPS.sub(numbered, pattern))


_PATTERNS = [_compiled(name, pattern) for name, pattern in _TOKENS]


def read_cycles(text: str) -> tuple[ReadCycle, ...]:
    """The cycles in ``text``, in their order; () where it says that there are none.

    Raises UnreadableError on a word that is no part of a cycle, or figures that cannot be.

    >>> [c.temperature_to_c for c in read_cycles("132-135C 4 min dry 20; gravity 121C 30 min")]
    [135, None]
    >>> read_cycles("270°F 4 min")[0].temperature_c, read_cycles("n/a")
    (132, ())
    """
    if " ".join(folded(text).split()) in UNKNOWN_MARKS | {""}:
        return ()
    found: list[ReadCycle] = []
    now = ReadCycle()
    for kind, parts, typed in _tokens(text):
        if kind == "between" or _begins_another(now, kind, parts):
            found, now = [*found, now], ReadCycle()
        now = _READERS[kind](now, parts, typed) if kind in _READERS else _air(now, kind)
    read = [_finished(one, text) for one in _whole([*found, now])]
    if not read:
        raise _unreadable(text, "It holds no temperature, time or name")
    for one in read:
        _check(one, text)
    return tuple(dict.fromkeys(read))


def _tokens(text: str) -> Iterable[tuple[str, Mapping[str, str], str]]:
    """Each word with its kind and its parts; UnreadableError on one of no kind."""
    plain, at = folded(text), 0
    while at < len(plain):
        matches = ((kind, pattern.match(plain, at)) for kind, pattern in _PATTERNS)
        kind, found = next(((kind, one) for kind, one in matches if one and one[0]), ("", None))
        if found is None:
            rest = plain[at:].split()[0]
            raise _unreadable(text, f"“{rest}” is no part of a cycle that we know")
        parts = {name.rpartition("_")[0]: part for name, part in found.groupdict().items() if part}
        if kind not in ("filler", "space"):
            yield kind, parts, found[0]
        at = found.end()


def _begins_another(now: ReadCycle, kind: str, parts: Mapping[str, str]) -> bool:
    """Whether a word starts the next cycle: this one has what the word would say again."""
    if kind in ("degrees", "bare_degrees"):
        again = now.temperature_c is not None and now.exposure_min is not None
        return again and not _same_degrees(now, parts)
    if kind == "method":
        return bool(now.method)
    if kind.startswith("air_"):
        return bool(now.air_removal) and now.exposure_min is not None
    return kind == "exposure" and now.exposure_min is not None and now.temperature_c is not None


def _celsius(parts: Mapping[str, str]) -> tuple[Number, Number | None]:
    scale = parts.get("scale") or parts.get("bare") or "c"
    low, high = _number(parts["low"]), _number(parts["high"]) if "high" in parts else None
    if scale == "f":
        return _from_fahrenheit(low), None if high is None else _from_fahrenheit(high)
    return low, high


def _from_fahrenheit(degrees: Number) -> int:
    celsius = (Decimal(degrees) - Decimal(32)) * 5 / 9
    return int(celsius.quantize(Decimal(1), ROUND_HALF_UP))


def _same_degrees(now: ReadCycle, parts: Mapping[str, str]) -> bool:
    """Whether a second temperature is the first once more, in the other unit."""
    low, _ = _celsius(parts)
    if now.temperature_c is None:
        return False
    return abs(Decimal(low) - Decimal(now.temperature_c)) <= 1


def _degrees(now: ReadCycle, parts: Mapping[str, str], typed: str) -> ReadCycle:
    low, high = _celsius(parts)
    if now.temperature_c is None:
        return replace(now, temperature_c=low, temperature_to_c=high)
    if _same_degrees(now, parts):
        return now
    raise _unreadable(typed, "It gives two temperatures for one cycle")


def _minutes(parts: Mapping[str, str]) -> tuple[Number, Number | None]:
    factor = 60 if parts.get("unit", "").startswith(("h", "s", "u", "o", "g")) else 1
    low = _number(parts["low"]) * factor
    return low, _number(parts["high"]) * factor if "high" in parts else None


def _exposure(now: ReadCycle, parts: Mapping[str, str], typed: str) -> ReadCycle:
    if now.exposure_min is not None:
        raise _unreadable(typed, "It gives two exposures for one cycle")
    low, high = _minutes(parts)
    return replace(now, exposure_min=low, exposure_max=high or now.exposure_max)


def _minutes_of(field: str) -> _Reader:
    """The reader of a time that stands in ``field``."""

    def reader(now: ReadCycle, parts: Mapping[str, str], typed: str) -> ReadCycle:
        found: Option = {field: _minutes(parts)[0]}
        return replace(now, **found)

    return reader


def _named(now: ReadCycle, parts: Mapping[str, str], typed: str) -> ReadCycle:
    return replace(now, cycle_name=parts["name"])


def _with_method(now: ReadCycle, parts: Mapping[str, str], typed: str) -> ReadCycle:
    return replace(now, method=METHOD_WORDS[typed])


def _air(now: ReadCycle, kind: str) -> ReadCycle:
    word = kind.removeprefix("air_")
    return now if kind == "between" else replace(now, air_removal=word, method=now.method or STEAM)


_READERS: Mapping[str, _Reader] = {
    "degrees": _degrees,
    "bare_degrees": _degrees,
    "exposure": _exposure,
    "most": _minutes_of("exposure_max"),
    "drying": _minutes_of("drying_min"),
    "aeration": _minutes_of("aeration_min"),
    "named": _named,
    "method": _with_method,
}


def _whole(parts: Sequence[ReadCycle]) -> list[ReadCycle]:
    """A part that only dries or aerates (``; dry 20``) goes to the one before it."""
    found: list[ReadCycle] = []
    for part in parts:
        dry = ReadCycle(drying_min=part.drying_min, aeration_min=part.aeration_min)
        if found and part == dry and found[-1].drying_min is None:
            aired = dry.aeration_min or found[-1].aeration_min
            found[-1] = replace(found[-1], drying_min=dry.drying_min, aeration_min=aired)
        elif part != ReadCycle():
            found.append(part)
    return found


def _finished(one: ReadCycle, text: str) -> ReadCycle:
    """The cycle with its name as typed, and steam where the temperature says so."""
    if one.cycle_name and (as_typed := re.search(re.escape(one.cycle_name), text, re.IGNORECASE)):
        one = replace(one, cycle_name=as_typed[0])
    low, high = STEAM_C
    is_steam = one.temperature_c is not None and low <= one.temperature_c <= high
    if not one.method and is_steam and one.exposure_min is not None:
        return replace(one, method=STEAM)
    return one


def _check(one: ReadCycle, text: str) -> None:
    for degrees in (one.temperature_c, one.temperature_to_c):
        if degrees is not None and not LEAST_C <= degrees <= MOST_C:
            raise _unreadable(text, f"{degrees} °C is no sterilizing temperature")
    times = (one.exposure_min, one.exposure_max, one.drying_min, one.aeration_min)
    if any(minutes is not None and minutes > MOST_MIN for minutes in times):
        raise _unreadable(text, "A time is longer than a day")
    if one.exposure_min == 0 or _backwards(one.exposure_min, one.exposure_max):
        raise _unreadable(text, "The exposure must be above zero and run from short to long")
    if _backwards(one.temperature_c, one.temperature_to_c):
        raise _unreadable(text, "The temperatures must run from low to high")


def _backwards(low: Number | None, high: Number | None) -> bool:
    return low is not None and high is not None and high < low


def _unreadable(text: str, why: str) -> UnreadableError:
    return UnreadableError(
        "unreadable_cycle",
        f'The cycle "{text.strip()}" cannot be read. {why}. Write it like '
        '"prevac 132-135C 4 min, dry 20".',
    )


def _number(text: str) -> Number:
    whole, point, part = text.replace(",", ".").partition(".")
    return Decimal(f"{whole}.{part}") if point else int(whole)


_FOLD = str.maketrans("éèêóòíàäáüöúñçº–—≧", "eeeooiaaauounc°--≥")


def folded(text: str) -> str:
    plain = tidy(text.replace("\n", ";").replace("\r", "")).casefold().translate(_FOLD)
    for written_, bare in (("ß", "ss"), (">=", "≥"), ("<=", "≤"), ("℃", "°c"), ("℉", "°f")):
        plain = plain.replace(written_, bare)
    return plain
