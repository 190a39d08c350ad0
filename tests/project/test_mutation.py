"""Mutants are made where they should be, and killed by the tests of their own module."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.migrated import ROOT
from tests.mutation.mutating import mutants_of
from tests.mutation.running import Copy, chosen


def test_a_mistake_is_made_in_its_place_alone() -> None:
    text = 'def f(a: int = 1) -> bool:\n    """é < 1"""\n    return not a < 3\n'
    made = {
        one.made(text.encode()).decode().splitlines()[-1].strip() for one in mutants_of("a", text)
    }
    assert made == {
        "return None",
        "return (a < 3)",
        "return not a <= 3",
        "return not a < 4",
        "return not a < 3",  # with another default
    }


def test_a_tenth_of_all_mutants_at_least_is_of_the_units() -> None:
    found = [of for of, _ in chosen(40, 1)]
    assert len(found) == 40 and found.count("units") >= 3 and chosen(40, 1) == chosen(40, 1)


@pytest.mark.parametrize(
    ("answer", "killed"),
    [('return " ".join(spelled.split())', True), ('return "not known"', False)],
)
def test_a_mutant_is_killed_by_the_tests_that_reach_it_or_survives_them(
    tmp_path: Path, answer: str, killed: bool
) -> None:
    path, test = "catalog/units.py", "catalog/units.py::catalog.units.tidy"
    text = (ROOT / path).read_text()
    one = next(
        each for each in mutants_of(path, text) if (each.was, each.now) == (answer, "return None")
    )
    copy = Copy(tmp_path, at_line={"units": {(path, one.line): {test}}})
    assert copy.end_of("units", one).killed_by == (test if killed else "")
    assert (tmp_path / path).read_text() == text
