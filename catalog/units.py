"""Lengths and weights: what people type, what is stored, what people read.

Stored: lengths in mm to 0.001 mm, weights in g to 0.1 g, as ``Decimal``, a half going to
the even digit. Reading is strict: one number with one unit, or an error that says what is
wrong. Nothing unclear is guessed, because a wrong unit makes a wrong package.

Source of the factors: the international yard and pound agreement of 1959, exact by
definition: 1 yard = 0.9144 m and 1 pound = 0.45359237 kg, hence 1 in = 25.4 mm and
1 oz = 1/16 lb = 28.349523125 g.
"""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Mapping
from decimal import ROUND_HALF_EVEN, Decimal
from fractions import Fraction
from pathlib import Path

from catalog.data_files import read_words

MM_PER_INCH = Decimal("25.4")
G_PER_POUND = Decimal("453.59237")
G_PER_OUNCE = Decimal("28.349523125")

LENGTH_STEP = Decimal("0.001")
"""Lengths are stored to this many mm."""
WEIGHT_STEP = Decimal("0.1")
"""Weights are stored to this many g."""
LARGEST = Decimal("1e9")
"""In mm or g. Beyond it the text is no size at all (our limit)."""
LONGEST_TEXT = 60
"""Characters. A size is short; a longer text is a note (our limit)."""
INCH_PARTS = 16
"""Inches are shown to the nearest sixteenth, as rulers for instruments are divided."""
FRACTION_PARTS = frozenset({2, 4, 8, 16, 32, 64})
"""Denominators of an inch rule. Any other, as in 2/3, may be two sizes (common practice)."""

LENGTH_UNITS: Mapping[str, Decimal] = {
    "mm": Decimal(1),
    "cm": Decimal(10),
    "in": MM_PER_INCH,
    "m": Decimal(1000),
}
"""mm in one of each unit of length."""
WEIGHT_UNITS: Mapping[str, Decimal] = {
    "g": Decimal(1),
    "kg": Decimal(1000),
    "oz": G_PER_OUNCE,
    "lb": G_PER_POUND,
}
"""g in one of each unit of weight."""

_WORDS = read_words(Path(__file__).with_name("units.toml"))
UNIT_WORDS: Mapping[str, str] = _WORDS["units"]
"""Every accepted spelling of a unit, folded, to the unit."""
UNKNOWN_MARKS = frozenset(_WORDS["marks"])
"""What people type to say that they do not know."""


class UnitError(ValueError):
    """A text that is no clear size. ``code`` is for programs, ``message`` for people."""

    def __init__(self, code: str, message: str) -> None:
        super().__init__(message)
        self.code = code
        self.message = message


def read_length(
    text: object,
    default_unit: str | None = None,
    *,
    what: str = "length",
    mark: str | None = None,
) -> Decimal:
    """``text`` as mm. A bare number takes ``default_unit``, and is an error without one.

    ``what`` names the size in messages: length, width or height. ``mark`` is the one before
    decimals where a list shows it: then the other one divides thousands.

    >>> read_length('6 11/16"'), read_length("12,5cm"), read_length("½ in")
    (Decimal('169.862'), Decimal('125.000'), Decimal('12.700'))
    >>> read_length(125, "mm")
    Decimal('125.000')
    >>> read_length("14-16 cm")
    Traceback (most recent call last):
    catalog.units.UnitError: “14-16 cm” is a range. Write one length.
    """
    return _read(text, default_unit, LENGTH_UNITS, what, LENGTH_STEP, mark)


def read_weight(
    text: object, default_unit: str | None = None, *, mark: str | None = None
) -> Decimal:
    """``text`` as g. A bare number takes ``default_unit``, and is an error without one.

    >>> read_weight("2.8 oz"), read_weight("0.024 kg"), read_weight("0.172 lb")
    (Decimal('79.4'), Decimal('24.0'), Decimal('78.0'))
    >>> read_weight("tbc")
    Traceback (most recent call last):
    catalog.units.UnitError: “tbc” says that the weight is not known.
    """
    return _read(text, default_unit, WEIGHT_UNITS, "weight", WEIGHT_STEP, mark)


def show_length(mm: Decimal | None, unit: str = "mm") -> str:
    """A length for people: mm to 0.1, cm to 0.01, inches to the nearest sixteenth.

    Less than 1/32 in is shown as a decimal of an inch, so that it never reads as zero.
    No thousands marks, so that :func:`read_length` reads it again.

    >>> show_length(Decimal("169.862"), "in"), show_length(Decimal("125"), "cm")
    ('6 11/16 in', '12.5 cm')
    >>> show_length(None)
    'not known'
    """
    if mm is None:
        return "not known"
    amount = mm / LENGTH_UNITS[unit]
    if unit == "in":
        return f"{_sixteenths(amount)} in"
    return f"{_decimal(amount, {'mm': 1, 'cm': 2, 'm': 4}[unit])} {unit}"


def show_weight(g: Decimal | None, unit: str = "g") -> str:
    """A weight for people: g to 0.1, kg to 0.001, oz to 0.01, lb to 0.001.

    >>> show_weight(Decimal("79.4"), "oz"), show_weight(Decimal("24"), "kg"), show_weight(None)
    ('2.8 oz', '0.024 kg', 'not known')
    """
    if g is None:
        return "not known"
    places = {"g": 1, "kg": 3, "oz": 2, "lb": 3}[unit]
    return f"{_decimal(g / WEIGHT_UNITS[unit], places)} {unit}"


def unit_of_word(word: str) -> str | None:
    """The unit a single word stands for, None when it is no unit.

    >>> unit_of_word("Zoll"), unit_of_word("cm."), unit_of_word("Fr")
    ('in', 'cm', None)
    """
    return UNIT_WORDS.get(_folded(word).rstrip("."))


def tidy(text: str) -> str:
    """``text`` with one kind of quote, dash, slash, digit and space; fractions as 1/2.

    >>> tidy(" 6½” "), tidy("14 – 16\\xa0cm")
    ('6 1/2 "', '14 - 16 cm')
    """
    if text.isascii():  # Nothing below but the two apostrophes would change it.
        return " ".join(text.replace("''", '"').split())
    spelled = "".join(_spelled_fraction(mark) for mark in text)
    for mark in "“”„‟″‶〃":
        spelled = spelled.replace(mark, '"')
    spelled = unicodedata.normalize("NFKC", spelled)
    for mark in "‘’‛′‵":
        spelled = spelled.replace(mark, "'")
    spelled = re.sub("[‐‑‒–—―−]", "-", spelled.replace("''", '"').replace("\u2044", "/"))
    return " ".join(spelled.split())


def _spelled_fraction(mark: str) -> str:
    parts = unicodedata.normalize("NFKC", mark).split("\u2044")
    return f" {parts[0]}/{parts[1]} " if len(parts) == 2 and all(parts) else mark


_STROKES = str.maketrans("łŁøØđĐ", "lLoOdD")
"""Letters whose stroke is no accent to Unicode."""


def without_accents(text: str) -> str:
    """``text`` with its accents off."""
    letters = unicodedata.normalize("NFD", text.translate(_STROKES))
    return "".join(mark for mark in letters if not unicodedata.combining(mark))


def _folded(text: str) -> str:
    return without_accents(tidy(text).casefold())


_DECIMAL = r"[0-9]+(?:[.,][0-9]+)*|[.,][0-9]+"
_NUMBER = rf"(?:[0-9]+(?: ?- ?| )[0-9]+/[0-9]+|[0-9]+/[0-9]+|{_DECIMAL})"
_WORD = r'(?:"|\'|[^\W\d_]+\.?)'
_NUMBER_FIRST = re.compile(rf"(?P<sign>- ?)?(?P<number>{_NUMBER}) ?-?(?P<unit>{_WORD})?")
_UNIT_FIRST = re.compile(rf"(?P<unit>{_WORD}) ?(?P<sign>- ?)?(?P<number>{_NUMBER})")
_RANGE = re.compile(
    rf"{_NUMBER} ?{_WORD}? ?(?:-|~|\.\.+|to|bis|up to|a|à|hasta) ?{_NUMBER} ?{_WORD}?"
)
_MIXED = re.compile(r"([0-9]+)(?: ?- ?| )([0-9]+)/([0-9]+)")
_SPACED_THOUSANDS = re.compile(rf"[0-9]{{1,3}}(?: [0-9]{{3}})+ ?{_WORD}?")


def _read(
    text: object,
    default: str | None,
    units: Mapping[str, Decimal],
    what: str,
    step: Decimal,
    mark: str | None,
) -> Decimal:
    if isinstance(text, bool) or not isinstance(text, str | int | float | Decimal | None):
        raise UnitError("not_a_size", f'"{text}" is no {what}. Write a number and its unit.')
    if text is None or not str(text).strip():
        raise UnitError("empty", f"The {what} is empty.")
    typed = str(text).strip()
    if isinstance(text, str):
        amount, unit = _amount_and_unit(typed, units, what, mark)
    else:
        amount, unit = _plain_number(text, typed, what), None
    if amount < 0:
        raise UnitError("negative", f"“{typed}” is below zero. A {what} is more than zero.")
    if amount == 0:
        raise UnitError("zero", f"“{typed}” is zero. Leave it empty if the {what} is not known.")
    unit = unit or default
    if unit is None:
        raise UnitError("no_unit", f"“{typed}” has no unit. Write {' or '.join(units)} after it.")
    factor = Fraction(units[unit])
    if amount * factor > LARGEST:
        raise UnitError("not_a_size", f"“{typed}” is far too large for a {what}.")
    return _stored(amount * factor, step, typed, what)


def _stored(amount: Fraction, step: Decimal, typed: str, what: str) -> Decimal:
    steps = round(amount / Fraction(step))  # Fraction rounds a half to the even digit.
    if steps == 0:
        raise UnitError("zero", f"“{typed}” is less than can be stored ({step}).")
    return Decimal(steps) * step


def _plain_number(number: int | float | Decimal, typed: str, what: str) -> Fraction:
    if isinstance(number, int) and abs(number) > LARGEST:
        raise UnitError("not_a_size", f"“{typed[:LONGEST_TEXT]}” is far too large for a {what}.")
    if not math.isfinite(number):
        raise UnitError("not_a_size", f"“{typed}” is no {what}. Write a number and its unit.")
    # The shortest decimal of a float is what the person typed: 0.1, not 0.1000000000000000055.
    exact = Decimal(str(number))
    if abs(exact) > LARGEST:
        raise UnitError("not_a_size", f"“{typed}” is far too large for a {what}.")
    return Fraction(exact) if abs(exact) * LARGEST > 1 else Fraction(0)


def _amount_and_unit(
    typed: str, units: Mapping[str, Decimal], what: str, mark: str | None
) -> tuple[Fraction, str | None]:
    if len(typed) > LONGEST_TEXT:
        start = typed[:LONGEST_TEXT]
        raise UnitError("not_a_size", f"This is a text, not a {what}: {start}...")
    text = _folded(typed)
    if text in UNKNOWN_MARKS:
        raise UnitError("unknown_mark", f"“{typed}” says that the {what} is not known.")
    if not re.search("[0-9]", text):
        raise UnitError("no_number", f"“{typed}” has no number. Write the {what} and its unit.")
    found = _NUMBER_FIRST.fullmatch(text) or _UNIT_FIRST.fullmatch(text)
    if found is None:
        raise _why_not(typed, text, what)
    amount = _amount(found["number"], typed, mark)
    unit = None
    if found["unit"]:
        unit = UNIT_WORDS.get(found["unit"].rstrip("."))
        if unit not in units:
            known = ", ".join(units)
            raise UnitError(
                "unknown_unit",
                f"“{typed}”: “{found['unit']}” is no unit of {what} here. Use one of {known}.",
            )
    _refuse_two_sizes_as_fraction(found["number"], unit, typed)
    return (-amount if found["sign"] else amount), unit


def _why_not(typed: str, text: str, what: str) -> UnitError:
    """The error for a text with a number in it that is not one number and one unit."""
    if _RANGE.fullmatch(text):
        return UnitError("range", f"“{typed}” is a range. Write one {what}.")
    if _SPACED_THOUSANDS.fullmatch(text):
        return UnitError("ambiguous", f"“{typed}” may be one number or two. Write it without gap.")
    named = [word for word in re.findall(_WORD, text) if word.rstrip(".") in UNIT_WORDS]
    if len(named) > 1:
        return UnitError("two_units", f"“{typed}” names more than one unit. Write one {what}.")
    return UnitError(
        "not_a_size",
        f'“{typed}” is not one number with one unit. Write it like "125 mm" or "30 g".',
    )


def _amount(number: str, typed: str, mark: str | None) -> Fraction:
    mixed = _MIXED.fullmatch(number)
    if mixed:
        whole, above, below = (int(part) for part in mixed.groups())
        return whole + _fraction(above, below, typed)
    if "/" in number:
        above, below = (int(part) for part in number.split("/"))
        return _fraction(above, below, typed)
    return _decimal_number(number, typed, mark)


def _fraction(above: int, below: int, typed: str) -> Fraction:
    if below not in FRACTION_PARTS or above >= below:
        raise UnitError(
            "ambiguous",
            f"“{typed}”: {above}/{below} may be a fraction or two numbers. "
            "Write a fraction like 5 1/2, with a space.",
        )
    return Fraction(above, below)


def _refuse_two_sizes_as_fraction(number: str, unit: str | None, typed: str) -> None:
    """``14/16 cm`` is more likely two sizes than seven eighths of a centimetre."""
    if "/" not in number or unit == "in" or _MIXED.fullmatch(number):
        return
    above, below = (int(part) for part in number.split("/"))
    if math.gcd(above, below) > 1:
        raise UnitError(
            "ambiguous", f"“{typed}” may be a fraction or two sizes. Write a decimal number."
        )


def decimal_mark(text: str) -> str | None:
    """The mark before the decimals of the number in ``text``; None when it does not show.

    >>> decimal_mark("240,5 g"), decimal_mark("1.650,5"), decimal_mark("1.200"), decimal_mark("12")
    (',', ',', None, None)
    """
    found = re.search(_DECIMAL, text)
    marks = re.findall("[.,]", found[0]) if found else []
    if not found or not marks:
        return None
    if len(marks) > 1:
        return marks[-1] if marks[-1] != marks[0] else None
    whole, _, rest = found[0].partition(marks[0])
    return None if _in_threes(whole, rest) else str(marks[0])


def _in_threes(whole: str, rest: str) -> bool:
    return len(rest) == 3 and 1 <= len(whole) <= 3 and not whole.startswith("0")


def _decimal_number(number: str, typed: str, mark: str | None) -> Fraction:
    marks = re.findall("[.,]", number)
    if len(marks) > 1:
        return _grouped_number(number, marks, typed)
    whole, here, rest = number.partition(marks[0] if marks else ",")
    if mark in (".", ",") and here != mark and _in_threes(whole, rest):
        return Fraction(whole + rest)
    if here == "," and mark != "," and _in_threes(whole, rest):
        raise UnitError(
            "ambiguous",
            f"“{typed}” may be {whole}{rest} or {whole}.{rest}. "
            "Write it without a comma, or with a point.",
        )
    return Fraction(number.replace(",", "."))


def _grouped_number(number: str, marks: list[str], typed: str) -> Fraction:
    """A number with thousands marks: 1,234,567 or 1,200.5 or 1.200,5."""
    group, last = marks[0], marks[-1]
    whole, rest = (number, "") if group == last else number.rsplit(last, 1)
    if group in rest or not re.fullmatch(
        rf"[1-9][0-9]{{0,2}}(?:{re.escape(group)}[0-9]{{3}})+", whole
    ):
        raise UnitError("ambiguous", f"“{typed}” has too many points or commas. Write one number.")
    return Fraction(f"{whole.replace(group, '')}.{rest or 0}")


def _decimal(amount: Decimal, places: int) -> str:
    """``amount`` to ``places``, trimmed; more places where it would otherwise read as zero."""
    step = Decimal(1).scaleb(-places)
    rounded = amount.quantize(step, rounding=ROUND_HALF_EVEN)
    if rounded == 0 and amount != 0:
        return f"{amount:.2g}" if amount >= Decimal("0.0001") else f"{amount:.7f}"
    text = f"{rounded:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def _sixteenths(inches: Decimal) -> str:
    parts = round(Fraction(inches) * INCH_PARTS)
    if parts == 0:
        return _decimal(inches, 3)
    whole, rest = divmod(parts, INCH_PARTS)
    if not rest:
        return str(whole)
    fraction = f"{Fraction(rest, INCH_PARTS)}"
    return f"{whole} {fraction}" if whole else fraction
