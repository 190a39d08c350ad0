"""A fact is declared once, as a field of its dataclass: its type says how it is read.

From the declaration follow its key in JSON, its bridge from the catalog's rows, and whether
it is asked for where it is missing.
"""

from __future__ import annotations

from dataclasses import MISSING, dataclass, field, fields
from functools import cache
from types import NoneType
from typing import Any, get_args, get_origin, get_type_hints


@dataclass(frozen=True, slots=True)
class Declared:
    """A fact: its name, what it is one of (float, bool, a word ...), or a set or row of what.

    ``needed``: it has no default. ``missing`` is what it is called on lists of what is not
    on record, "" where it is not listed. ``asked``: each decision names it when it is unknown.
    """

    name: str
    of: Any
    collected: Any
    needed: bool
    may_be_unknown: bool
    missing: str
    asked: bool


def fact(default: Any = None, *, missing: str, asked: bool = False) -> Any:
    """A field of a dataclass of facts that people are asked for when it is ``missing``."""
    return field(default=default, metadata={"missing": missing, "asked": asked})


@cache
def declared(make: type) -> tuple[Declared, ...]:
    """The facts of a dataclass in the order of their declaration.

    >>> from assembly.rules.facts.cycles import Programme
    >>> [(one.name, one.of.__name__, one.needed) for one in declared(Programme)][1:3]
    [('method', 'Method', True), ('temperature_c', 'float', False)]
    """
    hints = get_type_hints(make)
    return tuple(_declared(one, hints[one.name]) for one in fields(make))


def _declared(one: Any, hint: Any) -> Declared:
    kinds = [each for each in get_args(hint) if each is not NoneType]
    unknown = NoneType in get_args(hint)
    of = kinds[0] if unknown else hint
    collected = get_origin(of)
    return Declared(
        name=one.name,
        of=get_args(of)[0] if collected else of,
        collected=collected,
        needed=one.default is MISSING,
        may_be_unknown=unknown,
        missing=one.metadata.get("missing", ""),
        asked=one.metadata.get("asked", False),
    )
