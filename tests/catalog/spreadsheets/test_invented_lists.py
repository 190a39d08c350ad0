"""What was never seen is understood or asked: lists made by rule are never silently wrong.

The floor is what was measured, rounded down; ``python -m tests.bench.lists.invented`` prints the
figures, and every list that is not right at once.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from functools import cache

import pytest

from catalog.spreadsheets.batches.applying import KindUnknown, check_workbook
from catalog.spreadsheets.cells.report import Question, Report
from catalog.spreadsheets.checking.answers import answered, given
from catalog.spreadsheets.checking.proposing import propose
from catalog.spreadsheets.evidence.known import FOLDS, on_record
from tests.bench.lists.judged import ASKED, AT_ONCE, GIVEN_UP, WRONG
from tests.catalog.spreadsheets.invented_lists import SIZES, Invented, invented, misleading

pytestmark = pytest.mark.unmeasured

LISTS = 40
"""Tried by the test; the bench tries more."""
RIGHT_OR_ASKED = 1.0
FIELDS = (*(f"{key}_mm" for key in SIZES), "weight_g")
NEAR = 0.01
MOST_QUESTIONS = 12


def outcome(one: Invented) -> tuple[str, str]:
    """How a list was understood, in a word of the bench, and why not better.

    Questions are answered with the truth until none is left.
    """
    answers: list[tuple[str, str]] = []
    try:
        for _ in range(MOST_QUESTIONS):
            choices = answered(answers, ["List"], "instruments", {})
            report = check_workbook(one.workbook, empty=True, choices=choices)
            if wrong := _wrong(report, one):
                return WRONG, wrong
            if not report.questions:
                break
            answers.append(given(report.questions[0].option, _truth(report.questions[0], one)))
    except KindUnknown:
        return GIVEN_UP, "kind unknown"
    mapping = next(iter(report.mapping.values()), {})
    missing = [key for key in one.truth["columns"] if key not in mapping and key != "maker"]
    if missing or report.questions or report.file_problems:
        return GIVEN_UP, f"{', '.join(missing)} not read"
    return (ASKED, "; ".join(map("=".join, answers))) if answers else (AT_ONCE, "")


def _wrong(report: Report, one: Invented) -> str:
    """What was read and is not so; "" where all that was read is right."""
    if report.kind != "instruments":
        return f"kind {report.kind}"
    mapping = next(iter(report.mapping.values()), {})
    columns = one.truth["columns"]
    for key in (*SIZES, "weight", "item_number", "name", "maker", "maker_catalog_number"):
        if key in mapping and [mapping[key]] != columns.get(key):
            return f"{key} is {mapping[key]}, not {columns.get(key)}"
    if report.rows and len(report.rows) != len(one.sizes):
        return f"{len(report.rows)} rows, not {len(one.sizes)}"
    for row, sizes in zip(report.rows, one.sizes, strict=False):
        for name, size in zip(FIELDS, sizes, strict=True):
            read = row.values.get(name)
            if read is not None and abs(float(str(read)) - size) > NEAR * size:
                return f"{name} {read}, not {size}"
    return ""


def _truth(question: Question, one: Invented) -> str:
    """The true answer to a question."""
    offered = [each.answer for each in question.choices]
    if question.option.startswith("--column"):
        letter = question.option.split()[1].strip("'").rpartition("!")[2].partition("=")[0]
        right = [key for key, letters in one.truth["columns"].items() if letter in letters]
        if {*SIZES} <= {*right}:
            return "sizes"
        return right[0] if right else "none"
    return next((unit for unit in one.units if unit in offered), offered[0])


def half_known(seed: int) -> Invented:
    """The list of a seed where the catalog has every other row of it."""
    one = invented(seed)
    (sheet,) = one.workbook.sheets
    rows = sheet.rows[-len(one.sizes) :: 2]
    letters = {key: one.truth["columns"][key][0] for key in FOLDS if key in one.truth["columns"]}
    known = on_record({
        key: [row.at(letter).typed for row in rows] for key, letter in letters.items()
    })  # fmt: skip
    workbook = replace(one.workbook, sheets=(replace(sheet, on_record=known),))
    return replace(one, workbook=workbook)


@cache
def measured(
    seeds: range, made: Callable[[int], Invented] = invented
) -> tuple[Counter[str], list[str]]:
    """How many lists have each outcome; what is told of those that are not right at once."""
    found, told = Counter[str](), list[str]()
    for seed in seeds:
        one = made(seed)
        word, why = outcome(one)
        found[word] += 1
        if word != AT_ONCE:
            told.append(f"{seed}: {word}: {why} ({one.told})")
    return found, told


@pytest.mark.xdist_group("invented")
def test_invented_lists_are_right_or_asked_and_never_wrong() -> None:
    found, told = measured(range(LISTS), invented)
    assert found[WRONG] == 0, told
    assert found[AT_ONCE] + found[ASKED] >= RIGHT_OR_ASKED * LISTS, told


def test_columns_that_mislead_are_left_or_asked_and_never_read() -> None:
    """Sizes of a part, weights of more than the instrument, numbers that it had before."""
    found, told = measured(range(LISTS), misleading)
    assert found[WRONG] == 0, told
    assert found[AT_ONCE] + found[ASKED] >= RIGHT_OR_ASKED * LISTS, told


@pytest.mark.xdist_group("invented")
def test_a_catalog_that_knows_half_of_a_list_settles_more_and_misreads_nothing() -> None:
    without, _ = measured(range(LISTS), invented)
    found, told = measured(range(LISTS), half_known)
    assert found[WRONG] == 0, told
    assert found[GIVEN_UP] <= without[GIVEN_UP], told
    assert found[AT_ONCE] > without[AT_ONCE], told


@pytest.mark.parametrize("made", [invented, half_known])
@pytest.mark.parametrize("seed", [*range(6), 106, 153])  # the last two have two heading rows
def test_what_the_page_proposes_is_what_the_command_reads(
    seed: int, made: Callable[[int], Invented]
) -> None:
    one = made(seed)
    proposed = propose(one.workbook, "instruments").sheets
    as_proposed = {each.title: each.choice() for each in proposed}
    alone = check_workbook(one.workbook, "instruments", empty=True)
    with_it = check_workbook(one.workbook, "instruments", empty=True, choices=as_proposed)
    assert with_it.mapping == alone.mapping
    assert [row.values for row in with_it.rows] == [row.values for row in alone.rows]
