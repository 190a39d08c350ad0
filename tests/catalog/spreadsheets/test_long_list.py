"""One long list with a set column, and lines that say a name instead of a number."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import pytest

from catalog.spreadsheets.cells.report import Change, Report, Verdict
from catalog.spreadsheets.checking.instruments import guess_kind
from catalog.spreadsheets.checking.matching import Catalog
from catalog.spreadsheets.checking.sets.lines import check_sets
from tests.catalog.spreadsheets.workbooks import book, rows_that_go_in

INSTRUMENTS = {
    "HF-1": ("Probe", ["sound"]),
    "HF-2": ("Hook, sharp", []),
    "HF-3": ("Kelly forceps, curved 140 mm", []),
    "HF-4": ("Kelly forceps, straight 140 mm", []),
    "HF-5": ("Towel clamp", ["clip"]),
    "HF-6": ("Towel clamp, small", ["clip"]),
}
HEAD = ["Set no.", "Set name", "Section", "Qty", "Name", "Item number"]
A1 = ["S1", "Small set", "Top", 2, "Probe", "HF-1"]
A2 = ["S1", "Small set", "Below", 1, "Hook, sharp", "HF-2"]
B1 = ["S2", "Other set", None, 3, "Probe", "HF-1"]


def check(
    *rows: Sequence[object],
    head: Sequence[object] = HEAD,
    known: Mapping[str, Mapping[str, object]] | None = None,
) -> Report:
    return check_sets(book(("List", [head, *rows])), known or {}, INSTRUMENTS)


def codes(report: Report) -> list[tuple[int, str, str]]:
    return [(each.row, each.column, each.code) for each in report.problems]


def named(name: str) -> Report:
    return check(["S1", 1, name], head=["Set no.", "Qty", "Instrument"])


def test_a_list_with_a_set_column_is_guessed_to_hold_sets() -> None:
    assert guess_kind(book(("List", [HEAD, A1]))) == "sets"


def test_each_set_gets_its_lines_even_where_they_are_mixed() -> None:
    found = check(A1, B1, A2)
    assert [(one.code, one.name, len(one.lines)) for one in found.sets] == [
        ("S1", "Small set", 2),
        ("S2", "Other set", 1),
    ]


def test_sections_come_from_their_column() -> None:
    assert [row.values["section"] for row in check(A1, A2).rows] == ["Top", "Below"]


def test_a_line_without_a_set_number_is_named_where_it_stands() -> None:
    assert codes(check(A1, [None, *A2[1:]])) == [(3, "A", "missing_set_code")]


def test_the_other_sets_go_in_all_the_same() -> None:
    assert [row.key for row in rows_that_go_in(check(A1, [None, *A2[1:]]))] == ["HF-1"]


def test_a_line_that_names_the_set_otherwise_makes_it_wait() -> None:
    report = check(A1, ["S1", "Big set", *A2[2:]])
    assert (codes(report), rows_that_go_in(report)) == ([(3, "B", "heading_differs")], [])


def test_the_exact_name_of_a_known_set_stands_for_its_number() -> None:
    known = {"S9": {"name": "Small set", "lines": {}}}
    assert check(["small SET", *A1[1:]], known=known).sets[0].code == "S9"


def test_a_total_of_one_set_and_of_the_list_are_checked() -> None:
    total = [None, None, "Total"]
    report = check(A1, A2, [*total, 3], B1, ["Grand total", None, None, 6])
    assert codes(report) == []


def test_a_total_that_fits_nothing_makes_its_set_wait() -> None:
    assert codes(check(A1, A2, B1, ["Total", None, None, 5])) == [(5, "D", "total_mismatch")]


def test_an_exact_name_is_as_good_as_a_number() -> None:
    assert [(row.key, row.verdict) for row in named("probe").rows] == [("HF-1", Verdict.NEW)]


def test_a_nickname_is_as_good_as_a_name() -> None:
    assert named("Sound").rows[0].key == "HF-1"


def test_a_name_that_is_only_alike_waits_with_the_nearest_offered() -> None:
    report = named("Kelly forcep curved 140mm")
    assert ("HF-3" in report.problems[0].message, report.rows[0].waits) == (True, True)


def test_words_in_another_order_are_offered() -> None:
    assert codes(named("Curved Kelly forceps 140 mm")) == [(2, "C", "offered_names")]


def test_a_name_of_two_instruments_offers_both() -> None:
    message = named("clip").problems[0].message
    assert "HF-5" in message and "HF-6" in message


def test_a_name_like_none_is_refused() -> None:
    assert codes(named("Zeppelin")) == [(2, "C", "unknown_instrument")]


def test_a_wrong_number_beside_an_exact_name_waits() -> None:
    assert codes(check([*A1[:5], "HF-77"])) == [(2, "F", "offered_names")]


def test_at_most_three_are_offered() -> None:
    catalog = Catalog.of({f"X-{n}": (f"Kelly forceps {n}", []) for n in range(9)})
    assert len(catalog.nearest("Kelly forceps")) == 3


KNOWN = {
    "S1": {
        "name": "Small set",
        "lines": {"HF-1": 2, "HF-2": 1},
        "sections": {"HF-1": "Top", "HF-2": "Below"},
        "sequence": ["HF-1", "HF-2"],
    }
}


def test_the_same_list_again_is_unchanged() -> None:
    assert check(A1, A2, known=KNOWN).sets[0].verdict is Verdict.UNCHANGED


def test_another_order_is_told() -> None:
    one = check(A2, A1, known=KNOWN).sets[0]
    assert one.changes == (Change("order", ("HF-1", "HF-2"), ("HF-2", "HF-1")),)


def test_another_section_is_told() -> None:
    row = check([*A1[:2], "Below", *A1[3:]], A2, known=KNOWN).rows[0]
    assert row.changes == (Change("section", "Top", "Below"),)


@pytest.mark.parametrize("word", ["Set", "Tray no.", "Siebnummer", "Set code"])
def test_the_set_column_has_several_names(word: str) -> None:
    assert check(A1, head=[word, *HEAD[1:]]).sets[0].code == "S1"
