"""The rules in a table: those that do not apply are folded away, where there are any."""

from __future__ import annotations

import pytest
from django.template.loader import render_to_string

from assembly.judging.decisions import Row


def table(*states: str) -> str:
    rows = [Row(f"rule {n}", state, "Why.", "", "ours") for n, state in enumerate(states)]
    return render_to_string("assembly/decisions/_findings.html", {"findings": rows})


@pytest.mark.parametrize(
    ("states", "folded"),
    [(["met", "does not apply"], True), (["met", "not met"], False), ([], False)],
)
def test_the_fold_stands_only_where_something_is_in_it(states: list[str], folded: bool) -> None:
    assert ("Rules that do not apply" in table(*states)) is folded


def test_what_does_not_apply_stands_in_the_fold_alone() -> None:
    page = table("does not apply", "met", "does not apply")
    shown, folded = page.split("Rules that do not apply")
    assert "rule 1" in shown and "rule 0" in folded and "rule 2" in folded
    assert "rule 0" not in shown and "rule 1" not in folded
