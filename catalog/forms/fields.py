"""Fields that read what people type: sizes with their units, times, yes, no and not known.

An empty field means "not known" and is stored as such, never as zero.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from catalog.models.fields import METHODS
from catalog.units import UNKNOWN_MARKS, UnitError, read_length, read_weight, show_length, tidy
from catalog.units import show_weight as show_weight_in

MOST_SIZE = Decimal(100_000)
"""mm or g: 100 m and 100 kg, far beyond any instrument or supply (our limit)."""
MOST_WHOLE, MOST_ROW = 10**9 - 1, 10**18 - 1
"""What any column of whole numbers, and what the number of a row can hold."""
NO_NUMBER = "“{text}” is no {what}. Type digits, such as 2."
OUT_OF_RANGE = "“{text}” is no {what} {range}."
NOT_KNOWN = "not known"


class FigureField(forms.Field):
    """A figure in ``unit``, which its label names; empty, or a mark for that, is not known."""

    unit = ""
    attrs: Mapping[str, str] = {}

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**{"required": False, **kwargs})
        self.widget.attrs.update({"placeholder": NOT_KNOWN, "class": "size", **self.attrs})
        if self.label and self.unit:
            self.label = f"{self.label}, {self.unit}"

    def to_python(self, value: Any) -> Decimal | None:
        text = str(value or "").strip()
        return None if not text or tidy(text).casefold() in UNKNOWN_MARKS else self.figure(text)

    def figure(self, text: str) -> Decimal:
        """What was typed; ValidationError when it is no such figure."""
        raise NotImplementedError

    def has_changed(self, initial: Any, data: Any) -> bool:
        try:
            return bool(self.to_python(data) != initial)
        except ValidationError:
            return True


class SizeField(FigureField):
    """A size as people type it. A bare number is in the unit that the label names."""

    attrs = {"autocomplete": "off"}

    def __init__(self, *, what: str = "", **kwargs: Any) -> None:
        self.what = what or "size"
        super().__init__(**kwargs)

    def figure(self, text: str) -> Decimal:
        try:
            size = self.read_size(text)
        except UnitError as error:
            raise ValidationError(error.message, code=error.code) from error
        if size > MOST_SIZE:
            raise ValidationError(f"“{text}” is far too large for a {self.what}.", code="large")
        return size

    def read_size(self, text: str) -> Decimal:
        raise NotImplementedError

    def prepare_value(self, value: Any) -> Any:
        return self.shown(value) if isinstance(value, Decimal | int | float) else value

    def shown(self, value: Any) -> str:
        raise NotImplementedError


class LengthField(SizeField):
    """A length in mm, typed in any unit: 125 mm, 12,5 cm, 6 1/2 in."""

    unit = "mm"

    def read_size(self, text: str) -> Decimal:
        return read_length(text, "mm", what=self.what)

    def shown(self, value: Any) -> str:
        """To 0.001 mm, so that what is saved again unchanged stays unchanged."""
        exact = f"{Decimal(value).normalize():f} mm"
        return exact if show_length(Decimal(value)) != exact else show_length(Decimal(value))


class WeightField(SizeField):
    """A weight in g, typed in any unit: 30 g, 0.03 kg, 2.8 oz."""

    unit = "g"

    def read_size(self, text: str) -> Decimal:
        return read_weight(text, "g")

    def shown(self, value: Any) -> str:
        return show_weight_in(Decimal(value))


class EdgeField(LengthField):
    """A length in mm that may be 0."""

    def to_python(self, value: Any) -> Decimal | None:
        if re.fullmatch(r"0+(?:[.,]0+)?\s*(?:mm|cm)?", str(value or "").strip()):
            return Decimal(0)
        return super().to_python(value)


class FoldDepthField(EdgeField):
    """The fold of a gusset in mm; 0 for a flat pouch, so it has to be said."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**{**kwargs, "required": True})
        self.widget.attrs["placeholder"] = "0 for a flat pouch"


class NumberField(FigureField):
    """A plain number from ``least`` to ``most`` with point or comma; empty is not known."""

    attrs = {"inputmode": "decimal"}

    def __init__(
        self, *, least: int = 0, most: int = 1440, places: int = 1, unit: str = "", **kwargs: Any
    ) -> None:
        self.least, self.most, self.places, self.unit = least, most, places, unit
        super().__init__(**kwargs)

    def figure(self, text: str) -> Decimal:
        found = re.fullmatch(
            rf"([0-9]{{1,6}}(?:[.,][0-9]{{1,4}})?) ?(?:{re.escape(self.unit)})?", text
        )
        if found is None:
            raise ValidationError(f"“{text}” is no number. Write it like 20.", code="not_a_number")
        number = Decimal(found[1].replace(",", "."))
        if not self.least <= number <= self.most:
            raise ValidationError(
                f"“{text}” is not between {self.least} and {self.most}.", code="out_of_range"
            )
        if -int(number.normalize().as_tuple().exponent) > self.places:
            raise ValidationError(
                f"“{text}” is finer than is kept: {self.places} places.", code="too_fine"
            )
        return number

    def prepare_value(self, value: Any) -> Any:
        return f"{value.normalize():f}" if isinstance(value, Decimal) else value


class WholeField(forms.Field):
    """A whole number in digits, from ``least`` to ``most``; what cannot be read is refused.

    ``what`` names it in the refusal, unless ``problem`` has words of its own. ``absent`` is
    meant where a page has no such field; an empty one is None if it is not required.
    """

    def __init__(
        self, what: str = "whole number", *, least: int = 0, most: int = MOST_WHOLE,
        absent: int | None = None, problem: str = "", **kwargs: Any,
    ) -> None:  # fmt: skip
        self.least, self.most, self.absent = least, most, absent
        self.what, self.problem = what, problem
        super().__init__(**kwargs)

    def to_python(self, value: Any) -> int | None:
        if value is None and self.absent is not None:
            return self.absent
        text = str("" if value is None else value).strip()
        if not text and not self.required:
            return None
        problem = self.problem or NO_NUMBER
        if not re.fullmatch("[0-9]{1,18}", text):
            words = problem.format(text=text, what=self.what)
            raise ValidationError(words, code="not_a_number")
        number = int(text)
        if not self.least <= number <= self.most:
            up = number < self.least and self.most == MOST_WHOLE
            range_ = f"from {self.least} " + ("up" if up else f"to {self.most}")
            words = (self.problem or OUT_OF_RANGE).format(text=text, what=self.what, range=range_)
            raise ValidationError(words, code="out_of_range")
        return number


def row_number(text: Any) -> int:
    """The number by which a page names a row; 0, which no row bears, where it is none."""
    try:
        return WholeField(most=MOST_ROW).clean(text) or 0
    except ValidationError:
        return 0


class WordsField(forms.CharField):
    """Words as typed, cut at ``longest``; none is the empty text."""

    def __init__(self, longest: int = 300, **kwargs: Any) -> None:
        self.longest = longest
        super().__init__(**{"required": False, **kwargs})

    def to_python(self, value: Any) -> str:
        return str(super().to_python(value))[: self.longest]


class DayField(forms.DateField):
    """A day, written as 2026-01-31."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**{"input_formats": ["%Y-%m-%d"], **kwargs})

    def to_python(self, value: Any) -> Any:
        try:
            return super().to_python(value)
        except ValidationError as error:
            words = f"“{value}” is no date. Write it as 2026-01-31."
            raise ValidationError(words, code="invalid") from error


class ClockField(forms.TimeField):
    """A time of day by the department's clock, written as 21:42; empty is not known."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**{"input_formats": ["%H:%M"], "required": False, **kwargs})

    def to_python(self, value: Any) -> Any:
        try:
            return super().to_python(value)
        except ValidationError as error:
            words = f"“{value}” is no time of day. Write it as 21:42."
            raise ValidationError(words, code="invalid") from error


def yes_no_field(label: str = "", **kwargs: Any) -> forms.TypedChoiceField:
    """Yes, no, or not known."""
    return forms.TypedChoiceField(
        label=label,
        choices=[("", NOT_KNOWN), ("yes", "yes"), ("no", "no")],
        coerce=lambda word: word == "yes",
        empty_value=None,
        **{"required": False, **kwargs},
    )


def yes_no_value(value: bool | None) -> str:
    """The choice that stands for a stored value."""
    return {True: "yes", False: "no", None: ""}[value]


class MethodsField(forms.MultipleChoiceField):
    """The methods on a label; none ticked is not known."""

    widget = forms.CheckboxSelectMultiple

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(choices=METHODS, required=False, **kwargs)
        self.help_text = "none ticked: not known"

    def clean(self, value: Any) -> list[str] | None:
        return list(super().clean(value)) or None
