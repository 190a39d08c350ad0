"""The page of all papers, and long print runs."""

from __future__ import annotations

import uuid

from django import forms
from django.core.exceptions import PermissionDenied
from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from assembly.ledger import Refused
from assembly.presses import Sent, verb_page
from catalog import runs
from catalog.forms.fields import WordsField
from catalog.models import InstrumentSet
from catalog.reading import read_page
from catalog.runs import Run
from reports.gathering.list_files import KINDS
from reports.gathering.stocks import label_stocks
from reports.models import LabelStock
from reports.pages.answers import person
from reports.pages.sheet_runs import chosen_sets
from reports.pages.teaching.posters import posters_standing
from reports.pages.workstation import SHEET_PAPERS, next_free, sheet_paper, stock_shown

LONGEST = 50_000


@read_page("catalog.view_instrumentset")
def papers(request: HttpRequest) -> HttpResponse:
    """Everything that can be printed, by what it is for."""
    services = InstrumentSet.objects.exclude(service="").values_list("service", flat=True)
    on = stock_shown(request)
    return render(
        request,
        "reports/papers.html",
        {
            "lists": [one for one in KINDS.values() if request.user.has_perm(one.permission)],
            "posters": posters_standing(),
            "stocks": [(one.key, one.name) for one in label_stocks().values()],
            "unused": LabelStock.objects.filter(retired=True),
            "on": on,
            "places": range(1, on.grid.labels + 1) if on.grid else (),
            "start": next_free(request, on),
            "paper": sheet_paper(request),
            "papers": SHEET_PAPERS,
            "services": sorted(set(services)),
        },
    )


# --- print runs ----------------------------------------------------------------------------


class PrintRun(Sent):
    """Which count sheets are printed, and how."""

    codes, service = WordsField(LONGEST), WordsField()
    photos = forms.BooleanField(required=False)


@verb_page("catalog.print_count_sheet", "papers")
def print_count_sheets(request: HttpRequest) -> HttpResponse:
    """Begin a run of count sheets and go to its page."""
    asked = {**PrintRun.read(request.POST), "paper": sheet_paper(request), "by": person(request)}
    total = len(chosen_sets(asked["codes"], asked["service"])[0])
    if not total:
        raise Refused("No set was found by these codes. Nothing was printed.")
    told = Run(f"Count sheets of {total} sets", total, "catalog.print_count_sheet",
                    "count-sheets.pdf", "application/pdf")  # fmt: skip
    return redirect("run", run=runs.start(told, asked, "print_run", uuid.uuid4()))


def _run_of(request: HttpRequest, run: uuid.UUID) -> Run:
    """The run, for those who may see it; 404 where there is none."""
    state = runs.state(run)
    if state is None:
        raise Http404("There is no such run, or it was more than a day ago.")
    if not request.user.has_perm(state.permission):
        raise PermissionDenied
    return state


@read_page("catalog.view_instrument")
def run_page(request: HttpRequest, run: uuid.UUID) -> HttpResponse:
    """How a run stands; asked again each second while it goes on."""
    state = _run_of(request, run)
    part = request.htmx and not request.htmx.boosted  # type: ignore[attr-defined]
    if state.state == "done" and state.then:
        return HttpResponse(headers={"HX-Redirect": state.then}) if part else redirect(state.then)
    template = "reports/_run.html" if part else "reports/run.html"
    return render(request, template, {"run": run, "state": state})


@verb_page("catalog.view_instrument", "run")
def stop_run(request: HttpRequest, run: uuid.UUID) -> HttpResponse:
    """Stop a run before its next document, or soon."""
    _run_of(request, run)
    runs.stop(run)
    return redirect("run", run=run)


@read_page("catalog.view_instrument")
def run_file(request: HttpRequest, run: uuid.UUID) -> FileResponse:
    """The file of a finished run."""
    state, path = _run_of(request, run), runs.file(run)
    if path is None:
        raise Http404("This run has no file.")
    return FileResponse(
        path.open("rb"),
        content_type=state.kind,
        filename=state.name,
        as_attachment=state.kind != "application/pdf",
        headers={"Cache-Control": "no-store"},
    )
