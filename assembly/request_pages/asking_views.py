"""The asking page, made for a phone: find or scan, see where it could come from, ask."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any
from urllib.parse import urlencode

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.utils import timezone

from assembly.bench.settings import with_keys
from assembly.complaints.saying import notices_for as complaint_notices_for
from assembly.ledger import Refused
from assembly.models import Package
from assembly.packages.recalls import notices_for
from assembly.persons import ASK, person_at
from assembly.requests import asking, lists
from assembly.requests.asking import Wanted
from assembly.requests.forms import (
    WHEN,
    AskSent,
    lines_from,
    needed_by,
    remember,
    remembered,
    tapped,
)
from assembly.requests.sources import Offered, offered_together, sources_for
from assembly.requests.timing import Timing
from catalog.forms.fields import row_number
from catalog.lookup.finding import Found, Want, find
from catalog.models import Instrument, InstrumentSet, Line
from catalog.reading import read_page

WANT = Want(limit=8)
CARRIED = ("place", "where", "department", "when", "time")
KEPT = ("item", "whole", "words", "from", "package", "note", *CARRIED[:3])
OF_LINES = ("quantity", "instead-")
"""How the names of fields begin of which each line has one."""
Lines = list[tuple[Wanted, int]]


@permission_required(ASK, raise_exception=True)
def ask_page(request: HttpRequest) -> HttpResponse:
    """Find, then ask; posted, the request. What is refused is said and nothing is lost."""
    data = request.POST if request.method == "POST" else request.GET
    try:
        lines = lines_from(data)
    except Refused as problem:
        return _find_page(request, str(problem))
    if request.method == "POST":
        return _ask(request, lines)
    things = [wanted.instrument or wanted.instrument_set for wanted, _ in lines]
    if gone := next((one for one in things if one and one.retired), None):
        return _find_page(request, f"{gone} is retired and no longer kept. Ask for another one.")
    if lines[0][0].name:
        return render(request, "assembly/asking/ask.html", _form(request, lines, data))
    return _find_page(request, missing_from=lines[0][0].missing_from)


def _ask(request: HttpRequest, lines: Lines) -> HttpResponse:
    person = person_at(request)
    try:
        made = asking.ask_together(person, lines, **AskSent.read(request.POST))
    except Refused as problem:
        if not lines[0][0].name:
            return _find_page(request, str(problem), lines[0][0].missing_from)
        context = _form(request, lines, request.POST) | {"problem": str(problem)}
        return render(request, "assembly/asking/ask.html", context, status=422)
    remember(request, made.department, made.where, request.POST.get("when", ""))
    messages.success(request, f"Asked. The Bench sees request {made.pk} now.")
    return redirect("request", pk=made.pk)


def _find_page(
    request: HttpRequest, problem: str = "", missing_from: InstrumentSet | None = None
) -> HttpResponse:
    context = found_for(request, missing_from) | for_where(request, request.GET)
    if problem:
        context["problem"] = problem
    if not context["found"].words:
        context["recall_notices"] = notices_for(context["department"])
        context["complaint_notices"] = complaint_notices_for(context["department"])
        running = lists.open_for(context["department"], person_at(request))
        context["running"] = lists.together(running)
    status = 422 if problem else 200
    return render(request, "assembly/asking/find.html", with_keys(**context), status=status)


@read_page(ASK)
def find_part(request: HttpRequest) -> HttpResponse:
    """What the typed letters find, while they are typed."""
    context = found_for(request) | {"and_carried": carried(request.GET)}
    return render(request, "assembly/asking/_found.html", context)


def carried(data: QueryDict) -> str:
    """For where and by when, as far as the page said it, for the address of what is next."""
    said = {name: data[name] for name in CARRIED if name in data}
    return f"&{urlencode(said)}" if said else ""


def for_where(request: HttpRequest, data: QueryDict) -> dict[str, Any]:
    """For where and by when: as the page says, else as this person asked last."""
    person = person_at(request)
    kept = remembered(request, person)
    given = {name: data.get(name, kept[name]) for name in ("department", "where")}
    given |= tapped(data.get("place", ""))
    given |= {"when": data.get("when", kept["when"]), "time": data.get("time", "")}
    places = asking.places_to_tap(person)
    here = next((one["last"] for one in places
                 if (one["where"], one["department"]) == (given["where"], given["department"])),
                "other" if given["where"] else "")  # fmt: skip
    return given | {
        "known": bool(given["department"] and given["where"]),
        "and_carried": carried(data),
        "departments": asking.departments(),
        "places": places,
        "at_place": row_number(data.get("place")) or here,
        "whens": WHEN,
        "said_when": "when" in data,
        "when_words": dict(WHEN).get(given["when"], ""),
    }


def found_for(request: HttpRequest, missing_from: InstrumentSet | None = None) -> dict[str, Any]:
    """What ``?q=`` means, or the lines of the set that something is missing from."""
    if missing_from and not missing_from.retired:
        found = Found(missing_from.code, one=missing_from, exact=True)
    else:
        found = find(request.GET.get("from", "") or request.GET.get("q", ""), WANT)
    package = found.one if isinstance(found.one, Package) else None
    opened = _opened(found, package)
    return {
        "found": found,
        "here": request.path if found.not_to_be_shown else "",
        "and_inside": f"&package={package.code}" if package else "",
        "package": package,
        "opened": opened,
        "instruments": _instruments(found, package),
        "sets": found.sets or ([found.one] if _by_name(found) else ()),
        "lines": lines_of(opened, package),
    }


def _opened(found: Found, package: Package | None) -> InstrumentSet | None:
    """The set whose lines are shown: its code was scanned or typed, or its package's label."""
    if package:
        return package.build.instrument_set if package.build else None
    return found.one if found.exact and isinstance(found.one, InstrumentSet) else None


def _by_name(found: Found) -> bool:
    return isinstance(found.one, InstrumentSet) and not found.exact


def _instruments(found: Found, package: Package | None) -> Sequence[Instrument]:
    one = package.instrument if package else found.one
    return [one] if isinstance(one, Instrument) else found.instruments


def lines_of(opened: InstrumentSet | None, package: Package | None) -> list[dict[str, Any]]:
    """The lines of a scanned set: of the package as it was built, else of its count sheet."""
    if package and package.build:
        return [
            {"number": one.item_number, "name": one.name, "wanted": one.wanted}
            for one in package.build.lines.filter(instrument__retired=False)
        ]
    return _sheet_lines(opened) if opened else []


def _sheet_lines(instrument_set: InstrumentSet) -> list[dict[str, Any]]:
    sheet = instrument_set.current
    in_use = Line.objects.filter(count_sheet=sheet, instrument__retired=False)
    lines = in_use.select_related("instrument") if sheet else []
    return [
        {
            "number": line.instrument.item_number,
            "name": line.instrument.name,
            "aka": line.instrument.also_known_as,
            "wanted": line.quantity,
        }
        for line in lines
    ]


@read_page(ASK)
def sources_part(request: HttpRequest) -> HttpResponse:
    """Where it could come from by the time that is chosen on the page."""
    try:
        context = sources_context(request, lines_from(request.GET), request.GET)
    except Refused as problem:
        context = {"problem": str(problem)}
    return render(request, "assembly/requests/_sources.html", context)


def sources_context(request: HttpRequest, lines: Lines, data: QueryDict) -> dict[str, Any]:
    """The sources of each line, whether any serves, and who is told if none does."""
    by, timing = needed_by(data, remembered(request, person_at(request))["when"]), Timing()
    told = offered_together([
        Offered(wanted.name, wanted.number,
                sources_for(wanted.instrument, wanted.instrument_set, by, wanted.missing_from,
                            wanted.package, timing), by, pieces, chosen_for(wanted, data))
        for wanted, pieces in lines
    ])  # fmt: skip
    if not told["serves"] or told["behind"]:
        told["told"] = asking.who_is_told()
    return {**told, "later": _later(told["last"], data)}


def chosen_for(wanted: Wanted, data: QueryDict) -> str | None:
    """The number or code of the other source that the page says; None where it says nothing."""
    one = wanted.instead
    if one is None:
        return "" if f"instead-{wanted.number}" in data else None
    return one.item_number if isinstance(one, Instrument) else one.code


def _later(last: Offered | None, data: QueryDict) -> str:
    """The address of the same question for the time at which all of it can be there."""
    ready = last.first.ready if last and last.first else None
    if not (ready and ready.shown):
        return ""
    at = timezone.localtime(ready.shown)
    kept = {name: values for name, values in data.lists()
            if name in KEPT or name.startswith(OF_LINES)}  # fmt: skip
    return urlencode({**kept, "when": "other", "time": f"{at:%Y-%m-%dT%H:%M}"}, doseq=True)


def _form(request: HttpRequest, lines: Lines, data: QueryDict) -> dict[str, Any]:
    try:
        sources = sources_context(request, lines, data)
    except Refused:
        sources = sources_context(request, lines, QueryDict())
    first = lines[0][0]
    opened = lines_of(first.missing_from, first.package)
    wanted = {each.number for each, _ in lines}
    return with_keys(
        **sources,
        **for_where(request, data),
        wanted=first,
        lines=[{"wanted": each, "pieces": pieces} for each, pieces in lines],
        others=[one for one in opened if one["number"] not in wanted],
        quantity=data.get("quantity", "1"),
        note=data.get("note", ""),
        most=asking.MOST_PIECES,
    )
