"""Label stocks by hand: a coordinator adds one, corrects it by its ruler page, takes it out of use.

What is typed is judged as what stands in the file of proposals: ``reports.drawing.stocks``.
"""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.core.exceptions import ValidationError
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from assembly.persons import person_at
from assembly.presses import Sent, refusals, verb_page
from catalog.forms.base import CatalogForm
from catalog.forms.fields import EdgeField, LengthField, WholeField, WordsField
from catalog.pages.by_hand import form_page
from catalog.reading import read_page
from reports.drawing.labels.rulers import draw_ruler
from reports.drawing.stocks import PRINTER_DPI, SHEETS_MM, Stock, problems
from reports.gathering.labels.ordinary import what_fits, why_no_ordinary_label
from reports.gathering.stocks import (
    CHANGE_STOCKS,
    GRID,
    add_stock,
    as_row,
    bring_back,
    change_stock,
    label_stocks,
    put_out_of_use,
    row_of,
    stock_of,
    usual_name,
)
from reports.models import LabelStock
from reports.pages.answers import pdf_response

USUAL_MARGIN_MM, MOST_ACROSS, MOST_DOWN = 2, 20, 50
MEASURE = {"required": "Measure one label, and write it in mm."}
FIELDSETS = (
    ("What it is", ("name", "paper", "printer_dpi")),
    ("One label", ("width_mm", "height_mm", "margin_mm")),
    ("Only for sheets", GRID),
)
SAYS = {
    "across": "Labels across", "down": "Labels down",
    "left_mm": "Left edge of the sheet to the first label",
    "top_mm": "Top edge of the sheet to the first label",
    "pitch_x_mm": "Left edge of a label to that of the next",
    "pitch_y_mm": "Top edge of a label to that of the one below",
}  # fmt: skip


class StockForm(CatalogForm):
    """The measures of a stock as they are typed; type sizes and code follow from them."""

    name = forms.CharField(
        label="What you call it", max_length=80, required=False, help_text="empty: by its size"
    )
    paper = forms.ChoiceField(
        label="What it is", required=False,
        choices=[("", "roll, or single labels"), *((one, f"{one} sheets") for one in SHEETS_MM)],
    )  # fmt: skip
    printer_dpi = forms.TypedChoiceField(
        label="Dots an inch of its printer", coerce=int,
        choices=[(dpi, f"{dpi}") for dpi in PRINTER_DPI], help_text="its manual says",
    )  # fmt: skip
    width_mm = LengthField(label="Width", what="width", required=True, error_messages=MEASURE)
    height_mm = LengthField(label="Height", what="height", required=True, error_messages=MEASURE)
    margin_mm = LengthField(
        label="Margin inside its edges", what="margin", required=True, error_messages=MEASURE,
        help_text="stays white",
    )  # fmt: skip
    across = WholeField("number of labels", least=1, most=MOST_ACROSS, required=False,
                        label=SAYS["across"])  # fmt: skip
    down = WholeField("number of labels", least=1, most=MOST_DOWN, required=False,
                      label=SAYS["down"])  # fmt: skip
    left_mm = EdgeField(label=SAYS["left_mm"], what="distance")
    top_mm = EdgeField(label=SAYS["top_mm"], what="distance")
    pitch_x_mm = LengthField(label=SAYS["pitch_x_mm"], what="distance")
    pitch_y_mm = LengthField(label=SAYS["pitch_y_mm"], what="distance")

    class Meta:
        model = LabelStock
        fields = [name for _, names in FIELDSETS for name in names]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name in GRID:
            self.fields[name].widget.attrs["placeholder"] = ""
        was = self.instance
        self.was_called = usual_name(vars(was)) if was.width_mm and was.height_mm else ""

    def clean(self) -> dict[str, Any]:
        """The measures together: what a sheet needs, and what the stock's own rules say."""
        said = super().clean()
        self._check_sheet(said)
        if self.errors:
            return said
        if said["name"] in ("", self.was_called):
            said["name"] = usual_name(said)
        made = stock_of(self.instance.code, said)
        others = (one for one in label_stocks().values() if one.key != made.key)
        if made.name.casefold() in (one.name.casefold() for one in others):
            self.add_error("name", f"“{made.name}” is there already. Call this one otherwise.")
        for field, words in problems(made):
            self.add_error(field, words)
        return said

    def _check_sheet(self, said: dict[str, Any]) -> None:
        """A sheet has all of its measures, a roll none of them."""
        for name in GRID:
            if name in self.errors:
                continue
            if not said.get("paper"):
                if said[name] is not None:
                    words = "A roll has none: choose sheets under What it is, or empty this field."
                    self.add_error(name, ValidationError(words))
                continue
            only = {"pitch_x_mm": ("across", "width_mm"), "pitch_y_mm": ("down", "height_mm")}
            count, side = only.get(name, ("", ""))
            if said[name] is None and count and said.get(count) == 1:
                said[name] = said.get(side)
            elif said[name] is None:
                self.add_error(name, ValidationError("A sheet needs it: measure, or count."))


def _page(
    request: HttpRequest, form: StockForm, row: LabelStock | None, title: str, on: Stock | None
) -> HttpResponse:
    return form_page(
        request, form, row, FIELDSETS, reverse("papers"), template="reports/stock.html",
        title=title, stock=on, no_room=why_no_ordinary_label(on) if on else "",
    )  # fmt: skip


@permission_required(CHANGE_STOCKS, raise_exception=True)
@refusals("papers")
def add(request: HttpRequest) -> HttpResponse:
    """A new stock; ``?like=a4-3x8`` begins with the measures of another."""
    like = label_stocks().get(request.GET.get("like", "")) if "like" in request.GET else None
    row = as_row(like) if like else LabelStock(margin_mm=USUAL_MARGIN_MM)
    row.code = row.name = ""
    form = StockForm(request.POST or None, instance=row)
    if request.method == "POST" and form.is_valid():
        made = add_stock(person_at(request), form.values())
        return _saved(request, made)
    return _page(request, form, None, "New label stock", None)


@permission_required(CHANGE_STOCKS, raise_exception=True)
@refusals("stock")
def edit(request: HttpRequest, key: str) -> HttpResponse:
    """The measures of a stock, what is off by its ruler page, and its history."""
    row, title = _row(key), str(_row(key))
    form = StockForm(request.POST or None, instance=row)
    if request.method == "POST" and form.is_valid():
        return _saved(request, change_stock(person_at(request), _row(key), form.values()))
    return _page(request, form, row, title, label_stocks().get(key))


def _row(key: str) -> LabelStock:
    row = row_of(key)
    if row is None:
        raise Http404(f"There is no label stock {key}.")
    return row


def _saved(request: HttpRequest, row: LabelStock) -> HttpResponse:
    messages.success(request, f"{row} is saved. Print its ruler page and hold it against a label.")
    return redirect("stock", key=row.code)


class Use(Sent):
    """Out of use, or back; and why."""

    retired = forms.BooleanField(required=False)
    reason = WordsField()


@verb_page(CHANGE_STOCKS, "stock")
def use(request: HttpRequest, key: str) -> HttpResponse:
    """Take a stock out of use, or bring it back."""
    row, sent = _row(key), Use.read(request.POST)
    done = put_out_of_use if sent["retired"] else bring_back
    done(person_at(request), row, sent["reason"])
    return redirect("stock", key=key)


@read_page("catalog.print_label")
def ruler(request: HttpRequest, key: str) -> HttpResponse:
    """The ruler page of a label stock."""
    on = label_stocks().get(key)
    if on is None:
        raise Http404(f"There is no label stock {key}.")
    return pdf_response(draw_ruler(on), f"ruler-{key}.pdf")


@read_page("catalog.print_label")
def codes(request: HttpRequest) -> HttpResponse:
    """Which symbol fits which stock, how large, and what a label leaves out for it."""
    fits = list(what_fits(label_stocks().values()))
    return render(request, "reports/codes.html", {"fits": fits})
