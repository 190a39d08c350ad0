"""Count sheets made by rule: every set with its lines and counts, or a question, and never less."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from catalog.spreadsheets.batches.applying import KindUnknown, check_workbook
from catalog.spreadsheets.cells.report import Report
from tests.bench.lists.judged import ASKED, AT_ONCE, GIVEN_UP, WRONG
from tests.catalog.spreadsheets.invented_sheets import InventedSheets, invented_sheets

FILES = 60
"""Tried by the test; the bench tries more."""
RIGHT_OR_ASKED = 0.99


def outcome(one: InventedSheets) -> tuple[str, str]:
    """How a file was understood, in a word of the bench, and why not better.

    A set without a number has to be asked for; a column that is asked for is not read yet.
    """
    try:
        report = check_workbook(one.workbook, empty=True)
    except KindUnknown:
        return GIVEN_UP, "kind unknown"
    asked = [each.option.split()[0] for each in report.questions]
    if "--column" in asked:
        return ASKED, report.questions[0].about
    if report.kind != "sets":
        return WRONG, f"kind {report.kind}"
    found, wanted = _found(report), [(code, name, [*counts]) for code, name, counts in one.sets]
    if found != wanted:
        return WRONG, f"{found}, not {wanted}"
    needed = ["--set-number"] * sum(not code for code, _, _ in wanted)
    if asked != needed:
        return WRONG if needed else ASKED, f"asked {asked}"
    return (ASKED if asked else AT_ONCE), ""


def _found(report: Report) -> list[tuple[str, str, list[object]]]:
    return [
        (one.code, one.name, [line.values["quantity"] for line in one.lines]) for one in report.sets
    ]


def measured(seeds: Iterable[int]) -> tuple[Counter[str], list[str]]:
    """How many files have each outcome; what is told of those that are not as they should be."""
    found, told = Counter[str](), list[str]()
    for seed in seeds:
        one = invented_sheets(seed)
        word, why = outcome(one)
        found[word] += 1
        if why:
            told.append(f"{seed}: {word}: {why} ({one.told})")
    return found, told


def test_invented_count_sheets_are_right_or_asked_and_never_wrong() -> None:
    found, told = measured(range(FILES))
    assert found[WRONG] == 0, told
    assert found[AT_ONCE] + found[ASKED] >= RIGHT_OR_ASKED * FILES, told
