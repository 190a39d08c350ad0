"""The layout of a set's basket: seen in layers, moved by tap and by keys, saved."""

from __future__ import annotations

import json
from dataclasses import replace
from functools import cached_property
from typing import Any

from django import forms
from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from assembly.bench.settings import settings_of, with_keys
from assembly.judging.decisions import drawn
from assembly.judging.facts_from_catalog import lines_of
from assembly.judging.reading_units import show_for
from assembly.layouts.saved import Shown, asked_of, earlier, latest_of, layout_of, save
from assembly.ledger import Refused
from assembly.persons import ASSEMBLE, person_at
from assembly.presses import Press, Sent, refusals
from assembly.rules.findings import Show
from assembly.rules.layers.blocks import counted
from assembly.rules.layers.laid import NOT_SHAPES, Asked, Laid, Verdict, laid_as, lay_out
from assembly.rules.layers.layout import Layout
from assembly.rules.layers.moving import NoRoomError, moved, stepped, where
from assembly.rules.layers.scene import FROM_ABOVE, corner_of, layer_scene
from catalog.forms.fields import EdgeField, WholeField, WordsField
from catalog.models import InstrumentSet

BOX = ("x", "y", "length", "width")
LONG = 12
"""Pieces beyond which their list is folded."""
OUTCOMES = {Verdict.FITS: "recommended", Verdict.CANNOT_FIT: "none"}
"""How a verdict looks; any other is open."""
LONGEST_PLAN = 400_000
"""Signs; some 2,000 pieces."""


class PlanField(forms.CharField):
    """A layout as the page sends it back: plain data, looked through by what reads it."""

    def to_python(self, value: Any) -> Any:
        try:
            plan = json.loads(super().to_python(value) or "")
        except (ValueError, RecursionError):
            plan = None
        if not isinstance(plan, dict):
            raise forms.ValidationError("The page did not send its layout. Load it again.")
        return plan


class Moved(Sent):
    """One piece moved: by a step, or to a place of a layer."""

    plan = PlanField(max_length=LONGEST_PLAN)
    piece = WordsField(20)
    step = WordsField(10)
    layer = WholeField("number of a layer", required=False)
    x = EdgeField(what="distance from the left")
    y = EdgeField(what="distance from the back")
    across = forms.BooleanField(required=False)


class Saved(Press):
    """The layout as it is on the page."""

    plan = PlanField(max_length=LONGEST_PLAN)
    revision = WholeField("revision")


class Sheeted:
    """The set of an address with its count sheet in force, and what its layout is asked with."""

    def __init__(self, code: str) -> None:
        rows = InstrumentSet.objects.select_related("container", "basket", "wrap")
        self.of = get_object_or_404(rows, code__folded=code)
        self.sheet = self.of.current

    @cached_property
    def asked(self) -> Asked:
        return asked_of(self.of, lines_of(self.sheet) if self.sheet else [])

    def shown(self, anew: bool = False) -> Shown:
        """As saved where that holds, else as proposed; ``anew``: as proposed."""
        if self.sheet is None or anew:
            return Shown(lay_out(self.asked), None)
        return layout_of(self.asked, self.sheet)


def _refused(request: HttpRequest, problem: Exception, code: str) -> HttpResponse:
    """The page as it was sent, which says what was wrong."""
    here = Sheeted(code)
    try:
        sent = json.loads(request.POST.get("plan", ""))
        shown = Shown(laid_as(here.asked, sent), None)
    except (ValueError, RecursionError, AttributeError, NoRoomError):
        shown = here.shown()
    return _page(request, here, shown, str(problem))


@permission_required("catalog.view_instrumentset", raise_exception=True)
@refusals(_refused)
def layout_page(request: HttpRequest, code: str) -> HttpResponse:
    """The layers of a set's basket; sent to, a piece is moved, or the layout saved."""
    here = Sheeted(code)
    if request.method != "POST":
        return _page(request, here, here.shown("anew" in request.GET))
    if not request.user.has_perm(ASSEMBLE):
        raise PermissionDenied
    if request.POST.get("act") == "save":
        save(person_at(request), here.of.code, **Saved.read(request.POST))
        messages.success(request, "Saved with this revision of the count sheet.")
        return redirect("set_layout", here.of.code)
    sent = Moved.read(request.POST)
    try:
        laid = laid_as(here.asked, sent["plan"])
        return _page(request, here, Shown(replace(laid, layout=_moved(laid, sent)), None))
    except NoRoomError as problem:
        raise Refused(f"{problem} Nothing was moved.") from problem


def _moved(laid: Laid, sent: dict[str, Any]) -> Layout | None:
    """The layout after one press."""
    layout, piece, step = laid.layout, sent["piece"], sent["step"]
    if layout is None or step == "choose":
        return layout
    if step != "to":
        return stepped(layout, piece, step)
    layer, x, y = (sent[name] for name in ("layer", "x", "y"))
    if layer is None or x is None or y is None:
        raise NoRoomError("Say the layer, and how far from the left and from the back.")
    return moved(layout, piece, layer, float(x), float(y), sent["across"])


def _page(request: HttpRequest, here: Sheeted, shown: Shown, problem: str = "") -> HttpResponse:
    laid, show = shown.laid, show_for(request)
    latest = latest_of(here.sheet) if here.sheet else None
    context = with_keys(
        instrument_set=here.of,
        sheet=here.sheet,
        shown=shown,
        laid=laid,
        problem=problem,
        why=laid.why(show),
        warnings=laid.warnings(show),
        not_shapes=f"{FROM_ABOVE} {NOT_SHAPES}",
        latest=latest,
        unsaved=latest is None or latest.plan != laid.plan,
        before=earlier(here.of, here.sheet) if here.sheet and latest is None else None,
        outcome=OUTCOMES.get(laid.verdict, ""),
        keys=settings_of(request).keys,
        **(_drawn(laid.layout, here, show, request.POST.get("piece", "")) if laid.layout else {}),
        plan=json.dumps(laid.plan),
    )
    part = request.htmx and not request.htmx.boosted  # type: ignore[attr-defined]
    name = "assembly/sets/_layout.html" if part else "assembly/sets/layout.html"
    return render(request, name, context, status=422 if problem and not part else 200)


def _drawn(layout: Layout, here: Sheeted, show: Show, chosen: str) -> dict[str, Any]:
    """Each layer to scale, and the pieces with where it lies; ``chosen`` is the key of one."""
    pieces = _pieces(layout)
    return {
        "pieces": pieces,
        "chosen": next((one for one in pieces if one["block"].key == chosen), pieces[0]),
        "layers": [
            drawn(layer_scene(layout, n + 1, here.asked, show, chosen))
            for n in range(len(layout.layers))
        ],
        "new_layer": len(layout.layers) + 1,
        "corner": [f"{size:.1f}" for size in corner_of(layout)],
        "long": len(pieces) > LONG,
        "over": counted(one.words for one in layout.over),
    }


def _pieces(layout: Layout) -> list[dict[str, Any]]:
    """Each block with where it lies, layer by layer; what has no place last."""
    found = []
    for n, layer in enumerate(layout.layers, 1):
        for place in sorted(layer, key=lambda one: (one.y, one.x)):
            box = {name: f"{getattr(place, name):.1f}" for name in BOX}
            found.append({"block": place.block, "layer": n, "across": place.across,
                          "where": where(n, place, layout.room), **box})  # fmt: skip
    nowhere = {**dict.fromkeys(BOX, ""), "layer": 0, "across": False, "where": "no place yet"}
    return found + [{"block": one, **nowhere} for one in layout.over]
