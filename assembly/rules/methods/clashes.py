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
        return "; ".join(f"{_is(member)} for {what_for(member)}" for member in group)
    first, second = group
    clashes = [
        _clashes(first, a, second, b)
        for a in first.options
        for b in second.options
        if a.method is b.method
    ]
    if not clashes:
        return _two(first, what_for(first), second, what_for(second))
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


def _is(member: Member) -> str:
    return f"{member.who} {'are' if member.many else 'is'}"


def _two(first: Member, one: str, second: Member, other: str) -> str:
    """What each of two is for, the verb once.

    >>> _two(Member(("a", "b"), ()), "134 °C", Member(("c", "d", "e"), ()), "132 °C")
    '2 instruments, such as a, are for 134 °C, 3, such as c, for 132 °C'
    """
    who = second.who.replace(" instruments,", ",", 1) if first.many else second.who
    return f"{_is(first)} for {one}, {who} for {other}"


def _clashes(first: Member, a: Option, second: Member, b: Option) -> list[str]:
    """Each parameter in which two options of one method have nothing in common."""
    found = []
    if a.klass and b.klass and a.klass != b.klass:
        found.append(_two(first, a.klass, second, b.klass))
    for name in sorted({*a.bounds, *b.bounds}, key=temperature_first):
        if max(a.low(name), b.low(name)) <= min(a.high(name), b.high(name)):
            continue
        if name == "temperature":
            words = (bounds_words(name, one.bounds[name]) for one in (a, b))
            found.append(_two(first, next(words), second, next(words)))
            continue
        (low, least), (high, most) = sorted(
            [(first, a), (second, b)], key=lambda pair: -pair[1].low(name)
        )
        bear, need = ("bear" if high.many else "bears"), ("need" if low.many else "needs")
        found.append(f"{high.who} {bear} at most {most.high(name):g} min of {name}, "
                     f"{low.who} {need} at least {least.low(name):g}")  # fmt: skip
    return found
