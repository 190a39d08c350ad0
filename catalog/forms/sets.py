"""The form of a set, and the small ones of its count sheet."""

from __future__ import annotations

from typing import Any

from django import forms

from catalog.forms.base import CatalogForm, field_for
from catalog.models import InstrumentSet, Line
from catalog.spreadsheets.cells.counts import MAX_COUNT


class SetForm(CatalogForm):
    """What the set is, what it is packed in, how large the closed pack is, what its sheet shows."""

    class Meta:
        model = InstrumentSet
        formfield_callback = field_for
        fields = [
            "code", "name", "service", "packed_in", "container", "basket", "wrap",
            "pack_length_mm", "pack_width_mm", "pack_height_mm",
            "pouches_inside", "pouches_validated", "sheet_other_names", "sheet_notes",
            "sheet_substitutes", "sheet_weights", "sheet_maker_numbers",
        ]  # fmt: skip

    def clean_code(self) -> str:
        return self.clean_key("set code")

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        if cleaned.get("container") and cleaned.get("wrap"):
            self.add_error("wrap", "A set goes in a container or in a wrap, not in both.")
        return cleaned


class LineForm(forms.ModelForm):
    """What can be said of one line of a draft."""

    quantity = forms.IntegerField(
        min_value=1,
        max_value=MAX_COUNT,
        error_messages={
            "invalid": "Write a whole number.",
            "required": "Write how many belong in the set.",
            "min_value": "Write 1 or more, or remove the line.",
            "max_value": f"More than {MAX_COUNT} of one kind is a slip of the finger.",
        },
    )

    class Meta:
        model = Line
        fields = ["quantity", "section", "may_go_without", "note"]


class ReasonForm(forms.Form):
    """Why something is retired, brought back or discarded."""

    reason = forms.CharField(
        label="Why",
        max_length=300,
        widget=forms.Textarea(attrs={"rows": 3}),
        error_messages={"required": "Say why, in a few words: it goes on record."},
    )
