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
    """Two in a function; the third stands in none, so that its module is imported with it."""
    path = "catalog/units.py"
    tests = {name: f"{path}::catalog.units.{name}" for name in ("tidy", "read_length")}
    names = {
        f'{path}: return " ".join(spelled.split()) -> return None': tests["tidy"],
        f'{path}: return "not known" -> return None': "",
        f"{path}: 16 -> 17 (2)": tests["read_length"],
    }
    text = (ROOT / path).read_text()
    tried = [one for one in mutants_of(path, text) if one.name in names]
    asked = [(name, 1.0) for name in tests.values()]
    reached = {name: {"anew": False, "tests": asked} for name in names}
    ended: list[Ended] = []
    Copy(tmp_path).try_all("units", tried, 1, reached, ended.append)
    assert {one.name: one.killed_by for one in ended} == names
    assert (tmp_path / path).read_text() == text
