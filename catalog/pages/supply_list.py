"""The page of all supplies: a table for each kind, its columns declared once."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from django import forms
from django.conf import settings
from django.db.models import QuerySet
from django.http import HttpRequest
from django.http.response import HttpResponseBase
from django.shortcuts import render
from django.template.defaultfilters import floatformat
from django.utils.http import urlencode

from catalog.forms.supplies import name_of
from catalog.lookup.words.reading import read_asked
from catalog.models import (
    Basket,
    Container,
    Pouch,
    Programme,
    Protector,
    Roll,
    Sealer,
    Sterilizer,
    Wrap,
)
from catalog.pages.exports import FORMATS, download, from_rows
from catalog.pages.filters import SEARCH_BOX
from catalog.reading import read_page
from catalog.templatetags.parts import amount

Cell = Callable[[Any], Any]


def _figure(name: str) -> Cell:
    return lambda row: floatformat(getattr(row, name), "-1")


def _with_unit(name: str, unit: str) -> Cell:
    return lambda row: amount(getattr(row, name), unit)


def _choice(name: str) -> Cell:
    return lambda row: getattr(row, f"get_{name}_display")()


def _size(*names: str) -> Cell:
    return lambda row: " × ".join(floatformat(getattr(row, name), "-1") or "?" for name in names)


def _others(name: str, none: str = "") -> Cell:
    return lambda row: ", ".join(str(each) for each in getattr(row, name).all()) or none


MATERIAL = ("Material", _choice("material"))
RATED = ("#Rated", _with_unit("rated_g", "g"))
INNER_BOX = ("#Inner size", _size("inner_length_mm", "inner_width_mm", "inner_height_mm"))
TARE = ("#Tare", _with_unit("tare_g", "g"))
VENTED = {True: "yes", False: "no", None: "not known"}


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of supply: its rows and, after code and name, its columns (``#``: figures)."""

    word: str
    title: str
    rows: QuerySet[Any]
    columns: tuple[tuple[str, Cell], ...]
    none: str = "None on record."

    @property
    def name(self) -> str:
        return name_of(self.word)

    @property
    def headings(self) -> list[str]:
        return ["Code", "Name", *(heading for heading, _ in self.columns)]

    def lines(self, words: str) -> list[tuple[Any, list[tuple[bool, Any]]]]:
        """Each row that says all ``words``, in any column or the name of its kind, with its
        cells: whether it is a figure, and what it shows."""
        rows = [
            (row, [(heading.startswith("#"), cell(row)) for heading, cell in self.columns])
            for row in self.rows.all()
        ]
        return [(row, cells) for row, cells in rows if self._says(words, row, cells)]

    def _says(self, words: str, row: Any, cells: list[tuple[bool, Any]]) -> bool:
        shown = (self.title, self.name, row.code, row.name, *(str(text) for _, text in cells))
        said = " ".join(shown).casefold()
        return all(word in said for word in words.casefold().split())


KINDS = (
    Kind("pouch", "Pouches", Pouch.objects.prefetch_related("doubles_in"), (
        MATERIAL,
        ("Closure", _choice("closure")),
        ("#Inner size", _size("inner_width_mm", "inner_length_mm")),
        ("#Outer size", _size("outer_width_mm", "outer_length_mm")),
        ("#Gusset", _figure("gusset_mm")),
        RATED,
        ("Doubles in", _others("doubles_in")),
    )),
    Kind("roll", "Rolls", Roll.objects.all(), (
        MATERIAL,
        ("#Width", _figure("nominal_width_mm")),
        ("#Side seal", _figure("side_seal_mm")),
        RATED,
    )),
    Kind("wrap", "Wraps", Wrap.objects.all(), (
        MATERIAL,
        ("#Sheet", _size("width_mm", "length_mm")),
        ("#Layers", lambda row: row.layers or "?"),
        RATED,
    )),
    Kind("container", "Containers", Container.objects.prefetch_related("programmes"), (
        INNER_BOX, TARE, RATED, ("Validated cycles", _others("programmes")),
    )),
    Kind("basket", "Baskets", Basket.objects.all(), (INNER_BOX, TARE, RATED)),
    Kind("protector", "Tip protectors", Protector.objects.all(), (
        ("#Bore", _with_unit("bore_mm", "mm")),
        ("#Length", _with_unit("length_mm", "mm")),
        ("Vented", lambda row: VENTED[row.vented]),
    )),
    Kind("programme", "Cycles", Programme.objects.all(), (
        ("Method", _choice("method")),
        ("#°C", _figure("temperature_c")),
        ("#Exposure, min", _figure("exposure_min")),
        ("#Drying, min", _figure("drying_min")),
    ), "None on record: the method alone decides."),
    Kind("sterilizer", "Sterilizers", Sterilizer.objects.prefetch_related("programmes"), (
        ("Cycles", _others("programmes", "none yet: no load can be begun")),
    ), "None on record: no load can be begun."),
    Kind("sealer", "Sealers", Sealer.objects.all(), (
        ("Kind", _choice("kind")),
        ("Where it stands", lambda row: row.place),
        ("In use", lambda row: "yes" if row.active else "retired"),
    ), "None on record: no package says what sealed it."),
)  # fmt: skip


class Search(forms.Form):
    """The list's field: the words that a row says."""

    q = forms.CharField(label="Find", required=False, widget=forms.TextInput(
        {**SEARCH_BOX.attrs, "placeholder": "code, name or material"}
    ))  # fmt: skip


@read_page("catalog.view_pouch")
def supplies(request: HttpRequest) -> HttpResponseBase:
    """All supplies by kind, with the programmes the department runs; ``?q=`` those that say so.

    ``?as=xlsx`` all kinds, a sheet for each; ``?as=csv&kind=`` one kind.
    """
    wanted, word = request.GET.get("as", ""), request.GET.get("kind", "")
    words = read_asked(request.GET.get("q", ""), settings.SCANNER_SEPARATOR).words
    if wanted in FORMATS:
        kinds = [kind for kind in KINDS if kind.word == word] or KINDS
        sheets = [from_rows(_found(kind, words)) for kind in kinds]
        return download(request, wanted, sheets, word or "supplies")
    shown = [(kind, kind.lines(words)) for kind in KINDS]
    others = f"&{urlencode({'q': words})}" if words else ""
    context = {
        "kinds": [(kind, lines) for kind, lines in shown if lines or not words],
        "words": words,
        "filter": {"form": Search({"q": words})},
        "others": others,
        "here": f"{request.path}?{others[1:]}",
    }
    part = request.htmx and not request.htmx.boosted  # type: ignore[attr-defined]
    return render(request, f"catalog/{'_supplies' if part else 'supplies'}.html", context)


def _found(kind: Kind, words: str) -> QuerySet[Any]:
    rows = kind.rows.all()
    return rows.filter(pk__in=[row.pk for row, _ in kind.lines(words)]) if words else rows
