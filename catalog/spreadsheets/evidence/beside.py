"""Tables side by side: where the headings of a row begin anew."""

from __future__ import annotations

from collections.abc import Mapping

from catalog.spreadsheets.columns.column import fold_heading

LEAST_ALIKE = 2
"""Headings that a table beside another has in common with it; one may stand twice by mistake."""


def first_letters(headings: Mapping[str, str]) -> list[str]:
    """The first column of each table, from left to right: where a heading stands again, and at
    least another one of the first table beside it.

    >>> first_letters({"A": "Qty", "B": "Name", "D": "Name", "E": "Qty"})
    ['A', 'D']
    >>> first_letters({"A": "Name", "B": "Note", "C": "Qty", "D": "Note"})
    ['A']
    """
    groups: list[dict[str, str]] = [{}]
    for letter, heading in headings.items():
        folded = fold_heading(heading)
        if folded in groups[-1]:
            groups.append({})
        groups[-1][folded] = letter
    starts = [next(iter(groups[0].values()), "")]
    for group in groups[1:]:
        if len(group.keys() & groups[0].keys()) < LEAST_ALIKE:
            return starts[:1]
        starts.append(next(iter(group.values())))
    return starts if starts[0] else []
