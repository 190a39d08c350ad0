"""What the pages of a load send."""

from __future__ import annotations

from typing import Any, cast

from django.http import QueryDict

from assembly.bench.forms import answers_from
from assembly.ledger import Refused
from assembly.presses import KnownField, Press, Reasoned
from catalog.forms.fields import WholeField, WordsField
from catalog.models import Programme, Sterilizer

MOST_CYCLE = 9_999_999


class Begun(Press):
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


class Released(HeldBack):
    """The answers to the checks, and no reason against it."""

    def clean(self) -> dict[str, Any]:
        if self.cleaned_data.pop("reason"):
            raise Refused("Not released: a reason against it is written. Press Not released, or "
                          "clear the reason.")  # fmt: skip
        return super().clean()
