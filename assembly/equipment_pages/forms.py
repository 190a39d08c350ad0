"""What the pages of equipment send."""

from __future__ import annotations

from typing import Any

from django import forms

from assembly.equipment.recording import COOLEST_C, HOTTEST_C
from assembly.models import Load
from assembly.presses import KnownField, Press
from catalog.forms.fields import NumberField, WordsField

RESULTS = {"passed": True, "failed": False, "": None}


class Recorded(Press):
    """A test that was done: its kind, its result, and what belongs to it."""

    called = {"result": "passed"}
    kind = WordsField()
    result = forms.ChoiceField(
        required=False,
        choices=[(word, word) for word in RESULTS if word],
        error_messages={"invalid_choice": "“%(value)s” is no result. Press Passed or Failed."},
    )
    lot = WordsField(60)
    incubator = WordsField(60)
    read_c = NumberField(unit="°C", least=int(COOLEST_C), most=int(HOTTEST_C))
    load = KnownField(Load.objects.all(), "pk", "Load {text} is not on record.", required=False)
    words = WordsField()

    def clean_result(self) -> Any:
        return RESULTS[self.cleaned_data["result"]]
