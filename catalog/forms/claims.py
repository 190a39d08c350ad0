"""The claims for lumens of a programme: a few rows under its form."""

from __future__ import annotations

from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from catalog.forms.fields import LengthField, WeightField, WholeField
from catalog.models import LumenClaim, Programme
from catalog.models.fields import LUMEN_MATERIALS

MOST_CLAIMS = 12
"""Claims of one programme (our limit)."""
MOST_CHANNELS, MOST_PIECES = 20, 500
NEEDED = {
    "channels": "how many channels at most",
    "bore_mm": "the least bore",
    "length_mm": "the greatest length",
}


class ClaimForm(forms.Form):
    """One row of the sterilizer maker's claims; a row without a material is none."""

    material = forms.ChoiceField(choices=[("", "no claim"), *LUMEN_MATERIALS], required=False,
                                 label="Wall of the lumen")  # fmt: skip
    channels = WholeField("number of channels", least=1, most=MOST_CHANNELS, required=False,
                          label="Channels, at most")  # fmt: skip
    bore_mm = LengthField(label="Least bore", what="length")
    length_mm = LengthField(label="Greatest length", what="length")
    most_in_tray = WholeField("number of pieces", least=1, most=MOST_PIECES, required=False,
                              label="Most in a tray")  # fmt: skip
    most_in_load = WholeField("number of pieces", least=1, most=MOST_PIECES, required=False,
                              label="Most in a load")  # fmt: skip
    load_g = WeightField(label="Greatest load", what="weight")

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        others = [cleaned.get(name) for name in self.fields if name != "material"]
        if any(other is not None for other in others) and not cleaned.get("material"):
            raise ValidationError("This claim names no wall. Choose one, or empty the row.")
        if cleaned.get("material") and not self.errors:
            absent = [words for name, words in NEEDED.items() if cleaned.get(name) is None]
            if absent:
                raise ValidationError(f"A claim is met only as a whole: say {', '.join(absent)}.")
        return cleaned


class _Claims(forms.BaseFormSet):
    title, word = "What the sterilizer's maker claims for lumens", "claim"
    note = (
        "Copy each row of its instructions as a whole. Without a claim on record, no lumen is "
        "passed in a low-temperature cycle."
    )

    def values(self) -> list[dict[str, Any]]:
        """The claims in their order; empty rows are left."""
        return [dict(form.cleaned_data) for form in self.forms if form.cleaned_data.get("material")]


ClaimFormSet: Any = forms.formset_factory(
    ClaimForm, formset=_Claims, extra=2, max_num=MOST_CLAIMS, absolute_max=MOST_CLAIMS
)


def claims_of(programme: Programme | None) -> list[dict[str, Any]]:
    """The stored claims as the form set starts with them."""
    rows = LumenClaim.objects.filter(programme=programme)
    return [{name: getattr(row, name) for name in ClaimForm.base_fields} for row in rows]
