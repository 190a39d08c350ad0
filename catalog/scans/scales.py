"""What a scale sends that types like a keyboard: how it stands, a sign, digits, a unit.

Many scales send a line such as ``ST,GS,+  5432.1 g``: whether they were still, gross or net, the
reading. The words are from memory, common practice, no source: what is none of them is refused.
"""

from __future__ import annotations

import re
from decimal import Decimal

from catalog.units import UnitError, read_weight, unit_of_word

STILL = frozenset({"st", "s", "gs", "nt", "gross", "net"})
"""It was still; gross or net."""
MOVING = frozenset({"us", "sd", "d"})
"""The pan was moving."""
BEYOND = frozenset({"ol", "over", "under"})
"""More or less than the scale can weigh."""
_LINE = re.compile(r"(?P<words>(?:[a-z]+[ ,:]+)*)(?P<sign>[+-]?) *(?P<rest>[0-9.,].*)?", re.I)
_UNPRINTED = re.compile(r"[\x00-\x1f\x7f]+")


def read_scale(text: str, unit: str | None = None) -> Decimal:
    """What the scale reads, in g. A bare number takes ``unit``, and is an error without one.

    UnitError says what was read and what is wrong with it: nothing is guessed.

    >>> read_scale("ST,GS,+  5432.1 g"), read_scale("+005.4321 kg"), read_scale("5432.1", "g")
    (Decimal('5432.1'), Decimal('5432.1'), Decimal('5432.1'))
    >>> read_scale("US,GS,+  5432.1 g")
    Traceback (most recent call last):
    catalog.units.UnitError: “US,GS,+ 5432.1 g” says that the scale was not still. Weigh it again.
    """
    line = " ".join(_UNPRINTED.sub(" ", text).split())
    found = _LINE.fullmatch(line)
    words = re.findall("[a-z]+", (found["words"] if found else line).casefold())
    if BEYOND & set(words):
        raise UnitError("beyond", f"“{line}” says that it is beyond what the scale can weigh.")
    if MOVING & set(words):
        raise UnitError("moving", f"“{line}” says that the scale was not still. Weigh it again.")
    if found is None or not found["rest"] or not words or unit_of_word(words[-1]):
        return read_weight(line.removeprefix("+"), unit)
    if strange := [word for word in words if word not in STILL]:
        raise UnitError("not_a_size", f"“{line}”: “{strange[0]}” is nothing that a scale says "
                        "here. Type the number and its unit.")  # fmt: skip
    return read_weight(f"{found['sign'].removeprefix('+')}{found['rest']}", unit)
