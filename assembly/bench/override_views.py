"""A coordinator signs, on the page of a question, the override that it asks for."""

from __future__ import annotations

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from assembly.bench.closing import option_words
from assembly.bench.forms import plan_from
from assembly.bench.settings import with_keys
from assembly.bench.signing import answer_for
from assembly.bench.tally import tally_of
from assembly.judging.decisions import (
    Answer,
    SetAnswer,
    decide_for_instrument,
    decide_for_set,
)
from assembly.judging.facts_from_catalog import lines_of
from assembly.judging.reading_units import show_for
from assembly.judging.taking import chosen, options
from assembly.ledger import Refused
from assembly.models import Build, Question
from assembly.persons import OVERRIDE, person_at
from assembly.presses import Press, refusals
from assembly.questions import asking
from assembly.questions.asking import Thing
from assembly.rules.findings import Show, metric
from catalog.forms.fields import WordsField
from catalog.models import Instrument

Signed = Press.plus(answer=WordsField())


def _refused(request: HttpRequest, problem: Exception, pk: int) -> HttpResponse:
    return _page(request, pk, str(problem))


@permission_required(OVERRIDE, raise_exception=True)
@refusals(_refused)
def sign_override(request: HttpRequest, pk: int) -> HttpResponse:
    """What the rules do not pass, each finding accepted by itself; ``?take=`` another way to
    pack it, ``?programme=`` the cycle. Signed, it is the answer to the question."""
    if request.method != "POST":
        return _page(request, pk)
    question = get_object_or_404(Question, pk=pk)
    plan, sent = plan_from(request, question.about), Signed.read(request.POST)
    answer = _answer_about(question.about, plan.programme)
    if answer is None:
        raise Refused("Nothing is in the set, so there is nothing to sign for.")
    asking.allow(person_at(request), pk, sent["key"], answer, plan, sent["answer"])
    messages.success(request, f"Signed. {question.asked_by} reads it on the Bench.")
    return redirect("waits")


def _answer_about(thing: Thing, programme: str, show: Show = metric) -> Answer | SetAnswer | None:
    """The decision that a question asks about, in the cycle chosen; None for an empty set."""
    if isinstance(thing, Build):
        return answer_for(tally_of(thing), show, programme)
    if isinstance(thing, Instrument):
        return decide_for_instrument(thing, programme=programme, show=show)
    lines = lines_of(thing.current) if thing.current else []
    return decide_for_set(thing, lines, show, programme=programme) if lines else None


def _page(request: HttpRequest, pk: int, problem: str = "") -> HttpResponse:
    question = get_object_or_404(
        Question.objects.select_related("instrument", "instrument_set", "build"), pk=pk
    )
    answer = _answer_about(question.about, request.GET.get("programme", ""), show_for(request))
    take = request.POST.get("take", "") or request.GET.get("take", "")
    option = (chosen(answer, take) or chosen(answer)) if answer else None
    every = options(answer) if answer else []
    context = with_keys(
        question=question,
        about=question.about,
        answer=answer,
        option=option,
        others=[one for one in every if one != option and one.needs_override],
        waits=question.state == Question.State.ASKED,
        problem=problem,
        asked_again=answer is not None and answer.policy.flag("asked_again"),
        **option_words(request, option, answer),
    )
    wrong = 422 if problem else 200
    return render(request, "assembly/questions/sign.html", context, status=wrong)
