"""What all forms of the catalog share: our fields for its columns, and a look at what changed
meanwhile."""

from __future__ import annotations

import hashlib
import json
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.db import models
from django.http import QueryDict

from catalog.actions.recording import plain
from catalog.forms.fields import (
    FoldDepthField,
    LengthField,
    MethodsField,
    NumberField,
    WeightField,
    yes_no_field,
    yes_no_value,
)


def field_for(column: models.Field, **kwargs: Any) -> forms.Field | None:
    """The form field for a column: by what it measures, which its name says."""
    label, name = label_of(column), column.name
    if name == "gusset_mm":
        return FoldDepthField(label=label, what="fold")
    if name.endswith("_mm"):
        return LengthField(label=label, what="length")
    if name.endswith("_g"):
        return WeightField(label=label, what="weight")
    if name.endswith("_c"):
        return NumberField(label=label, unit="°C", most=300)
    if name.startswith(("exposure_", "drying_")):
        return NumberField(label=label, unit="min")
    if name == "cost":
        one = "a meter" if column.model._meta.model_name == "roll" else "one"
        return NumberField(label=f"Cost of {one}", most=9999, places=4)
    if name == "labelled_methods":
        return MethodsField(label=label)
    if isinstance(column, models.BooleanField) and column.null:
        return yes_no_field(label)
    if isinstance(column, models.ManyToManyField):
        kwargs["widget"] = forms.CheckboxSelectMultiple
    if isinstance(column, models.DateField):
        kwargs["widget"] = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    made = column.formfield(**kwargs)
    if isinstance(made, forms.ModelChoiceField) and not isinstance(
        made, forms.ModelMultipleChoiceField
    ):
        made.empty_label = "none on record"
    elif isinstance(made, forms.TypedChoiceField) and column.blank:
        made.choices = [("", "not known"), *column.choices]  # type: ignore[misc]
    return made


def label_of(column: models.Field) -> str:
    """The column's name, as a label begins."""
    words = str(column.verbose_name)
    return words[:1].upper() + words[1:]


class CatalogForm(forms.ModelForm):
    """A form that knows what its row was when the page was opened.

    When somebody else saved in between, it says so once and keeps everything typed; sent
    again, it saves.
    """

    seen = forms.CharField(required=False, widget=forms.HiddenInput)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name, field in self.fields.items():
            if isinstance(field, forms.TypedChoiceField) and name in self.initial:
                value = self.initial[name]
                if value is None or isinstance(value, bool):
                    self.initial[name] = yes_no_value(value)
        self.digest = self._digest()
        self.initial["seen"] = self.digest
        if self.instance.pk and self.key_name in self.fields:
            self.fields[self.key_name].disabled = True
            self.fields[self.key_name].help_text = "It stays: labels and records bear it."

    key_name = "code"

    def _digest(self) -> str:
        if not self.instance.pk:
            return ""
        row = {
            column.name: plain(getattr(self.instance, column.name))
            for column in self.instance._meta.concrete_fields
        }
        text = json.dumps(row, sort_keys=True, default=str)
        return hashlib.sha256(text.encode()).hexdigest()[:16]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        seen = cleaned.pop("seen", "")
        if self.digest and seen and seen != self.digest:
            data = QueryDict(mutable=True)
            data.update(self.data)
            data[self.add_prefix("seen")] = self.digest
            self.data = data
            raise ValidationError(
                "Somebody else saved this while you were typing. Your entries are kept below. "
                "Look at History further down, then save again to put yours in.",
                code="changed_meanwhile",
            )
        return cleaned

    def clean_key(self, what: str) -> str:
        """A number that is free, without regard to case and to spaces at its ends."""
        key = " ".join(str(self.cleaned_data[self.key_name]).split())
        if self.instance.pk:
            return str(getattr(self.instance, self.key_name))
        if "/" in key or "\\" in key:
            raise ValidationError(f"A {what} cannot have a slash in it. Write - instead.")
        rows = self._meta.model._default_manager.filter(**{f"{self.key_name}__folded": key})
        if found := rows.first():
            raise ValidationError(f"There is one with this number already: {found}.")
        return key

    def values(self) -> dict[str, Any]:
        """What the form says, by column; the key only for a new row."""
        left = {"seen"} | ({self.key_name} if self.instance.pk else set())
        return {name: value for name, value in self.cleaned_data.items() if name not in left}
