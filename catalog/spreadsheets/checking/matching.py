"""Which instrument a line means: by its item number, else by its exact name, else offered; and
what an updated list as a whole says of the catalog.

Nothing is guessed: a name that is only like one of the catalog's makes the line wait, with
the nearest names offered. What is gone from a list stays in the catalog unless somebody retires
it; a list of a part of the catalog (one maker's, one shelf's) says nothing about the rest.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass, field, replace

from rapidfuzz import fuzz, process

from catalog.spreadsheets.cells.folding import folded_number
from catalog.spreadsheets.cells.report import Change, Problem, changes_between
from catalog.spreadsheets.checking.drafts import FIELDS, NONE_IS_SAID
from catalog.spreadsheets.checking.tables import ItemRow, Table
from catalog.spreadsheets.columns.column import fold_heading

Instruments = Mapping[str, tuple[str, Sequence[str]]]
"""Item number to name and nicknames."""

MOST_OFFERED = 3
ALIKE = 65
"""Of 100: names less alike than this are not offered (our limit, tried on the demo's names)."""

VERY_ALIKE = 85
"""A name that is to be a new instrument's waits for an answer where one on record is as alike."""


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

    def called(self, name: str) -> list[str]:
        """The numbers of those with this name or nickname, or this number in the place of it."""
        known = self.by_number.get(folded_number(name))
        return self.by_name.get(fold_heading(name)) or ([known[0]] if known else [])

    def is_new(self, name: str) -> bool:
        """Whether a line of this name alone is that of an instrument that nobody has yet: nothing
        on record is called so, or very much alike."""
        return not self.called(name) and not self.nearest(name, VERY_ALIKE)

    def nearest(self, words: str, alike: int = ALIKE) -> list[str]:
        """The numbers of up to three instruments whose names are most like ``words``."""
        found = process.extract(
            fold_heading(words),
            list(self.by_name),
            scorer=fuzz.token_sort_ratio,
            score_cutoff=alike,
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
    exact = catalog.called(name)
    if len(exact) == 1:
        return exact[0]
    alike = VERY_ALIKE if table.said.numbers_from else ALIKE
    if exact or (near := catalog.nearest(name, alike)):
        offered = exact[:MOST_OFFERED] or near
        why = "is the name of several instruments" if exact else "is no name in the catalog"
        message = f'"{name}" {why}. Write the item number: {catalog.offer(offered)}?'
        problems.append(table.problem(item.row, key, "offered_names", message))
        return ""
    if not table.said.numbers_from:
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


# A list that comes again

A_GOOD_SHARE = 0.5
"""Of the list's rows that are known, and of the catalog that is listed: from here on it is an
updated list of the whole (our limit, with no source)."""
SPARES = "spares_on_hand"
SAID_EMPTY = {FIELDS[key] for key in NONE_IS_SAID}


@dataclass(frozen=True, slots=True)
class Coverage:
    """How much of the catalog a list holds. ``gone``: the instruments in use that are not in it;
    ``spares``: rows with another count of spares than the catalog has."""

    rows: int
    known: int
    in_use: int
    gone: tuple[str, ...]
    spares: int = 0

    @property
    def is_updated(self) -> bool:
        """Whether the list is one of the whole catalog, so that what is not in it is gone."""
        listed = self.in_use - len(self.gone)
        return (
            listed > 0
            and self.known >= A_GOOD_SHARE * self.rows
            and listed >= A_GOOD_SHARE * self.in_use
        )

    def as_json(self) -> dict[str, object]:
        """The numbers and what they mean; nothing where there is no catalog to compare with."""
        if not self.in_use:
            return {}
        return {**asdict(self), "is_updated": self.is_updated, "words": self.words}

    @property
    def words(self) -> str:
        """One sentence with the numbers; "" where the list and the catalog have nothing in common.

        >>> Coverage(3, 2, 4, ("A-3", "A-4")).words
        '2 of the 3 rows are known. 2 of the 4 instruments in use are not in this list.'
        """
        if not self.known:
            return ""
        part = "" if self.is_updated else " It seems to be a part of the catalog, so none is gone."
        missing = (
            f"{len(self.gone):,} of the {self.in_use:,} instruments in use are not in this list."
        )
        return f"{self.known:,} of the {self.rows:,} rows are known. {missing}{part}"


def coverage(
    listed: Iterable[str], known: Iterable[str], in_use: Collection[str], spares: int
) -> Coverage:
    """``listed``: the item numbers of the list; ``known``: those of the catalog."""
    here = {folded_number(number) for number in listed if number}
    there = set(map(folded_number, known))
    gone = sorted(number for number in in_use if folded_number(number) not in here)
    return Coverage(len(here), len(here & there), len(in_use), tuple(gone), spares)


def would_change(
    was: Mapping[str, object], number: str, values: Mapping[str, object]
) -> tuple[Change, ...]:
    """What a new row would change if it were the known instrument with another number.

    What the row leaves empty stays as it is known.
    """
    said = {
        name: value
        for name, value in values.items()
        if value not in (None, (), []) and (value != "" or name in SAID_EMPTY)
    }
    new = Change("item_number", number, values["item_number"])
    return (new, *spares_kept(changes_between(was, said)))


def spares_kept(changes: Iterable[Change]) -> tuple[Change, ...]:
    """The changes, with the count of spares left as the benches keep it: a list is older than
    they are. Where nobody has counted, the list's count is taken."""
    return tuple(
        replace(each, left_out=each.field == SPARES and each.old is not None) for each in changes
    )


def meant_once(claims: Iterable[str]) -> set[str]:
    """The known numbers that exactly one new row may be.

    >>> sorted(meant_once(["A-3", "A-4", "A-3"]))
    ['A-4']
    """
    return {number for number, rows in Counter(claims).items() if rows == 1}
