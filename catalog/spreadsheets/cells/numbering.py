"""Numbers that continue those a department has: proposed, never given without being asked for."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Iterator

_SCHEME = re.compile(r"(.*?)([0-9]{1,12})$")


def following(known: Iterable[str], otherwise: str) -> Iterator[str]:
    """The next numbers of the scheme that most of the ``known`` have, without end.

    A scheme is what stands before the last digits. With nothing known they begin at ``otherwise``.

    >>> from itertools import islice
    >>> list(islice(following(["HF-S09", "HF-S02", "OLD"], "SET-01"), 2))
    ['HF-S10', 'HF-S11']
    >>> next(following([], "SET-01"))
    'SET-01'
    """
    schemes: dict[str, list[str]] = defaultdict(list)
    for each in known:
        if found := _SCHEME.match(each):
            schemes[found[1]].append(found[2])
    if not schemes:
        yield from counting_from(otherwise)
        return
    prefix = max(schemes, key=lambda scheme: (len(schemes[scheme]), scheme))
    last = max(schemes[prefix], key=int)
    yield from counting_from(f"{prefix}{int(last) + 1:0{len(last)}}")


def continues(number: str, known: Iterable[str]) -> bool:
    """Whether a number comes after all of the scheme that most of the ``known`` have, as wide.

    >>> continues("HF-S07", ["HF-S01", "HF-S02"]), continues("HF-S02", ["HF-S01", "HF-S02"])
    (True, False)
    >>> continues("HF-7", ["HF-S01", "HF-S02"]), continues("HF-S07", ["HF-S01"])
    (False, False)
    """
    known = list(known)
    mine, first = _SCHEME.match(number), _SCHEME.match(next(following(known, "0")))
    if mine is None or first is None or mine[1] != first[1] or len(mine[2]) != len(first[2]):
        return False
    alike = [each for each in known if (found := _SCHEME.match(each)) and found[1] == mine[1]]
    return len(alike) > 1 and int(mine[2]) >= int(first[2])


def counting_from(first: str) -> Iterator[str]:
    """``first``, and the numbers that follow it, as wide as it is. ValueError: no number.

    >>> numbers = counting_from("A-099")
    >>> next(numbers), next(numbers)
    ('A-099', 'A-100')
    """
    found = _SCHEME.match(first)
    if found is None:
        raise ValueError(f"{first!r} does not end in a number.")
    number = int(found[2])
    while True:
        yield f"{found[1]}{number:0{len(found[2])}}"
        number += 1
