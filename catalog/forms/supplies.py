"""One form for each kind of supply, made from its columns."""

from __future__ import annotations

from typing import Any

from django import forms

from catalog.forms.base import CatalogForm, field_for
from catalog.models import (
    Basket,
    Programme,
    Protector,
    Sealer,
    Sterilizer,
)
from catalog.models.supplies import PACKAGING, AnySupply

KINDS: dict[str, type[AnySupply]] = {
    **{str(kind): rows for kind, rows in PACKAGING.items()},
    "basket": Basket,
    "protector": Protector,
    "programme": Programme,
    "sterilizer": Sterilizer,
    "sealer": Sealer,
}
"""The word in an address to the kind of supply."""


def name_of(kind: str) -> str:
    """What people call it; the records keep the word they began with."""
    return "cycle" if kind == "programme" else kind


class SupplyForm(CatalogForm):
    """A supply, a programme, a sterilizer or a sealer."""

    def clean_code(self) -> str:
        return self.clean_key("code")

    def clean_layers(self) -> int | None:
        layers: int | None = self.cleaned_data["layers"]
        if layers not in (None, 1, 2):
            raise forms.ValidationError("A wrap has one or two layers. Leave it empty if unknown.")
        return layers


def form_for(kind: str) -> Any:
    """The form class of a kind of supply; KeyError for a word that is none."""
    model = KINDS[kind]
    names = [
        column.name
        for column in (*model._meta.fields, *model._meta.many_to_many)
        if column.name != "id"
    ]
    return forms.modelform_factory(
        model, form=SupplyForm, fields=names, formfield_callback=field_for
    )
