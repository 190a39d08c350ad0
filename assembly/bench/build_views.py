"""The page of a build, and all that is counted on it."""

from __future__ import annotations

from dataclasses import asdict
from functools import partial
from itertools import groupby
from typing import Any

from django.db.models import Max
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from assembly.bench import builds, counting
from assembly.bench.counting import Said, done_words, marked
from assembly.bench.forms import INSTRUMENT, PIECES, Counted, Damaged, OnLine, Weight
from assembly.bench.lists import RUNNING
from assembly.bench.settings import with_keys
from assembly.bench.signing import answer_for
from assembly.bench.tally import LineCount, Tally, tally_of
from assembly.judging.decisions import drawn
from assembly.judging.inspection import damages_of, prompts_for
from assembly.judging.reading_units import show_for
from assembly.judging.sharpening import due
from assembly.judging.taking import boxes_shown
from assembly.layouts.saved import here_of
from assembly.ledger import HeldByAnother, Refused
from assembly.models import Build
from assembly.persons import ASSEMBLE, person_at
from assembly.presses import Act, Press, perform, verb_page
from assembly.rules.telling.guidance import protectors_to_take
from assembly.upkeep.repairs import away_from
from catalog.forms.fields import WholeField, WordsField
from catalog.models import InstrumentSet
from catalog.reading import read_page
from catalog.units import WEIGHT_UNITS

SCALE_UNIT = "scale unit"
"""The session remembers the unit that the scale at this screen shows."""
SAID = "said of a set"
"""And, without a script, what the next page says."""


@verb_page(ASSEMBLE, "set")
def start_build(request: HttpRequest, code: str) -> HttpResponse:
    """Begin a build of a set's current count sheet."""
    instrument_set = get_object_or_404(InstrumentSet, code__folded=code, retired=False)
    build = builds.start(person_at(request), instrument_set, **Press.read(request.POST))
    return redirect("build", pk=build.pk)


@read_page("assembly.view_build")
def build_page(request: HttpRequest, pk: int) -> HttpResponse:
    """The set as it is being counted; ``?line=`` marks a line of it."""
    kept = request.session.pop(SAID, None)
    said = Said.kept(kept["said"]) if kept and kept["build"] == pk else None
    return render(request, "assembly/builds/build.html", region(request, standing(pk), said))


@read_page("assembly.view_build")
def build_now(request: HttpRequest, pk: int) -> HttpResponse:
    """The counted part of the page, or 204 where nothing happened since ``?seen=``."""
    asked = Build.objects.filter(pk=pk).values_list(Max("steps"), "holder")
    last, holder = get_object_or_404(asked)
    if (request.GET.get("seen"), request.GET.get("held")) == (str(last or 0), str(holder)):
        return HttpResponse(status=204)
    return render(request, "assembly/builds/_parts.html", region(request, standing(pk)))


def standing(pk: int) -> Tally:
    """The build as it stands, with what its page shows."""
    shown = Build.objects.select_related(
        "count_sheet", "instrument_set__container", "instrument_set__wrap",
        "instrument_set__basket",
    )  # fmt: skip
    return tally_of(get_object_or_404(shown, pk=pk))


def region(request: HttpRequest, tally: Tally, said: Said | None = None) -> dict[str, Any]:
    """What the counted part of the page shows."""
    build, person = tally.build, person_at(request)
    said = said or _asked_for(request, tally)
    current = tally.of(said.line) if said and said.line else tally.current
    may = request.user.has_perm(ASSEMBLE)
    mine = may and build.holder_id == person.pk
    left = [one for one in tally.lines if one.state != "done" and one is not current]
    answer = answer_for(tally, show_for(request), request.GET.get("programme", ""))
    return with_keys(
        build=build,
        tally=tally,
        answer=answer,
        **boxes_shown(answer, answer.shown if answer else None),
        protectors=protectors_to_take(answer.question.lines) if answer else [],
        sections=[(title, list(lines)) for title, lines in groupby(left, key=_section)],
        counted=[one for one in tally.lines if one.state == "done" and one is not current],
        current=current,
        here=_here(build, tally, current),
        prompts=prompts_for(current.line.instrument) if current else (),
        damages=damages_of(current.line.instrument) if current else [],
        said=said,
        may_assemble=may,
        mine=mine,
        counting=mine and build.state == Build.State.OPEN,
        also_built=Build.objects.filter(
            instrument_set=build.instrument_set, state__in=RUNNING
        ).exclude(pk=build.pk),
        package=build.packages.first(),
        away=away_from(build.instrument_set, besides=build),
        blunt=due([current.line.instrument], build.instrument_set, answer.policy)
        if current and answer
        else [],
        scale_units=list(WEIGHT_UNITS),
        scale_unit=request.session.get(SCALE_UNIT, ""),
    )


def _here(build: Build, tally: Tally, current: LineCount | None) -> dict[str, Any] | None:
    """Where the current line lies in the basket, where somebody saved that."""
    if current is None:
        return None
    number = tally.lines.index(current) + 1
    found = here_of(build.count_sheet, build.instrument_set, number)
    return {"words": found.words, "drawing": drawn(found.scene)} if found else None


def _section(one: LineCount) -> str:
    return one.line.section


def _asked_for(request: HttpRequest, tally: Tally) -> Said | None:
    """The line that the address marks, where the set has it."""
    wanted = request.GET.get("line", "")
    line = next((one.line.pk for one in tally.lines if str(one.line.pk) == wanted), None)
    return marked(tally, line) if line else None


def answered(request: HttpRequest, tally: Tally, said: Said) -> HttpResponse:
    """The counted part alone for a partial request; else the whole page, which says it."""
    if request.htmx:  # type: ignore[attr-defined]
        return render(request, "assembly/builds/_parts.html", region(request, tally, said))
    request.session[SAID] = {"build": tally.build.pk, "said": asdict(said)}
    return redirect("build", pk=tally.build.pk)


def _refused(request: HttpRequest, problem: Exception, pk: int) -> HttpResponse:
    answer = answered(request, standing(pk), Said("wrong", str(problem)))
    if request.htmx and isinstance(problem, HeldByAnother):  # type: ignore[attr-defined]
        answer.status_code = 409  # queue.js keeps it
    return answer


@verb_page(ASSEMBLE, _refused)
def scan(request: HttpRequest, pk: int) -> HttpResponse:
    """One scan: its line is counted, or a clear refusal."""
    tally = standing(pk)
    sent = Counted.read(request.POST)
    if not sent["words"].strip():
        raise Refused("Nothing was read. Scan it again.")
    said, tally = counting.scan(person_at(request), tally, **sent)
    return answered(request, tally, said)


@verb_page(ASSEMBLE, _refused)
def act(request: HttpRequest, pk: int) -> HttpResponse:
    """One press: ``act`` names the verb, ``key`` makes it once."""
    get_object_or_404(Build, pk=pk)
    done = perform(request, pk, ACTS)
    if request.POST.get("act") == "weigh":
        request.session[SCALE_UNIT] = request.POST.get("unit", "")
    tally = standing(pk)
    return answered(request, tally, done_words(done, tally))


ACTS = {
    "count": Act(builds.count, OnLine.plus(quantity=PIECES)),
    "all": Act(builds.count, OnLine.plus(remaining=PIECES)),
    "short": Act(builds.short, OnLine.plus(quantity=PIECES, reason=WordsField())),
    "damaged": Act(builds.damaged, Damaged),
    "substitute": Act(partial(builds.substitute, quantity=1), OnLine.plus(instrument=INSTRUMENT)),
    "over": Act(builds.over, OnLine),
    "undo": Act(builds.undo, Press.plus(event=WholeField(required=False))),
    "weigh": Act(builds.weigh, Weight),
    "ask": Act(builds.ask_for),
    "take": Act(builds.take_over),
    "hand": Act(builds.hand_over),
}
"""Every press on the page of a build."""
