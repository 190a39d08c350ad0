"""What to stock, on paper and as a file: the curve, then the sizes of the plans that were told."""

from __future__ import annotations

from collections.abc import Iterator

from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase

from assembly.ledger import Refused
from assembly.persons import SET_LEVELS
from assembly.stock.plan_views import Answered, answer_to
from catalog.reading import read_page
from reports.documents.lists import ListColumn, ListDocument, ListKind, Row
from reports.gathering.lists_from_catalog import list_document
from reports.pages.answers import as_file, check_form, person, refused

COLUMNS = (
    ListColumn("Kind", 0.7), ListColumn("Sizes", 0.5, "right"), ListColumn("Size", 1.9),
    ListColumn("Packages", 0.7, "right"), ListColumn("Used", 0.7, "right"),
    ListColumn("m²", 0.6, "right"), ListColumn("Cost", 0.6, "right"),
    ListColumn("Mostly for", 1.4), ListColumn("Says", 2.1),
)  # fmt: skip


@read_page(SET_LEVELS)
def stock_plan_file(request: HttpRequest, form: str) -> HttpResponseBase:
    """As pdf, xlsx or csv, by the same query as its page."""
    check_form(form)
    try:
        answer = answer_to(request)
    except Refused as problem:
        return refused(request, problem, "stock_plan")
    if isinstance(answer, HttpResponse):
        return answer
    document = _document(answer, person(request))
    return as_file(request, document, "what-to-stock", form, "stock_plan")


def _document(answer: Answered, made_by: str) -> ListDocument:
    demand = answer.found.demand
    left = "".join(f" Left out: {count} {why}." for count, why in demand.left_out)
    note = (f"Least material for {demand.words}, each in what the rules say today, laid flat (one "
            f"side).{left} A further size is taken to be like the largest here that is no larger: "
            "read its maker's IFU. Cost: of one pouch, of a meter of roll.")  # fmt: skip
    kind = ListKind("stock-plan", "What to stock", COLUMNS, lambda: _rows(answer), note,
                    permission=SET_LEVELS, nothing="Nothing to cover.",
                    plots=lambda: answer.plots)  # fmt: skip
    return list_document(kind, made_by)


def _rows(answer: Answered) -> Iterator[Row]:
    """What is not covered first; then of each kind its curve, and what each size is used for."""
    for one in answer.sides:
        sizes = one.side.sizes
        for words, some in ((one.none_serves, sizes.uncovered),
                            ("Not known enough, not planned for", sizes.unknown)):  # fmt: skip
            for row in some:
                yield one.name, "", "", str(row.count), "", "", "", row.number, words
    for one in answer.sides:
        for at in one.curve:
            saves, today = (
                at.saves and f"saves {at.saves}",
                at.today and f"{at.today} than today",
            )
            yield (one.name, str(at.k), ", ".join(at.codes), "", "", at.material, at.money, "",
                   "; ".join(word for word in (at.proof, saves, today) if word))  # fmt: skip
        which = str(one.plan.k) if one.k else "now"
        for use in one.uses:
            says = "; ".join(word for word in (f"without it: {use.without}", use.few) if word)
            yield (one.name, which, use.code, str(use.packages), use.used, use.material, use.money,
                   use.mostly, says)  # fmt: skip
