"""Cycles as boxes of bounds, and what several instruments' boxes have in common.

An option is a method, a class that must match exactly (how air is removed, or the cycle's
name) and a closed interval for each parameter: temperature in °C, times in minutes. Two
options have in common what their intervals have in common; equal ends count, a single point
is a valid cycle. Source: the instrument makers' IFUs; arithmetic ours.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from assembly.rules.facts.checks import FactsError
from assembly.rules.facts.cycles import Contents, CycleOption
from assembly.rules.facts.instruments import Instrument
from assembly.rules.methods.accepting import ORDINARY, hottest_c, longest_min
from assembly.rules.policy.kept import kept
from assembly.rules.policy.values import Policy
from catalog.vocabulary import AirRemoval, Method

Bounds = tuple[float, float]
"""The least and the most, both included; infinite where nothing bounds it."""
OPEN: Bounds = (-math.inf, math.inf)
_METHOD_ORDER = {method: place for place, method in enumerate(Method)}


def temperature_first(name: str) -> tuple[bool, str]:
    """Sort key of parameters: the temperature, then the others by name."""
    return name != "temperature", name


@dataclass(frozen=True, slots=True)
class Option:
    """One way to sterilize: method, class and bounds by parameter name: °C and minutes.

    ``klass`` is ``""`` where none is stated; it then goes with every class of the method.
    ``missing`` names facts without which the option cannot be relied on. A parameter that
    is not named has no bounds.
    """

    method: Method
    klass: str = ""
    bounds: Mapping[str, Bounds] = field(default_factory=dict, hash=False)
    missing: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        for name, (low, high) in self.bounds.items():
            if math.isnan(low) or math.isnan(high) or low > high:
                raise FactsError(name, (low, high), "the least must be a number up to the most")
        names = sorted(self.bounds, key=temperature_first)
        bounded = {name: self.bounds[name] for name in names if self.bounds[name] != OPEN}
        object.__setattr__(self, "bounds", bounded)

    def low(self, name: str) -> float:
        """The least of a parameter; minus infinity where nothing bounds it."""
        return self.bounds.get(name, OPEN)[0]

    def high(self, name: str) -> float:
        """The most of a parameter; infinity where nothing bounds it."""
        return self.bounds.get(name, OPEN)[1]

    @property
    def order(self) -> tuple[object, ...]:
        """Sort key: method, then least exposure, then least drying, then class."""
        return (
            _METHOD_ORDER[self.method],
            self.low("exposure"),
            self.low("drying"),
            self.klass,
            tuple(self.bounds.items()),
            self.missing,
        )

    def holds(self, other: Option) -> bool:
        """Whether every cycle inside ``other`` is inside this one."""
        return (
            self.method is other.method
            and self.klass in ("", other.klass)
            and all(
                low <= other.low(name) and other.high(name) <= high
                for name, (low, high) in self.bounds.items()
            )
        )

    def __str__(self) -> str:
        parts = [bounds_words(name, bounds) for name, bounds in self.bounds.items()]
        return ", ".join([class_words(self.method, self.klass), *parts])


def class_words(method: Method, klass: str) -> str:
    """A method with its class, as a person reads it.

    >>> class_words(Method.STEAM, "gravity"), class_words(Method.EO, "")
    ('gravity steam', 'ethylene oxide')
    """
    if klass in (AirRemoval.GRAVITY.words, AirRemoval.DYNAMIC.words):
        return f"{klass} {method.words}"
    return f"{method.words} cycle {klass}" if klass else method.words


def bounds_words(name: str, bounds: Bounds) -> str:
    """A parameter's interval in words.

    >>> bounds_words("exposure", (4, 18)), bounds_words("temperature", (134, 134))
    ('exposure 4 to 18 min', '134 °C')
    """
    low, high = bounds
    if name == "temperature":
        return f"{low:g} °C" if low == high else f"{low:g} to {high:g} °C"
    if low == high:
        words = f"exactly {low:g}"
    elif math.isinf(high):
        words = f"at least {low:g}"
    elif math.isinf(low):
        words = f"at most {high:g}"
    else:
        words = f"{low:g} to {high:g}"
    return f"{name} {words} min"


def option_from(cycle: CycleOption, policy: Policy, contents: Contents = ORDINARY) -> Option:
    """A cycle of an instrument's instructions as an option for ``contents``.

    The class is the cycle's name or how air is removed; temperature, exposure and drying
    are bounds. A missing least exposure is unknown, not zero; so is a missing temperature
    of steam, and a missing name of a peroxide cycle: all are named in ``missing``. A missing
    longest exposure is read as the policy says. A missing least drying asks for none.

    >>> from datetime import date
    >>> from assembly.rules.policy.values import default_policy
    >>> cycle = CycleOption(method=Method.STEAM, temperature_c=134, exposure_min=3)
    >>> str(option_from(cycle, default_policy(date(2026, 12, 1))))
    'dynamic air removal steam, 134 °C, exposure 3 to 18 min'
    """
    steam, named = cycle.method is Method.STEAM, bool(cycle.cycle_name)
    missing = []
    if cycle.temperature_c is None and steam:
        missing.append("temperature_c")
    if cycle.exposure_min is None and not named:
        missing.append("exposure_min")
    if cycle.method is Method.H2O2 and not named:
        missing.append("cycle_name")
    bounds = {}
    if cycle.temperature_c is not None:
        bounds["temperature"] = (cycle.temperature_c, hottest_c(cycle, policy))
    if cycle.exposure_min is not None:
        bounds["exposure"] = (cycle.exposure_min, longest_min(cycle, policy, contents))
    if cycle.drying_min is not None:
        bounds["drying"] = (cycle.drying_min, math.inf)
    return Option(cycle.method, _class_of(cycle, policy), bounds, tuple(missing))


def _class_of(cycle: CycleOption, policy: Policy) -> str:
    """The cycle's name, or how air is removed; "" where either kind will do."""
    if cycle.cycle_name:
        return cycle.cycle_name
    if cycle.air_removal in (AirRemoval.GRAVITY, AirRemoval.DYNAMIC):
        return cycle.air_removal.words
    short = (cycle.exposure_min or math.inf) < policy.number("gravity_from_min")
    silent = cycle.method is Method.STEAM and cycle.air_removal is None
    return AirRemoval.DYNAMIC.words if silent and short else ""


def meet(first: Option, second: Option) -> Option | None:
    """What two options have in common; None when method, class or a parameter keeps them apart.

    >>> meet(Option(Method.STEAM, "121", {"exposure": (20, 60)}),
    ...      Option(Method.STEAM, "121", {"exposure": (15, 30)})).bounds
    {'exposure': (20, 30)}
    """
    if first.method is not second.method:
        return None
    if first.klass != second.klass and first.klass and second.klass:
        return None
    bounds = {}
    for name in {*first.bounds, *second.bounds}:
        low = max(first.low(name), second.low(name))
        high = min(first.high(name), second.high(name))
        if low > high:
            return None
        bounds[name] = (low, high)
    missing = tuple(sorted({*first.missing, *second.missing}))
    return Option(first.method, first.klass or second.klass, bounds, missing)


@dataclass(frozen=True, slots=True)
class Member:
    """Instruments of a set that have the same options; the first name stands for all.

    No options at all means that none is on record: unknown, not "anything goes".
    """

    names: tuple[str, ...]
    options: tuple[Option, ...]
    cycles: tuple[CycleOption, ...] = ()
    contents: Contents = ORDINARY

    @property
    def name(self) -> str:
        """The first name, and how many more are like it."""
        more = len(self.names) - 1
        return f"{self.names[0]} (and {more} more like it)" if more else self.names[0]

    @property
    def many(self) -> bool:
        """Whether it stands for several instruments."""
        return len(self.names) > 1

    @property
    def who(self) -> str:
        """As the subject of a sentence: its name, or how many such as the first.

        >>> Member(("rasp", "file"), ()).who
        '2 instruments, such as rasp,'
        """
        if self.many:
            return f"{len(self.names)} instruments, such as {self.names[0]},"
        return self.names[0]

    @property
    def sure(self) -> tuple[Option, ...]:
        """The options with nothing missing."""
        return tuple(option for option in self.options if not option.missing)

    @property
    def doubts(self) -> tuple[str, ...]:
        """The facts that are missing, each once."""
        if not self.options:
            return ("cycles",)
        return tuple(dict.fromkeys(name for option in self.options for name in option.missing))


def merged(members: Iterable[Member]) -> tuple[Member, ...]:
    """Members with equal options as one, in the order in which each first appears."""
    groups: dict[tuple[Any, ...], list[Member]] = {}
    alike: dict[tuple[int, ...], list[Member]] = {}
    for member in members:
        same = (id(member.options), id(member.cycles), id(member.contents))
        if same not in alike:
            options = tuple(sorted(set(member.options), key=lambda option: option.order))
            key = (options, frozenset(member.cycles), member.contents)
            alike[same] = groups.setdefault(key, [])
        alike[same].append(member)
    return tuple(
        replace(group[-1], names=tuple(name for one in group for name in one.names), options=key[0])
        for key, group in groups.items()
    )


def members_from(instruments: Sequence[Instrument], policy: Policy) -> tuple[Member, ...]:
    """The instruments of a set with their options, equal ones merged."""
    return _members(tuple(instruments), policy)


@kept
def _members(instruments: tuple[Instrument, ...], policy: Policy) -> tuple[Member, ...]:
    return merged(
        Member(
            (one.name,), _options(one.cycles, one.contents, policy), one.cycles, one.contents
        )
        for one in instruments
    )  # fmt: skip


@kept
def _options(
    cycles: tuple[CycleOption, ...], contents: Contents, policy: Policy
) -> tuple[Option, ...]:
    return tuple(option_from(one, policy, contents) for one in cycles)


@dataclass(frozen=True, slots=True)
class CommonCycle:
    """A cycle that every instrument asked about allows.

    ``set_by`` names, for each parameter, who sets its least and who sets its most.
    """

    option: Option
    set_by: Mapping[str, tuple[str, str]] = field(default_factory=dict, hash=False)

    @property
    def point(self) -> dict[str, float]:
        """The recommended cycle: the least of every parameter that has one."""
        return {name: low for name, (low, _) in self.option.bounds.items() if low > -math.inf}

    def sentence(self) -> str:
        """The cycle with who sets each bound."""
        parts = []
        for name, bounds in self.option.bounds.items():
            if name == "temperature":
                parts.append(bounds_words(name, bounds))
                continue
            least, most = self.set_by.get(name, ("", ""))
            who = [f"the least by {least}" if least else "", f"the most by {most}" if most else ""]
            words = " and ".join(word for word in who if word)
            parts.append(bounds_words(name, bounds) + (f" (set: {words})" if words else ""))
        return ", ".join([class_words(self.option.method, self.option.klass), *parts])


def common_cycles(members: Sequence[Member]) -> tuple[CommonCycle, ...]:
    """Every box of cycles that all members allow, none inside another; () when there is none.

    Ordered by method, then least exposure, then least drying, so that the first is the one
    to recommend. An option with missing facts is none. No members: (), never "anything".

    >>> a = Member(("A",), (Option(Method.STEAM, "121", {"exposure": (20, 60)}),))
    >>> f = Member(("F",), (Option(Method.STEAM, "121", {"exposure": (15, 30)}),))
    >>> common_cycles([a, f])[0].sentence()
    'steam cycle 121, exposure 20 to 30 min (set: the least by A and the most by F)'
    """
    pools = [member.sure for member in members]
    if not pools:
        return ()
    boxes = _largest(pools[0])
    for pool in pools[1:]:
        met = [meet(box, option) for box in boxes for option in pool]
        boxes = _largest(box for box in met if box is not None)
    return tuple(CommonCycle(box, _set_by(box, members)) for box in boxes)


def _largest(options: Iterable[Option]) -> list[Option]:
    """The options not held by another, each once, in their order."""
    distinct = sorted(set(options), key=lambda option: option.order)
    return [
        option
        for place, option in enumerate(distinct)
        if not any(
            other.holds(option) and (n < place or not option.holds(other))
            for n, other in enumerate(distinct)
            if n != place
        )
    ]


def _set_by(box: Option, members: Sequence[Member]) -> dict[str, tuple[str, str]]:
    """Who sets each finite bound: the first member none of whose options goes further."""
    who = {}
    for name, (low, high) in box.bounds.items():
        least = most = ""
        for member in members:
            around = [option for option in member.options if option.holds(box)]
            if around and not least and all(o.low(name) == low for o in around):
                least = member.name if low > -math.inf else ""
            if around and not most and all(o.high(name) == high for o in around):
                most = member.name if high < math.inf else ""
        who[name] = (least, most)
    return who
