"""Why things go missing: the plot, the tables, the export, and putting things back."""

from __future__ import annotations

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.safestring import SafeString

from assembly.builds import Refused
from assembly.persons import person_at
from assembly.requests import causes, export, plot
from catalog.models import Instrument

WORK = "assembly.work_request"


@permission_required(WORK, raise_exception=True)
def causes_page(request: HttpRequest) -> HttpResponse:
    """What waits to be put back, and what went short again and again."""
    found = causes.shortfalls()
    weeks = causes.weekly(found, timezone.localdate())
    recent = [one for one in found if timezone.localtime(one.at).date() >= weeks[0].monday]
    tables = [
        ("instrument", causes.repeated(recent, causes.by_instrument)),
        ("set", causes.repeated(recent, causes.by_set)),
        ("department or service", causes.repeated(recent, causes.by_department)),
    ]
    context = {
        # The plot is made of numbers and of words that it escapes itself.
        "plot": SafeString(plot.bars(weeks)),
        "words": plot.in_words(weeks),
        "weeks": [one for one in weeks if one.packed_short or one.missed],
        "tables": tables,
        "waiting": [one for one in found if one.closed_at is None],
        "any": bool(recent),
    }
    return render(request, "assembly/requests/causes.html", context)


@permission_required(WORK, raise_exception=True)
def causes_export(request: HttpRequest) -> HttpResponse:
    """Every shortfall on record as CSV."""
    name = f"shortfalls-{timezone.localdate():%Y-%m-%d}.csv"
    return HttpResponse(
        export.as_csv(causes.shortfalls()),
        content_type="text/csv; charset=utf-8",
        headers={"Content-Disposition": f'attachment; filename="{name}"',
                 "Cache-Control": "no-store"},
    )  # fmt: skip


@permission_required(WORK, raise_exception=True)
def replenish_page(request: HttpRequest, item_number: str) -> HttpResponse:
    """Every set that waits for the instrument, oldest first; posted, those that have it back."""
    instrument = get_object_or_404(Instrument, item_number__iexact=item_number)
    problem = ""
    if request.method == "POST":
        try:
            closed = causes.replenish(person_at(request), instrument,
                                      request.POST.getlist("back"),
                                      request.POST.get("because", ""))  # fmt: skip
            codes = ", ".join(one.set_code for one in closed) or "nothing: it was done before"
            messages.success(request, f"{instrument.name} is back in {codes}.")
            return redirect("replenish", item_number=instrument.item_number)
        except Refused as refused:
            problem = str(refused)
    context = {"instrument": instrument, "waiting": causes.waiting_for(instrument),
               "problem": problem}  # fmt: skip
    status = 422 if problem else 200
    return render(request, "assembly/requests/replenish.html", context, status=status)
