"""The ways that an item may be sterilized: methods and cycles of two cells put together.

``steam, EO`` and ``132C 4 min dry 30`` give two options; the cycle goes to steam, the other
method keeps its cycle unknown.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from decimal import Decimal

from catalog.spreadsheets.cycles.reading import NAMES, Option, ReadCycle, UnreadableError, folded
from catalog.spreadsheets.cycles.words import BETWEEN, FILLERS, METHOD_WORDS, STEAM

_WITH_C = re.compile(r"(?P<method>.*\S)\s+(?P<c>[0-9]{2,3})\s*(?:°\s*)?c?")


def read_methods(text: str) -> list[tuple[str, int | None]]:
    """The methods in ``text``, each with a temperature where one stands beside it.

    >>> read_methods("steam 134 or H2O2"), read_methods("H2O2 vapour only")
    ([('steam', 134), ('h2o2', None)], [('h2o2', None)])
    """
    found: dict[str, int | None] = {}
    for piece in re.split(rf"[,;/+&\n]|\b(?:and|und|et|y|{BETWEEN})\b", folded(text)):
        words = " ".join(re.sub(rf"\b(?:{FILLERS})\b|[()]", " ", piece).split()).strip(" .")
        if not words:
            continue
        method, degrees = _method(words)
        found[method] = found.get(method) or degrees
    return list(found.items())


def _method(words: str) -> tuple[str, int | None]:
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


def options(
    methods: Sequence[tuple[str, int | None]], cycles: Sequence[ReadCycle]
) -> tuple[Option, ...]:
    """The permitted options: each cycle, and each method that none of the cycles is of.

    A cycle without a method goes to steam, or to the only method there is.

    >>> from catalog.spreadsheets.cycles.reading import read_cycles
    >>> both = options([("steam", None), ("eo", None)], read_cycles("132C 4 min"))
    >>> [(option["method"], option["exposure_min"]) for option in both]
    [('steam', 4), ('eo', None)]
    """
    names = [method for method, _ in methods]
    owner = STEAM if STEAM in names else names[0] if len(names) == 1 else ""
    owned = [one if one.method else replace(one, method=owner) for one in cycles]
    for one in owned:
        if not one.method:
            raise _conflict(f"The cycle could belong to any of {', '.join(names)}"
                            if names else "The cycle names no method")  # fmt: skip
        if names and one.method not in names:
            raise _conflict(f"The cycle is for {one.method}, the methods are {', '.join(names)}")
    with_own = {one.method for one in owned}
    for method, degrees in methods:
        if method not in with_own:
            owned.append(ReadCycle(method=method, temperature_c=degrees))
        elif degrees is not None:
            _agree(degrees, [one for one in owned if one.method == method])
    order = {method: place for place, method in enumerate(names)}
    owned.sort(key=lambda one: order.get(one.method, 0))
    return tuple({name: getattr(one, name) for name in NAMES} for one in owned)


def _agree(degrees: int, cycles: Sequence[ReadCycle]) -> None:
    for one in cycles:
        low = one.temperature_c
        if low is None or low <= degrees <= (one.temperature_to_c or low):
            return
    raise _conflict(f"The method says {degrees} °C, the cycle {cycles[0].temperature_c} °C")


def _conflict(why: str) -> UnreadableError:
    return UnreadableError("conflict", f"{why}. Make them agree, or leave one of them empty.")


def written(option: Mapping[str, object]) -> str:
    """An option as one cycle that :func:`read_cycles` reads again as the same.

    >>> written({"method": "steam", "temperature_c": 132, "temperature_to_c": 135,
    ...          "air_removal": "dynamic", "exposure_min": 4, "drying_min": 20})
    'steam dynamic air removal 132-135 °C 4 min dry 20 min'
    """
    words = [str(option["method"])]
    if option.get("cycle_name"):
        name = str(option["cycle_name"])
        words.append(f"cycle {name}" if re.fullmatch(r"[\w.+-]+", name) else f'cycle "{name}"')
    if option.get("air_removal"):
        words.append(_AIR_WORDS.get(str(option["air_removal"]),
                                                       str(option["air_removal"])))  # fmt: skip
    words += _span(option, "temperature_c", "temperature_to_c", "°C")
    words += _span(option, "exposure_min", "exposure_max", "min")
    for name, word in (("drying_min", "dry"), ("aeration_min", "aerate")):
        words += [word, *_span(option, name, "", "min")] if option.get(name) is not None else []
    return " ".join(words)


_AIR_WORDS = {"either": "any air removal", "dynamic": "dynamic air removal"}


def _span(option: Mapping[str, object], low: str, high: str, unit: str) -> list[str]:
    least, most = option.get(low), option.get(high)
    if least is None:
        return [] if most is None else [f"max {_plain(most)} {unit}"]
    words = _plain(least) if most in (None, least) else f"{_plain(least)}-{_plain(most)}"
    return [f"{words} {unit}"]


def _plain(number: object) -> str:
    return f"{Decimal(str(number)).normalize():f}"
