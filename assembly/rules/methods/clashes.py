"""What keeps instruments from one cycle, in the facts of their instructions."""

from __future__ import annotations

from collections.abc import Sequence

from assembly.rules.methods.cycle_options import (
    Member,
    Option,
    bounds_words,
    class_words,
    temperature_first,
)


def what_clashes(group: Sequence[Member]) -> str:
    """The facts that keep a group apart: of a pair the two that clash, of more what each is for.

    >>> from catalog.vocabulary import Method
    >>> low = Member(("osteotome",), (Option(Method.STEAM, "", {"temperature": (132, 132)}),))
    >>> high = Member(("rasp",), (Option(Method.STEAM, "", {"temperature": (134, 134)}),))
    >>> what_clashes((low, high))
    'osteotome is for 132 °C, rasp for 134 °C'
    """
    if len(group) == 1:
        return "no usable cycle is on record for it"
    if len(group) > 2:
        return "; ".join(f"{member.name} is for {what_for(member)}" for member in group)
    first, second = group
    clashes = [
        _clashes(first.name, a, second.name, b)
        for a in first.options
        for b in second.options
        if a.method is b.method
    ]
    if not clashes:
        return f"{first.name} is for {what_for(first)}, {second.name} for {what_for(second)}"
    return min(clashes, key=len)[0] if min(clashes, key=len) else "read both IFUs"


def what_for(member: Member) -> str:
    """What a member's options ask for, shortly: methods, classes and temperatures."""
    words = []
    for option in member.options:
        word = class_words(option.method, option.klass)
        if "temperature" in option.bounds:
            word += f" {bounds_words('temperature', option.bounds['temperature'])}"
        words.append(word)
    return " or ".join(dict.fromkeys(words)) or "nothing on record"


def _clashes(first: str, a: Option, second: str, b: Option) -> list[str]:
    """Each parameter in which two options of one method have nothing in common."""
    found = []
    if a.klass and b.klass and a.klass != b.klass:
        found.append(f"{first} is for {a.klass}, {second} for {b.klass}")
    for name in sorted({*a.bounds, *b.bounds}, key=temperature_first):
        if max(a.low(name), b.low(name)) <= min(a.high(name), b.high(name)):
            continue
        if name == "temperature":
            found.append(f"{first} is for {bounds_words(name, a.bounds[name])}, "
                         f"{second} for {bounds_words(name, b.bounds[name])}")  # fmt: skip
            continue
        (low, least), (high, most) = sorted(
            [(first, a), (second, b)], key=lambda pair: -pair[1].low(name)
        )
        found.append(f"{high} bears at most {most.high(name):g} min of {name}, "
                     f"{low} needs at least {least.low(name):g}")  # fmt: skip
    return found
