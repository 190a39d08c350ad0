"""The form of an instrument, with its cycles."""

from __future__ import annotations

from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from catalog.forms.base import CatalogForm, field_for
from catalog.forms.fields import NOT_KNOWN, NumberField
from catalog.models import CycleOption, Instrument, Protector
from catalog.models.fields import AIR_REMOVALS, KINDS, METHODS
from catalog.spreadsheets.cells.judging import why_implausible
from catalog.spreadsheets.cells.listed import NO_WORDS, NONE_WORDS
from catalog.spreadsheets.columns.instruments import INSTRUMENT_COLUMNS
from catalog.spreadsheets.cycles.permitted import options
from catalog.spreadsheets.cycles.reading import NAMES, UnreadableError, read_cycles
from catalog.vocabulary import ItemClass

SIZES = {column.name: column.key for column in INSTRUMENT_COLUMNS if column.unit}
NONE_NEEDED = "none needed"
MOST_CYCLES = 12
"""Cycles of one instrument (our limit)."""


FIELDSETS = (
    ("What it is", ("item_number", "name", "also_known_as", "group", "implant")),
    ("Size as it lies in a package", ("length_mm", "width_mm", "height_mm", "weight_g")),
    ("Tip and build", ("item_class", "form", "tip", "tip_across_mm", "tip_cover_mm",
                       "protector", "hinged", "width_open_mm", "ratchet", "hollow", "lumen_mm",
                       "lumen_length_mm", "lumen_material", "channels", "round_section",
                       "lies_only_as_given", "parts_apart")),
    ("Maker and instructions for use", ("maker", "maker_catalog_number", "ifu_reference",
                                        "ifu_revision", "ifu_review_on", "forbids")),
    ("In this department", ("spares_on_hand", "notes")),
)  # fmt: skip
"""The fields of the form under their headings."""


class NoneSaid:
    """The fields in which "none" is an answer, and what is left empty is not known."""

    cleaned_data: dict[str, Any]

    def clean_protector(self) -> str | None:
        word = self.cleaned_data["protector"]
        return "" if word == NONE_NEEDED else word or None

    def clean_parts_apart(self) -> str | None:
        words = self.cleaned_data["parts_apart"]
        return "" if words and words.casefold() in NO_WORDS | NONE_WORDS else words or None


class InstrumentForm(NoneSaid, CatalogForm):
    """Sizes as typed; what is left empty is not known."""

    key_name = "item_number"
    protector = forms.ChoiceField(label="Tip protector", required=False)
    forbids = forms.MultipleChoiceField(
        label="Its instructions forbid",
        choices=KINDS,
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )

    sure = forms.BooleanField(label="These sizes are right as typed", required=False)
    asks_sure = False
    """True when a size is so unusual that the page asks whether it is right."""

    class Meta:
        model = Instrument
        formfield_callback = field_for
        fields = [name for _, names in FIELDSETS for name in names]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["tip"].choices = [("", NOT_KNOWN), *Instrument.Tip.choices[:-1]]  # type: ignore[attr-defined]
        was = self.instance.protector
        names = set(Protector.objects.values_list("name", flat=True)) | ({was} if was else set())
        self.fields["protector"].choices = [  # type: ignore[attr-defined]
            ("", NOT_KNOWN), (NONE_NEEDED, NONE_NEEDED), *((name, name) for name in sorted(names))
        ]  # fmt: skip
        if self.instance.pk:
            self.initial["protector"] = NONE_NEEDED if was == "" else was or ""
            self.initial["parts_apart"] = (
                "none" if self.instance.parts_apart == "" else (self.instance.parts_apart)
            )
        self.fields["item_class"].required = False
        self.fields["notes"].widget.attrs["rows"] = 3

    def clean(self) -> dict[str, Any]:
        """An implausible new size is a question; ticked as right, it is taken."""
        cleaned = super().clean()
        sure = cleaned.pop("sure", False)
        for key in SIZES:
            value = cleaned.get(key)
            if value is None or value == self.initial.get(key):
                continue
            why = why_implausible(SIZES[key], value, None, str(cleaned.get("name") or ""))
            if why:
                self.asks_sure = True
                if not sure:
                    self.add_error(key, ValidationError(why, code="implausible"))
        return cleaned

    def clean_item_class(self) -> str:
        return self.cleaned_data["item_class"] or str(ItemClass.INSTRUMENTS)

    def clean_item_number(self) -> str:
        return self.clean_key("item number")

    def clean_forbids(self) -> list[str]:
        return list(self.cleaned_data["forbids"])


class CycleForm(forms.Form):
    """One cycle that the instructions allow; a row left empty is none.

    ``as_written`` is a line of the IFU, read as a cell of a list is, in place of the fields.
    """

    as_written = forms.CharField(
        label="As the IFU writes it", max_length=200, required=False,
        widget=forms.TextInput(attrs={"placeholder": "prevac 132-135 °C 4 min, dry 20"}),
    )  # fmt: skip
    method = forms.ChoiceField(choices=[("", "no cycle"), *METHODS], required=False, label="Method")
    temperature_c = NumberField(label="Temperature", unit="°C", least=20, most=300)
    temperature_to_c = NumberField(label="Temperature up to", unit="°C", least=20, most=300)
    air_removal = forms.ChoiceField(
        choices=[("", "not stated"), *AIR_REMOVALS], required=False,
        label="Air removal",
    )  # fmt: skip
    exposure_min = NumberField(label="Minimum exposure", unit="min")
    exposure_max = NumberField(label="Maximum exposure", unit="min")
    drying_min = NumberField(label="Minimum drying", unit="min")
    aeration_min = NumberField(label="Minimum aeration", unit="min")
    cycle_name = forms.CharField(label="Name of the cycle", max_length=40, required=False)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        line = cleaned.pop("as_written", "")
        if line:
            return {"read": self._read(line, cleaned)}
        others = [value for name, value in cleaned.items() if name != "method"]
        if any(other not in (None, "") for other in others) and not cleaned.get("method"):
            raise ValidationError("This cycle has no method. Choose one, or empty the row.")
        least, most = cleaned.get("exposure_min"), cleaned.get("exposure_max")
        if least is not None and most is not None and most < least:
            raise ValidationError("The maximum exposure is shorter than the minimum.")
        low, high = cleaned.get("temperature_c"), cleaned.get("temperature_to_c")
        if high is not None and (low is None or high < low):
            raise ValidationError("The temperatures must run from low to high.")
        return cleaned

    def _read(self, line: str, fields: dict[str, Any]) -> list[dict[str, Any]]:
        """The cycles of a line; ValidationError where it cannot be read, or a field is filled."""
        if any(value not in (None, "") for value in fields.values()):
            raise ValidationError("Write the cycle as the IFU does, or fill the fields: not both.")
        try:
            return [dict(option) for option in options((), read_cycles(line))]
        except UnreadableError as error:
            raise ValidationError(error.message, code=error.code) from None


class _Cycles(forms.BaseFormSet):
    title, word = "Cycles that its instructions allow", "cycle"
    note = "A row without a line or a method is no cycle."

    def values(self) -> list[dict[str, Any]]:
        """The cycles in their order; empty rows are left."""
        found: list[dict[str, Any]] = []
        for form in self.forms:
            data = form.cleaned_data
            found += data.get("read") or ([dict(data)] if data.get("method") else [])
        return found


CycleFormSet: Any = forms.formset_factory(
    CycleForm, formset=_Cycles, extra=2, max_num=MOST_CYCLES, absolute_max=MOST_CYCLES
)


def cycles_of(instrument: Instrument) -> list[dict[str, Any]]:
    """The stored cycles as the form set starts with them."""
    rows = CycleOption.objects.filter(instrument=instrument)
    return [{name: getattr(row, name) for name in NAMES} for row in rows]
