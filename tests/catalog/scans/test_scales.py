"""What a scale types: read as it is, or refused with what was read.

The lines are common practice, no source; no scale stood beside it.
"""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as some

from catalog.scans.scales import read_scale
from catalog.units import UnitError, read_weight

STEADY = ["", "ST,", "ST,GS,", "ST,NT,", "S S ", "ST GS "]
weights = some.decimals("0.1", "99999.9", places=1)


@given(weights, some.sampled_from(STEADY), some.sampled_from(["", "+", "+  "]),
       some.sampled_from([" g", "g", "  g\r\n"]), some.integers(0, 3))  # fmt: skip
def test_every_line_of_a_steady_scale_reads_its_digits(
    weight: Decimal, words: str, sign: str, unit: str, zeros: int
) -> None:
    assert read_scale(f"\x02{words}{sign}{'0' * zeros}{weight}{unit}\x03") == weight


@given(weights, some.sampled_from(["g", "kg", "oz", "lb"]))
def test_a_bare_weight_reads_as_everywhere(weight: Decimal, unit: str) -> None:
    assert read_scale(str(weight), unit) == read_weight(f"{weight} {unit}")


@given(some.text(max_size=30))
def test_any_text_is_a_weight_or_is_refused(text: str) -> None:
    try:
        assert read_scale(text, "g") > 0
    except UnitError as problem:
        assert problem.message


@pytest.mark.parametrize(
    ("line", "why"),
    [
        ("US,GS,+  5432.1 g", "not still"),
        ("S D 5432.1 g", "not still"),
        ("OL,GS,+9999.9 g", "beyond"),
        ("OL", "beyond"),
        ("ST,GS,-    12.3 g", "below zero"),
        ("ST,GS,+     0.0 g", "is zero"),
        ("ST,GS,+5432.1", "no unit"),
        ("QT,GS,+5432 g", "“qt” is nothing that a scale says here"),
        ("ST,GS,+5432.1 xy", "“xy” is no unit"),
        ("ST,GS,", "no number"),
        ("ST,+5432.1 g ST,+5432.2 g", "more than one unit"),
        ("5,432 g", "may be 5432 or 5.432"),
        ("HF-1042", "“hf” is no unit"),
    ],
)
def test_what_is_no_reading_says_why(line: str, why: str) -> None:
    with pytest.raises(UnitError, match=why):
        read_scale(line)


def test_a_unit_may_stand_before_its_number_as_everywhere() -> None:
    assert read_scale("g 30.5") == Decimal("30.5")
