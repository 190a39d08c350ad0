"""Which instrument a line means: by its item number, else by its exact name, else offered.

Nothing is guessed: a name that is only like one of the catalog's makes the line wait, with
the nearest names offered.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from rapidfuzz import fuzz, process

from catalog.spreadsheets.cells.report import Problem
from catalog.spreadsheets.checking.tables import ItemRow, Table, folded_number
from catalog.spreadsheets.columns.column import fold_heading

Instruments = Mapping[str, tuple[str, Sequence[str]]]
"""Item number to name and nicknames."""

MOST_OFFERED = 3
ALIKE = 65
"""Of 100: names less alike than this are not offered (our limit, tried on the demo's names)."""


@dataclass(slots=True)
class Catalog:
    """The instruments as lines are matched with them."""

    by_number: dict[str, tuple[str, str, Sequence[str]]] = field(default_factory=dict)
    by_name: dict[str, list[str]] = field(default_factory=dict)

    @classmethod
    def of(cls, instruments: Instruments) -> Catalog:
        """Ready for looking up by folded number and by folded name or nickname."""
        made = cls()
        for number, (name, aliases) in instruments.items():
            made.by_number[folded_number(number)] = (number, name, aliases)
            for each in dict.fromkeys(fold_heading(words) for words in (name, *aliases)):
                made.by_name.setdefault(each, []).append(number)
        return made

    def name_of(self, number: str) -> str:
        """The name that the catalog has for a number that is in it."""
        return self.by_number[folded_number(number)][1]

    def nearest(self, words: str) -> list[str]:
        """The numbers of up to three instruments whose names are most like ``words``."""
        found = process.extract(
            fold_heading(words),
            list(self.by_name),
            scorer=fuzz.token_sort_ratio,
            score_cutoff=ALIKE,
            limit=MOST_OFFERED,
        )
        numbers = [number for name, _, _ in found for number in self.by_name[name]]
        return list(dict.fromkeys(numbers))[:MOST_OFFERED]

    def offer(self, numbers: Sequence[str]) -> str:
        """Numbers and names as a question names them."""
        return ", ".join(f"{number} {self.name_of(number)}" for number in numbers)


def match(item: ItemRow, table: Table, catalog: Catalog, problems: list[Problem]) -> str:
    """The item number as the catalog spells it, or as typed; problems are added."""
    had, number = len(problems), ""
    if "item_number" in table.mapping:
        number = table.text(item.row, "item_number", problems)
        if len(problems) > had:
            return ""
    if not number:
        return _by_name(item, table, catalog, problems)
    known = catalog.by_number.get(folded_number(number))
    if known is None:
        problems.append(_unknown_number(number, item, table, catalog))
        return number
    _check_name(item, table, known, problems)
    return known[0]


def _name(item: ItemRow, table: Table, problems: list[Problem]) -> str:
    return table.text(item.row, "name", problems) if "name" in table.mapping else ""


def _by_name(item: ItemRow, table: Table, catalog: Catalog, problems: list[Problem]) -> str:
    """The line has no item number: its name decides, when exactly one instrument has it."""
    had = len(problems)
    name = _name(item, table, problems)
    if len(problems) > had:
        return ""
    key = "name" if name else "item_number" if "item_number" in table.mapping else "name"
    if not name:
        message = "The line has neither item number nor name. Write one, or delete the line."
        problems.append(table.problem(item.row, key, "missing_item_number", message))
        return ""
    exact = catalog.by_name.get(fold_heading(name), [])
    if not exact and (known := catalog.by_number.get(folded_number(name))):
        exact = [known[0]]  # Its number, written in the place of its name.
    if len(exact) == 1:
        return exact[0]
    if exact or (near := catalog.nearest(name)):
        offered = exact[:MOST_OFFERED] or near
        why = "is the name of several instruments" if exact else "is no name in the catalog"
        message = f'"{name}" {why}. Write the item number: {catalog.offer(offered)}?'
        problems.append(table.problem(item.row, key, "offered_names", message))
        return ""
    message = f'"{name}" is not in the catalog. Enter the instrument first, or correct it.'
    problems.append(table.problem(item.row, key, "unknown_instrument", message))
    return ""


def _unknown_number(number: str, item: ItemRow, table: Table, catalog: Catalog) -> Problem:
    """A wrong number beside the exact name of one instrument waits; any other is refused."""
    name = _name(item, table, [])
    exact = catalog.by_name.get(fold_heading(name), []) if name else []
    if len(exact) == 1:
        message = f'{number} is not in the catalog, but "{name}" is {exact[0]}. Write that number?'
        return table.problem(item.row, "item_number", "offered_names", message)
    message = f"{number} is not in the catalog. Enter the instrument first, or correct it."
    near = catalog.nearest(name) if name else []
    if near:
        message += f" Names like it: {catalog.offer(near)}."
    return table.problem(item.row, "item_number", "unknown_instrument", message)


def _check_name(
    item: ItemRow, table: Table, known: tuple[str, str, Sequence[str]], problems: list[Problem]
) -> None:
    """The name beside a number has to be the instrument's, or one of its nicknames."""
    said = _name(item, table, problems)
    number, name, aliases = known
    allowed = {fold_heading(each) for each in (name, *aliases)}
    if said and fold_heading(said) not in allowed:
        message = (
            f'{number} is "{name}" in the catalog, but the line says "{said}". '
            "Correct one of them, or add the nickname."
        )
        problems.append(table.problem(item.row, "name", "name_mismatch", message))
