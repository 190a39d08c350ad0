"""What a file alone does not say, as questions: the same for the page and the command.

A column is asked one at a time, because its answer may settle the others; what no other answer
can settle is asked together.
"""

from __future__ import annotations

import shlex
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import islice

from catalog.spreadsheets.cells.judging import Evidence, read_and_shown, units_by_likelihood
from catalog.spreadsheets.cells.numbering import counting_from
from catalog.spreadsheets.cells.report import ANSWER, Choice, Question
from catalog.spreadsheets.cells.typed import plain_text
from catalog.spreadsheets.checking.tables import Table
from catalog.spreadsheets.checking.whole_columns import judgement_of
from catalog.spreadsheets.columns.column import Column
from catalog.spreadsheets.columns.instruments import INSTRUMENT_COLUMNS
from catalog.spreadsheets.workbook.encodings import Reading
from catalog.spreadsheets.workbook.reading import Workbook

NOT_READ = "none"
"""The answer that a column is none of those that are read."""
MOST_OFFERED = 4
"""Columns that one question names; any other can be answered too."""
OTHER_NUMBER = {"item_number": "maker_catalog_number", "maker_catalog_number": "item_number"}
"""A code that may be the department's own may be the maker's, and the other way round."""
WITHIN = 60
"""Rows of a table in which values to show are looked for."""
SHOWN = 3
"""Values that stand beside a choice."""
MOST_SHOWN = 80
"""Characters of a row that are shown."""
ALIKE = ("length", "width", "height")
"""Sizes that share their unit when nothing else is said: they are asked together."""


def option(name: str, what: str, sheet: str = "") -> str:
    """What answers a question at the command line; ``sheet`` where the workbook has several.

    >>> option("column", "A=ANSWER"), option("column", "A=ANSWER", "My list")
    ('--column A=ANSWER', "--column 'My list!A=ANSWER'")
    """
    return f"--{name} {shlex.quote(f'{sheet}!{what}' if sheet else what)}"


def letters_asked(workbook: Workbook) -> tuple[Question, ...]:
    """How the letters of a text table are written, where nobody can tell."""
    if not workbook.problems or not workbook.readings:
        return ()
    choices = tuple(Choice(each.encoding, each.shown) for each in workbook.readings)
    about = f"Which is right in row {workbook.readings[0].row}?"
    return (Question(workbook.file_name, about, choices, option("encoding", ANSWER)),)


def column_question(
    tables: Iterable[Table], columns: Sequence[Column], several: bool
) -> Question | None:
    """The first column of which nobody can be sure; None where all are told by evidence.

    ``several``: the workbook has more sheets than one.
    """
    for table in tables:
        unsure = table.unsure
        if unsure is None:
            continue
        titles = {column.key: column.title for column in columns}
        also = [OTHER_NUMBER[key] for key in unsure.keys if key in OTHER_NUMBER]
        likely = list(dict.fromkeys((*unsure.keys[:MOST_OFFERED], *also)))
        keys = [key for key in likely if key in titles]
        named = [f"the {titles[key][0].lower()}{titles[key][1:]}" for key in keys]
        headed = f" “{unsure.heading}”" if unsure.heading else ""
        about = f"Is column {unsure.letter}{headed} ({', '.join(unsure.shown)}) "
        about += f"{' or '.join(named)}, or is it not to be read?"
        sheet = table.sheet.title
        return Question(
            sheet,
            about,
            tuple(Choice(key, unsure.shown) for key in [*keys, NOT_READ]),
            option("column", f"{unsure.letter}={ANSWER}", sheet if several else ""),
        )
    return None


def kind_question(workbook: Workbook) -> Question:
    """What a file holds, where nothing in it says so; its first rows stand beside each choice."""
    rows = [row for sheet in workbook.sheets for row in islice(sheet.rows, SHOWN)][:SHOWN]
    shows = tuple(", ".join(cell.typed.strip() for cell in row.cells)[:MOST_SHOWN] for row in rows)
    choices = tuple(Choice(kind, shows) for kind in ("instruments", "sets"))
    about = "Does the file hold a list of instruments, or the count sheets of sets?"
    return Question("", about, choices, option("kind", ANSWER))


def letters_question(readings: Sequence[Reading]) -> Question:
    """How the letters of a text table are to be read, where nothing in it says so."""
    choices = tuple(Choice(each.encoding, each.shown) for each in readings)
    about = f"How are the letters to be read? From row {readings[0].row} on they may say:"
    return Question("", about, choices, option("encoding", ANSWER))


def unclear_units(table: Table, evidence: Mapping[str, Evidence]) -> list[str]:
    """The columns of bare numbers of whose unit there is no clear evidence."""
    bare = [key for key, found in evidence.items() if found.bare and not table.mapping[key].unit]
    judged = {key: judgement_of(key, table, evidence) for key in bare}
    return [key for key, found in judged.items() if found and found.unit is None]


def unit_questions(
    table: Table, evidence: Mapping[str, Evidence], keys: Sequence[str], several: bool
) -> Iterator[Question]:
    """For the columns ``keys`` of bare numbers, of whose unit there is no clear evidence."""
    together = [key for key in keys if key in ALIKE]
    for group in (together, *([key] for key in keys if key not in ALIKE)):
        if group:
            yield _unit_question(table, evidence, group, several)


def _unit_question(
    table: Table, evidence: Mapping[str, Evidence], keys: Sequence[str], several: bool
) -> Question:
    titles = {column.key: column.title.lower() for column in INSTRUMENT_COLUMNS}
    letters = list(dict.fromkeys(table.mapping[key].letter for key in keys))
    named = _and([titles[key] for key in keys])
    are = f"are {named} (columns {_and(letters)})"
    if len(keys) == 1:
        are = f"is the {named} (column {letters[0]})"
    beside = [key for key in ALIKE if key in table.mapping] if keys[0] in ALIKE else keys
    others = {key: _unit_told(table, evidence, key) for key in beside if key not in keys}
    likely = sorted(
        units_by_likelihood(keys[0], evidence[keys[0]].bare),
        key=lambda unit: unit not in others.values(),
    )
    rows = [each.row for each in islice(table.walk(), WITHIN) if each.reason is None]
    choices = []
    for unit in likely:
        read = [
            [
                read_and_shown(key, table.cell(row, key), others.get(key, unit) or None)
                for key in beside
            ]
            for row in rows
        ]
        shows = [" × ".join(each) for each in read if all(each)]
        choices.append(Choice(unit, tuple(shows[:SHOWN])))
    bare = " × ".join(table.cell(rows[0], key).typed for key in keys) if rows else ""
    about = f"In which unit {are}? Neither heading nor cells say it: {bare}."
    named_keys = list(dict.fromkeys("sizes" if table.mapping[key].part else key for key in keys))
    said = f"{','.join(named_keys)}={ANSWER}"
    return Question(
        table.sheet.title,
        about,
        tuple(choices),
        option("unit", said, table.sheet.title if several else ""),
    )


def quantity_question(table: Table, several: bool) -> Question:
    """How many pieces every line of a set has, where no column says them."""
    shows = tuple(f"1 × {each}" for each in names_in(table))
    about = f"No column of “{table.sheet.title}” says how many belong in the set. "
    about += "How many are there of each line?"
    sheet = table.sheet.title
    where = option("quantity", ANSWER, sheet if several else "")
    return Question(sheet, about, (Choice("1", shows),), where)


def set_number_question(
    table: Table, name: str, proposed: Sequence[str], several: bool, known: bool
) -> Question:
    """Which number a set has that the file gives none, with the numbers that are proposed;
    ``known``: the first is that of a set of this name on record."""
    sheet = table.sheet.title
    about = f"Which number has the set “{name}”? The file says none."
    if known:
        about += f" On record is one of the same name: {proposed[0]}; {proposed[-1]} is free."
    choices = tuple(Choice(number, names_in(table)) for number in proposed)
    where = option("set-number", f"{name}={ANSWER}", sheet if several else "")
    return Question(sheet, about, choices, where)


def numbers_question(sheet: str, names: Sequence[str], first: str, several: bool) -> Question:
    """From which number on the instruments ``names``, which have none, shall get theirs."""
    numbers = counting_from(first)
    shows = tuple(f"{number} {name}" for number, name in zip(numbers, names[:SHOWN], strict=False))
    are = "1 instrument has" if len(names) == 1 else f"{len(names)} instruments have"
    about = f"{are} no item number. From which number on shall they be numbered?"
    where = option("numbers-from", ANSWER, sheet if several else "")
    return Question(sheet, about, (Choice(first, shows),), where)


def names_in(table: Table) -> tuple[str, ...]:
    """The names, else the item numbers, of the first lines of a table."""
    key = next((key for key in ("name", "item_number") if key in table.mapping), "")
    found = (plain_text(table.cell(each.row, key)) for each in table.walk() if not each.reason)
    return tuple(islice((name for name in found if name), SHOWN)) if key else ()


def _unit_told(table: Table, evidence: Mapping[str, Evidence], key: str) -> str:
    """The unit of a column of sizes that is not asked for; "" where each cell says its own."""
    judged = evidence[key].judgement()
    return table.mapping[key].unit or (judged and judged.unit) or ""


def _and(words: Sequence[str]) -> str:
    """Words as a sentence lists them.

    >>> _and(["C", "D", "E"])
    'C, D and E'
    """
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)
