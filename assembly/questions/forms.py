"""What the pages send: the values of a proposal, a question, an answer."""

from __future__ import annotations

from typing import Any

from django import forms
from django.http import QueryDict

from assembly.models import Build
from assembly.presses import KnownField, Press
from assembly.questions.proposing import says, unknown
from catalog.forms.fields import WordsField
from catalog.forms.instruments import SIZES, InstrumentForm, NoneSaid
from catalog.models import Instrument, InstrumentSet
from catalog.spreadsheets.cells.judging import why_implausible

UNKNOWN = "“{text}” is not on record. Load the page again."
OWN = ("key", "measured_by", "how")


class ProposalForm(NoneSaid, forms.Form):
    """The fields of an instrument's form on which its record says nothing: sizes as typed."""

    key = WordsField(widget=forms.HiddenInput)
    measured_by = WordsField(150, label="Measured by")
    how = WordsField(200, label="How it was measured")

    def __init__(self, instrument: Instrument, data: QueryDict | None = None, by: str = "") -> None:
        super().__init__(data, auto_id="propose_%s", initial={"measured_by": by})
        every = InstrumentForm(instance=instrument).fields
        self.instrument = instrument
        for name in unknown(instrument):
            self.fields[name] = every[name]
        self.order_fields([*unknown(instrument), *OWN])

    @property
    def values(self) -> dict[str, Any]:
        """What was measured, by column; what was left empty is not proposed."""
        measured = self.cleaned_data.items()
        return {name: value for name, value in measured if name not in OWN and says(name, value)}

    @property
    def doubts(self) -> list[str]:
        """What is unusual about a size: a question to who typed it, not a refusal."""
        name = self.instrument.name
        asked = (why_implausible(SIZES[key], value, None, name)
                 for key, value in self.values.items() if key in SIZES)  # fmt: skip
        return [why for why in asked if why]


class Asked(Press):
    """A question: about one thing, named by its number."""

    instrument = KnownField(Instrument.objects.all(), "item_number", UNKNOWN, required=False)
    instrument_set = KnownField(InstrumentSet.objects.all(), "code", UNKNOWN, required=False)
    build = KnownField(Build.objects.all(), "pk", UNKNOWN, required=False)
    finding = WordsField(400)
    words = WordsField()


class Answered(Press):
    """The answer to a question."""

    words = WordsField()


class Compared(Press):
    """The revision of the IFU that a record was compared with, where it is another one."""

    revision = WordsField(20)
