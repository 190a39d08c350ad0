"""What the pages of what is away send, and what every page sends of a damaged piece."""

from __future__ import annotations

from typing import Any

from django import forms

from assembly.models import Package
from assembly.presses import KnownField, Press, Sent
from catalog.forms.fields import DayField, WordsField
from catalog.models import Instrument, InstrumentSet

NO_SUCH = "“{text}” is not on record. Load the page again."


class Damaged(Press):
    """A piece that is damaged, from any page: which, what is wrong, and where it was found."""

    called = {"item": "instrument", "of": "instrument_set"}
    item = KnownField(
        Instrument.objects.all(), "item_number", "Choose the instrument that is damaged.",
        error_messages={"required": "Choose the instrument that is damaged."},
    )  # fmt: skip
    of = KnownField(InstrumentSet.objects.all(), "code", NO_SUCH, required=False)
    package = KnownField(
        Package.objects.select_related("build__instrument_set"), "code", NO_SUCH, required=False
    )
    reason = WordsField()
    other = WordsField()
    from_spares = forms.BooleanField(required=False)

    def clean(self) -> dict[str, Any]:
        other = self.cleaned_data.pop("other", "")
        return {**self.cleaned_data, "reason": other or self.cleaned_data.get("reason", "")}


Out = Sent.plus(to=WordsField(120), expected_on=DayField(required=False))
Ended = Sent.plus(
    because=WordsField(),
    to_spares=forms.BooleanField(required=False),
    sharp=forms.BooleanField(required=False),
)


class Sharpened(Press):
    """What was sharpened, of which set, and when: today where no day is written."""

    called = {"item": "instrument", "of": "instrument_set"}
    item = KnownField(Instrument.objects.all(), "item_number", NO_SUCH)
    of = KnownField(InstrumentSet.objects.all(), "code", NO_SUCH, required=False)
    done_on = DayField(required=False)
    done_by = WordsField(120)
