"""How an item is sterilized, as lists write it: methods and one cycle.

``steam, EO`` and ``132C 4 min dry 30`` give two options; the cycle's numbers belong to the
steam option, the others keep unknown numbers. A single exposure is the least one; the
longest one stays unknown and is never inferred. Spellings: common practice in instrument
lists, no source.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from catalog.units import UNKNOWN_MARKS, tidy

STEAM = "steam"

_WORDS = {
    STEAM: "steam|saturated steam|moist heat|autoclave|dampf|vapeur|vapor|vapeur d'eau",
    "eo": "eo|eto|eog|ethylene oxide|ethylenoxid|oxyde d'ethylene|oxido de etileno",
    "h2o2": "h2o2|h2o2 vapour|h2o2 vapor|h2o2 plasma|h2o2 gas plasma|vh2o2|vhp|plasma"
    "|hydrogen peroxide|hydrogen peroxide vapour|hydrogen peroxide vapor"
    "|vaporized hydrogen peroxide|vaporised hydrogen peroxide|wasserstoffperoxid"
    "|peroxyde d'hydrogene|peroxido de hidrogeno",
    "ltsf": "ltsf|formaldehyde|low temperature steam formaldehyde|formaldehyd|formaldeido",
    "dry-heat": "dry heat|dry-heat|hot air|heissluft|trockene hitze|chaleur seche|calor seco",
}
METHOD_WORDS: Mapping[str, str] = {
    word: method for method, words in _WORDS.items() for word in words.split("|")
}
"""Every accepted spelling of a method, folded, to the method."""

LEAST_C, MOST_C = 30, 210
"""Temperatures of any sterilizing cycle, low-temperature to dry heat (common practice)."""
MOST_MIN = 1440
"""No exposure or drying time is longer than a day (common practice)."""

_BETWEEN = re.compile(r"[,;/+&\n]|\b(?:or|and|oder|und|ou|et|o|y)\b")
_FILLER = re.compile(r"\b(?:only|nur|uniquement|seulement|solo)\b|[()]")
_WITH_C = re.compile(r"(?P<method>.*\S)\s+(?P<c>[0-9]{2,3})\s*(?:°\s*)?c?")
_MINUTES = r"(?:min|mins|minutes?|minuten)\.?"
_CYCLE = re.compile(
    rf"(?P<c>[0-9]{{2,3}}) ?(?:° ?)?c\b[ ,;/:]*"
    rf"(?P<least>[0-9]+(?:\.[0-9]+)?)(?: ?- ?(?P<most>[0-9]+(?:\.[0-9]+)?))? ?{_MINUTES}"
    rf"(?:[ ,;/+]*(?:(?:dry(?:ing)?|trocknen|sechage|secado) ?(?P<dry>[0-9]+)(?: ?{_MINUTES})?"
    rf"|(?P<dry_before>[0-9]+) ?{_MINUTES} ?(?:dry(?:ing)?|trocknen|sechage|secado)))?"
)

Number = int | Decimal
Option = dict[str, str | Number | None]
"""One permitted way: method, temperature_c, exposure_min, exposure_max, drying_min."""


class UnreadableError(ValueError):
    """A cell that cannot be read. ``code`` is for programs, ``message`` for people."""

    def __init__(self, code: str, message: str) -> None:
        super().__init__(message)
        self.code = code
        self.message = message


@dataclass(frozen=True, slots=True)
class CycleNumbers:
    """What one cycle cell says: degrees Celsius and minutes; None is unknown."""

    temperature_c: Number
    exposure_min: Number
    exposure_max: Number | None = None
    drying_min: Number | None = None


def read_methods(text: str) -> list[tuple[str, int | None]]:
    """The methods in ``text``, each with a temperature where one stands beside it.

    >>> read_methods("steam 134 or H2O2"), read_methods("H2O2 vapour only")
    ([('steam', 134), ('h2o2', None)], [('h2o2', None)])
    """
    found: dict[str, int | None] = {}
    for piece in _BETWEEN.split(_FILLER.sub(" ", _plain(text))):
        words = " ".join(piece.split()).strip(" .")
        if not words:
            continue
        method, degrees = _method(words, text)
        found[method] = found.get(method) or degrees
    return list(found.items())


def _method(words: str, text: str) -> tuple[str, int | None]:
    if words in METHOD_WORDS:
        return METHOD_WORDS[words], None
    parts = _WITH_C.fullmatch(words)
    if parts and parts["method"] in METHOD_WORDS:
        return METHOD_WORDS[parts["method"]], int(parts["c"])
    raise UnreadableError(
        "unknown_method",
        f"“{words}” is no sterilization method that we know. Use steam, EO, H2O2, LTSF or dry "
        "heat, with a comma between them.",
    )


def read_cycle(text: str) -> CycleNumbers | None:
    """The numbers of the cycle in ``text``; None when it says that there are none.

    >>> read_cycle("134C 3-18 min, dry 20")
    CycleNumbers(temperature_c=134, exposure_min=3, exposure_max=18, drying_min=20)
    >>> read_cycle("134 C / 4 min / 20 min dry").drying_min, read_cycle("n/a")
    (20, None)
    """
    plain = " ".join(_plain(text).split())
    if plain in UNKNOWN_MARKS or not plain:
        return None
    found = _CYCLE.fullmatch(plain)
    if found is None:
        raise _unreadable(text, "It is not like the ones we read")
    numbers = CycleNumbers(
        _number(found["c"]),
        _number(found["least"]),
        _number(found["most"]) if found["most"] else None,
        _number(dry) if (dry := found["dry"] or found["dry_before"]) else None,
    )
    _check(numbers, text)
    return numbers


def _check(numbers: CycleNumbers, text: str) -> None:
    if not LEAST_C <= numbers.temperature_c <= MOST_C:
        raise _unreadable(text, f"{numbers.temperature_c} °C is no sterilizing temperature")
    times = (numbers.exposure_min, numbers.exposure_max, numbers.drying_min)
    if any(minutes is not None and minutes > MOST_MIN for minutes in times):
        raise _unreadable(text, "A time is longer than a day")
    if numbers.exposure_min == 0 or (numbers.exposure_max or MOST_MIN) < numbers.exposure_min:
        raise _unreadable(text, "The exposure must be above zero and run from short to long")


def _unreadable(text: str, why: str) -> UnreadableError:
    return UnreadableError(
        "unreadable_cycle",
        f'The cycle "{text.strip()}" cannot be read. {why}. Write it like "134C 3-18 min, dry 20".',
    )


def options(
    methods: list[tuple[str, int | None]], numbers: CycleNumbers | None
) -> tuple[Option, ...]:
    """The permitted options. The numbers go to steam, or to the only method there is.

    >>> [option["exposure_min"] for option in options([("steam", None), ("eo", None)],
    ...                                               CycleNumbers(132, 4))]
    [4, None]
    """
    names = [method for method, _ in methods]
    owner = STEAM if STEAM in names else names[0] if len(names) == 1 else None
    if numbers and owner is None and names:
        raise UnreadableError(
            "conflict",
            f"The cycle could belong to any of {', '.join(names)}. Leave the cycle empty, or give "
            "one method.",
        )
    return tuple(
        _option(method, degrees, numbers if method == owner else None)
        for method, degrees in methods
    )


def _option(method: str, degrees: int | None, numbers: CycleNumbers | None) -> Option:
    if numbers and degrees is not None and degrees != numbers.temperature_c:
        raise UnreadableError(
            "conflict",
            f"The method says {degrees} °C, the cycle {numbers.temperature_c} °C. Make them agree.",
        )
    return {
        "method": method,
        "temperature_c": numbers.temperature_c if numbers else degrees,
        "exposure_min": numbers.exposure_min if numbers else None,
        "exposure_max": numbers.exposure_max if numbers else None,
        "drying_min": numbers.drying_min if numbers else None,
    }


def _number(text: str) -> Number:
    return Decimal(text) if "." in text else int(text)


def _plain(text: str) -> str:
    folded = tidy(text.replace("\n", ",")).casefold()
    for accented, bare in (("é", "e"), ("è", "e"), ("ó", "o"), ("ß", "ss"), ("í", "i")):
        folded = folded.replace(accented, bare)
    return folded
