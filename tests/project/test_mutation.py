"""Mutants are made where they should be, and killed by the tests of their own module."""

from __future__ import annotations

from pathlib import Path

from tests.migrated import ROOT
from tests.mutation.mutating import mutants_of
from tests.mutation.running import Copy, Ended, chosen


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


def test_a_change_of_the_code_draws_anew_for_nothing_else() -> None:
    text = "a = 1 + 2\nb = 3 < 4\n"
    lots = [{one.drawn(16) for one in mutants_of("a", code)} for code in (text, f"c = 9\n{text}")]
    assert lots[0] < lots[1]


def test_mutants_are_killed_by_tests_that_reach_them_or_survive_them(tmp_path: Path) -> None:
    """The first two where all is imported, the third where its module is imported with it."""
    path, test = "catalog/units.py", "catalog/units.py::catalog.units.tidy"
    text = (ROOT / path).read_text()
    answers = ('return " ".join(spelled.split())', 'return "not known"', "return len(rest) == 3 a")
    tried = [one for answer in answers for one in mutants_of(path, text)
             if one.was.startswith(answer) and one.now == "return None"]  # fmt: skip
    tried = [tried[0], tried[1], tried[-1]]
    reached = {one.name: {"anew": one is tried[2], "tests": [(test, 1.0)]} for one in tried}
    ended: list[Ended] = []
    Copy(tmp_path).try_all("units", tried, 1, ended.append, reached)
    assert {one.name: one.killed_by for one in ended} == {
        tried[0].name: test, tried[1].name: "", tried[2].name: "",
    }  # fmt: skip
    assert (tmp_path / path).read_text() == text
