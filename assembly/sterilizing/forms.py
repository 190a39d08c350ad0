"""What the pages of a load send."""

from __future__ import annotations

from decimal import Decimal
from typing import Any, cast

from django.http import QueryDict

from assembly.bench.forms import answers_from
from assembly.ledger import Refused
from assembly.presses import KnownField, Press, Reasoned, Sent
from catalog.forms.fields import ClockField, NumberField, WholeField, WordsField
from catalog.models import Programme, Sterilizer

MOST_CYCLE = 9_999_999


class Numbered(Press):
    """The numbers that the sterilizer shows; what a page does not ask stays as it is."""

    cycle = WholeField(
        "cycle number",
        most=MOST_CYCLE,
        required=False,
        problem="“{text}” is no cycle number. Write it as the sterilizer shows it.",
    )
    number = WholeField(
        "load number",
        most=MOST_CYCLE,
        required=False,
        problem="“{text}” is no load number. Write it as the sterilizer shows it, or leave it out.",
    )


class Begun(Numbered):
    """Which sterilizer, programme and cycle a load goes into."""

    sterilizer = KnownField(Sterilizer.objects.all(), "code", "“{text}” is no sterilizer here.")
    programme = KnownField(Programme.objects.all(), "code", "“{text}” is no cycle here.")
    cycle = WholeField(
        "cycle number",
        most=MOST_CYCLE,
        problem="“{text}” is no cycle number. Write it as the sterilizer shows it.",
    )


class HeldBack(Reasoned):
    """The answers to the checks, and the reason why it is not released."""

    biological = WordsField()

    def clean(self) -> dict[str, Any]:
        return {**self.cleaned_data, "answers": answers_from(cast(QueryDict, self.data))}


class Record(Sent):
    """What was typed from the sterilizer's own record; empty was not typed."""

    started = ClockField()
    ended = ClockField()
    least_c = NumberField(least=1, most=300, unit="°C")
    greatest_c = NumberField(least=1, most=300, unit="°C")
    exposure_min = NumberField(places=2, unit="min")
    drying_min = NumberField(places=2, unit="min")
    why = WordsField()


class Released(HeldBack):
    """The answers to the checks, what was typed from the record, and no reason against it."""

    def clean(self) -> dict[str, Any]:
        if self.cleaned_data.pop("reason"):
            raise Refused("Not released: a reason against it is written. Press Not released, or "
                          "clear the reason.")  # fmt: skip
        typed = Record.read(cast(QueryDict, self.data))
        record = {name: float(value) if isinstance(value, Decimal) else value
                  for name, value in typed.items()}  # fmt: skip
        return {**super().clean(), "record": record}
