"""Weights held against others of their kind. The bounds are ours (common practice, no source);
what is certain is only that 2,500 g is no pair of scissors of 185 mm."""

from __future__ import annotations

from decimal import Decimal

import pytest

from catalog.spreadsheets.checking.neighbours import Neighbours
from catalog.spreadsheets.workbook.reading import read_workbook
from tests.catalog.spreadsheets.workbooks import check_instruments, xlsx

HEAD = ["Item #", "Name", "Length (mm)", "Weight (g)"]
SCISSORS = [
    [f"S-{n}", f"{maker} scissors", 140 + 10 * n, 40 + 8 * n]
    for n, maker in enumerate(("Mayo", "Fine", "Iris", "Mayo", "Strong", "Fine", "Long", "Iris"))
]


def asked(*rows: list[object], known: dict[str, dict[str, object]] | None = None) -> list[str]:
    data = xlsx({"List": [HEAD, *SCISSORS, *rows]})
    report = check_instruments(read_workbook(data, "list.xlsx"), known or {})
    return [each.message for each in report.problems if each.code == "unlike_others"]


@pytest.mark.parametrize("weight", [2500, 800, 6, 2.5])
def test_a_weight_unlike_all_others_is_asked(weight: float) -> None:
    assert len(asked(["X-1", "Sharp scissors", 185, weight])) == 1


@pytest.mark.parametrize(("length", "weight"), [(185, 75), (185, 150), (90, 12), (300, 250)])
def test_a_likely_weight_is_not_asked(length: int, weight: int) -> None:
    assert asked(["X-1", "Sharp scissors", length, weight]) == []


def test_the_question_says_what_the_others_weigh() -> None:
    (said,) = asked(["X-1", "Sharp scissors", 185, 2500])
    assert "2500 g for 185 mm?" in said and "“scissors”" in said and "weigh 48 g to 96 g" in said


def test_a_kind_of_few_is_not_asked() -> None:
    assert asked(["X-1", "Mallet", 185, 2500]) == []


def test_the_catalog_counts_as_well() -> None:
    known = {
        f"K-{n}": {"name": "Bone mallet", "length_mm": Decimal(200), "weight_g": Decimal(450 + n)}
        for n in range(6)
    }
    assert len(asked(["X-1", "Mallet", 200, 20], known=known)) == 1


def test_what_is_on_record_already_is_not_asked() -> None:
    known = {"X-1": {"name": "Sharp scissors", "length_mm": Decimal(185),
                     "weight_g": Decimal(2500)}}  # fmt: skip
    assert asked(["X-1", "Sharp scissors", 185, 2500], known=known) == []


def test_a_kind_that_spreads_widely_is_asked_later() -> None:
    others = Neighbours()
    for n in range(12):
        others.add("Retractor", Decimal(200), Decimal(10 * 2**n))
    assert others.why_unlike("Retractor", Decimal(200), Decimal(10_000)) is None
