"""The page of what to stock: the curve, and what each size of one plan is used for."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.http import HttpRequest, HttpResponse, QueryDict
from django.http.response import HttpResponseBase
from django.shortcuts import render
from django.urls import reverse
from django.utils.safestring import SafeString

from assembly.judging.scene_svg import svg
from assembly.ledger import Refused
from assembly.persons import SET_LEVELS
from assembly.presses import Sent
from assembly.rules.drawing.shapes import Scene
from assembly.rules.stock.stock_plan import Plan
from assembly.rules.stock.stocking import WORK
from assembly.stock.plan_words import (
    NAMES,
    CurveRow,
    UseRow,
    curve_rows,
    headline,
    plots,
    use_rows,
)
from assembly.stock.planning import MOST_SIZES, Planned, Side, planned, read_sizes
from catalog.forms.fields import WholeField, WordsField
from catalog.reading import read_page
from catalog.runs import Run, beside
from catalog.vocabulary import Kind

FILES = (("pdf", "Print"), ("xlsx", "Workbook (xlsx)"), ("csv", "Text (csv)"))


def _k() -> WholeField:
    return WholeField("number of sizes", required=False, least=1, most=MOST_SIZES)


class Asked(Sent):
    """Further sizes, as typed; which plan of each kind is told; how much is ordered at least."""

    sizes = WordsField(600)
    pouch, roll = _k(), _k()
    order_pouch = WholeField("number of pouches", required=False)
    order_roll = WholeField("number of meters", required=False)


@dataclass(frozen=True, slots=True)
class Told:
    """One kind as it is shown; ``k`` is None for what is in stock today."""

    side: Side
    plan: Plan
    k: int | None
    uses: tuple[UseRow, ...]
    packed: bool
    query: QueryDict

    @property
    def name(self) -> str:
        return NAMES[self.side.sizes.kind]

    @property
    def headline(self) -> str:
        return headline(self.side)

    @property
    def none_serves(self) -> str:
        """Said of what is not covered; what nobody has packed yet was tried in pouches before."""
        kind = self.side.sizes.kind
        return f"No {'pouch or roll' if kind is Kind.ROLL and not self.packed else kind} serves"

    @property
    def curve(self) -> tuple[CurveRow, ...]:
        return tuple(curve_rows(self.side))

    @property
    def linked(self) -> list[tuple[CurveRow, str]]:
        """The curve, each row with the query that tells its plan."""
        return [(row, self._query(row.k)) for row in self.curve]

    @property
    def today(self) -> str:
        """The query that tells what is in stock."""
        return self._query(None)

    def _query(self, k: int | None) -> str:
        query, kind = self.query.copy(), str(self.side.sizes.kind)
        query.pop(kind, None)
        if k is not None:
            query[kind] = str(k)
        return query.urlencode()


@dataclass(frozen=True, slots=True)
class Answered:
    """What was asked and found."""

    found: Planned
    sides: tuple[Told, ...]

    @property
    def plots(self) -> tuple[Scene, ...]:
        return plots(self.found)


def answer_to(request: HttpRequest) -> Answered | HttpResponse:
    """What to stock, or the way to a run that works it out where no page may wait so long.

    Refused with what was read of a size or number that is none.
    """
    asked = Asked.read(request.GET)
    found = planned(read_sizes(asked["sizes"]), WORK if hasattr(request, "progress") else None)
    if found is None:
        told = Run("What to stock", 0, SET_LEVELS, then=request.get_full_path())
        query = request.GET.urlencode()
        begun = beside(request, told, f"{reverse('stock_plan_file', args=['csv'])}?{query}")
        assert begun is not None  # a run itself is never asked to wait
        return begun
    return Answered(found, tuple(_told(found, side, asked, request.GET) for side in found.sides))


def _told(found: Planned, side: Side, asked: dict[str, Any], query: QueryDict) -> Told:
    kind = side.sizes.kind
    k, order = asked[f"{kind}"], asked[f"order_{kind}"]
    plan = side.plan(k)
    uses = tuple(use_rows(plan, side, found.demand, order))
    return Told(side, plan, k, uses, found.demand.packed, query)


@read_page(SET_LEVELS)
def plan_page(request: HttpRequest) -> HttpResponseBase:
    """The least-material sizes, by their number; what is refused is said above the form."""
    context: dict[str, Any] = {"typed": request.GET, "files": FILES}
    try:
        answer = answer_to(request)
    except Refused as problem:
        return render(request, "assembly/stock/plan.html",
                      context | {"said": {"tone": "wrong", "words": str(problem)}})  # fmt: skip
    if isinstance(answer, HttpResponse):
        return answer
    # The plots are made of numbers and of our own words.
    drawn = [SafeString(svg(one)) for one in answer.plots]
    return render(request, "assembly/stock/plan.html",
                  context | {"answer": answer, "plots": drawn})  # fmt: skip
