"""Reading and showing lengths and weights.

Vectors: sizes worked by hand from 1 in = 25.4 mm, 1 lb = 453.59237 g (international yard
and pound agreement, 1959).
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalog.units import (
    G_PER_OUNCE,
    G_PER_POUND,
    LENGTH_UNITS,
    WEIGHT_UNITS,
    UnitError,
    decimal_mark,
    read_length,
    read_weight,
    show_length,
    show_weight,
)

REFEREE = pint.LazyRegistry(kwargs={"non_int_type": Fraction})
"""Made when it is first asked: every worker reads this file, one asks."""

LENGTHS = [
    ('6 11/16"', "169.862"),
    ('3 1/8"', "79.375"),
    ('5-1/2"', "139.7"),
    ('5½"', "139.7"),
    ("½ in", "12.7"),
    ("6 1/2\u201d", "165.1"),
    ("6 1/2\u2033", "165.1"),
    ("6 1/2''", "165.1"),
    ('6 1\u20442"', "165.1"),
    ("7.09 in", "180.086"),
    ("7.09 IN.", "180.086"),
    ("12,5cm", "125"),
    ("12,5\u00a0cm", "125"),
    ("3mm", "3"),
    ("  3  mm ", "3"),
    (".5 in", "12.7"),
    ("0,125 m", "125"),
    ("mm 125", "125"),
    ("cm12.5", "125"),
    ("180 MM", "180"),
    ("1,200.5 mm", "1200.5"),
    ("1.200,5 mm", "1200.5"),
    ("1,234,567.5 mm", "1234567.5"),
    ("8 Zoll", "203.2"),
    ("8 pouces", "203.2"),
    ("14 centimètres", "140"),
    ("１２ mm", "12"),
]
WEIGHTS = [
    ("2.8 oz", "79.4"),
    ("0.024 kg", "24"),
    ("0.172 lb", "78"),
    ("1.676 lb", "760.2"),
    ("30 g", "30"),
    ("1 lb", "453.6"),
    ("½ lb", "226.8"),
    ("0,024 kg", "24"),
]
LENGTH_FAULTS = [
    (None, "empty"),
    ("  \u00a0", "empty"),
    ("long", "no_number"),
    ("cm", "no_number"),
    ("14", "no_unit"),
    (14, "no_unit"),
    (14.5, "no_unit"),
    ("3/4", "no_unit"),
    ("14-16 cm", "range"),
    ("14 to 16 cm", "range"),
    ("14 cm – 16 cm", "range"),
    ('5 1/2 - 6"', "range"),
    ('14cm/5.5"', "two_units"),
    ("14 cm (5.5 in)", "two_units"),
    ("1 m 20 cm", "two_units"),
    ("-145", "negative"),
    ("−145 mm", "negative"),
    (-145, "negative"),
    ("0 mm", "zero"),
    (0, "zero"),
    ("0.0001 mm", "zero"),
    ('51/2"', "ambiguous"),
    ("2/3 in", "ambiguous"),
    ("8/8 in", "ambiguous"),
    ("14/16 cm", "ambiguous"),
    ('6 17/16"', "ambiguous"),
    ("5/0 in", "ambiguous"),
    ("1,200 mm", "ambiguous"),
    ("1 200 mm", "ambiguous"),
    ("1.2.3 mm", "ambiguous"),
    ("?", "unknown_mark"),
    ("tbc", "unknown_mark"),
    ("N/A", "unknown_mark"),
    ("-", "unknown_mark"),
    ("—", "unknown_mark"),
    ("Unknown", "unknown_mark"),
    ("not known", "unknown_mark"),
    ("8 Fr", "unknown_unit"),
    ("6'", "unknown_unit"),
    ("12 g", "unknown_unit"),
    ("#10", "not_a_size"),
    ('7"x3"', "two_units"),
    ("7x3", "not_a_size"),
    ("12 cm overall", "not_a_size"),
    ("ca. 12 cm", "not_a_size"),
    ("1e3 mm", "not_a_size"),
    ("9" * 12 + " m", "not_a_size"),
    ("9" * 70 + " mm", "not_a_size"),
    (float("nan"), "not_a_size"),
    (float("inf"), "not_a_size"),
    (1e300, "not_a_size"),
    (True, "not_a_size"),
    ([125], "not_a_size"),
]
WEIGHT_FAULTS = [
    ("1,200 g", "ambiguous"),
    ("100 gr", "unknown_unit"),
    ("2 lb 3 oz", "two_units"),
    ("12 mm", "unknown_unit"),
]


@pytest.mark.parametrize(("text", "mm"), LENGTHS)
def test_a_length_is_read_as_mm(text: str, mm: str) -> None:
    assert read_length(text) == Decimal(mm)


@pytest.mark.parametrize(("text", "g"), WEIGHTS)
def test_a_weight_is_read_as_g(text: str, g: str) -> None:
    assert read_weight(text) == Decimal(g)


@pytest.mark.parametrize(("text", "code"), LENGTH_FAULTS)
def test_an_unclear_length_is_refused_with_its_code(text: object, code: str) -> None:
    with pytest.raises(UnitError) as error:
        read_length(text)
    assert error.value.code == code


@pytest.mark.parametrize(("text", "code"), WEIGHT_FAULTS)
def test_an_unclear_weight_is_refused_with_its_code(text: str, code: str) -> None:
    with pytest.raises(UnitError) as error:
        read_weight(text)
    assert error.value.code == code


def test_a_bare_number_takes_the_unit_of_its_column() -> None:
    assert read_length("12,5", "cm") == Decimal(125)


def test_the_mark_that_a_list_does_not_use_for_decimals_divides_thousands() -> None:
    assert read_length("1,200 mm", mark=".") == Decimal(1200)


@pytest.mark.parametrize("parts", [2, 4, 8, 16, 32, 64])
def test_every_part_of_an_inch_rule_is_a_fraction(parts: int) -> None:
    assert read_length(f"{parts - 1}/{parts} in") == round(Decimal("25.4") * (parts - 1) / parts, 3)


def test_a_unit_in_the_cell_goes_before_the_unit_of_the_column() -> None:
    assert read_length("125 mm", "in") == Decimal(125)


@pytest.mark.parametrize(("typed", "mm"), [("0.0015 mm", "0.002"), ("0.0025 mm", "0.002")])
def test_a_half_step_goes_to_the_even_digit(typed: str, mm: str) -> None:
    assert read_length(typed) == Decimal(mm)


PLACES = st.decimals(min_value="0.1", max_value="9999", places=3)


@given(mm=PLACES)
def test_a_length_shown_in_inches_reads_back_within_a_thirty_second(mm: Decimal) -> None:
    shown = read_length(show_length(mm, "in"))
    assert abs(shown - mm) <= Decimal("25.4") / 32 + Decimal("0.0005")


@given(mm=PLACES)
def test_a_length_shown_in_mm_reads_back_within_half_a_tenth(mm: Decimal) -> None:
    assert abs(read_length(show_length(mm, "mm")) - mm) <= Decimal("0.05")


@given(mm=PLACES)
def test_a_length_shown_in_cm_reads_back_within_half_a_tenth_mm(mm: Decimal) -> None:
    assert abs(read_length(show_length(mm, "cm")) - mm) <= Decimal("0.05")


@given(sixteenths=st.integers(1, 1600))
def test_a_whole_sixteenth_survives_showing_and_reading(sixteenths: int) -> None:
    mm = read_length(f"{Decimal(sixteenths) / 16} in")
    assert read_length(show_length(mm, "in")) == mm


@given(
    g=st.decimals(min_value="0.5", max_value="99999", places=1),
    unit=st.sampled_from(["g", "kg", "oz", "lb"]),
)
def test_a_weight_reads_back_within_what_is_shown(g: Decimal, unit: str) -> None:
    half_of_last_place = {"g": "0.05", "kg": "0.5", "oz": "0.1418", "lb": "0.2268"}[unit]
    shown = read_weight(show_weight(g, unit))
    assert abs(shown - g) <= Decimal(half_of_last_place) + Decimal("0.05")


@given(
    amount=st.decimals(min_value="0.1", max_value="9999", places=2),
    unit=st.sampled_from(sorted(LENGTH_UNITS)),
)
def test_lengths_convert_as_the_referee_does(amount: Decimal, unit: str) -> None:
    exact = REFEREE.Quantity(Fraction(amount), {"in": "inch"}.get(unit, unit)).to("mm").magnitude
    assert abs(Fraction(read_length(f"{amount} {unit}")) - exact) <= Fraction(1, 2000)


@given(
    amount=st.decimals(min_value="0.1", max_value="9999", places=2),
    unit=st.sampled_from(sorted(WEIGHT_UNITS)),
)
def test_weights_convert_as_the_referee_does(amount: Decimal, unit: str) -> None:
    exact = REFEREE.Quantity(Fraction(amount), unit).to("g").magnitude
    assert abs(Fraction(read_weight(f"{amount} {unit}")) - exact) <= Fraction(1, 20)


def test_sixteen_ounces_are_a_pound() -> None:
    assert G_PER_OUNCE * 16 == G_PER_POUND


def test_a_hair_of_an_inch_is_not_shown_as_zero() -> None:
    assert show_length(Decimal("0.4"), "in") == "0.016 in"


def test_less_than_the_last_place_shown_is_not_shown_as_zero() -> None:
    assert show_length(Decimal("0.04")) == "0.04 mm"


@given(text=st.text(max_size=80))
def test_any_text_is_a_length_or_a_unit_error(text: str) -> None:
    try:
        value = read_length(text, "mm")
    except UnitError:
        return
    assert value > 0


def test_a_number_of_more_digits_than_any_float_has_is_no_size() -> None:
    """A workbook may hold it: 10 to the 400th is beyond IEEE 754 double."""
    with pytest.raises(UnitError, match="far too large"):
        read_length(10**400, "mm")


@pytest.mark.parametrize(
    ("text", "mark"),
    [("123.500 g", None), ("1234.500 g", "."), ("1234,500 g", ","), ("1.5000 g", "."),
     ("1.50", "."), ("0.500", "."), ("1.234.567", None), ("1.234,5", ",")],
)  # fmt: skip
def test_a_mark_before_three_digits_tells_only_where_no_thousands_can_be_meant(
    text: str, mark: str | None
) -> None:
    assert decimal_mark(text) == mark
