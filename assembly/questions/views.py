"""Proposing values, asking a coordinator, and what a coordinator says to both."""

from __future__ import annotations

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from assembly.ledger import Refused
from assembly.models import Proposal, Question
from assembly.persons import ASSEMBLE, CHANGE_INSTRUMENT, person_at
from assembly.presses import Act, Reasoned, back_from, perform, verb_page
from assembly.questions import asking, comparing, proposing
from assembly.questions.forms import Answered, Asked, Compared, ProposalForm
from assembly.rules.days import day_words
from catalog.models import Instrument


@permission_required(ASSEMBLE, raise_exception=True)
def propose_page(request: HttpRequest, item_number: str) -> HttpResponse:
    """The values that an instrument's record leaves open, to be typed as measured.

    What cannot be read is said beside its field, and nothing typed is lost.
    """
    instrument = get_object_or_404(Instrument, item_number__folded=item_number)
    form = ProposalForm(instrument, request.POST or None, person_at(request).name)
    problem = ""
    if request.method == "POST" and form.is_valid():
        try:
            return _proposed(request, instrument, form)
        except Refused as refused:
            problem = str(refused)
    context = {"about": instrument, "form": form, "problem": problem}
    wrong = request.method == "POST"
    return render(request, "assembly/questions/propose.html", context, status=422 if wrong else 200)


def _proposed(request: HttpRequest, instrument: Instrument, form: ProposalForm) -> HttpResponse:
    sent = form.cleaned_data
    made = proposing.propose(person_at(request), instrument.pk, form.values, sent["key"],
                             sent["measured_by"], sent["how"])  # fmt: skip
    values = ", ".join(proposing.words_of(proposing.values_of([made])))
    messages.success(request, f"Proposed: {values}. It decides nothing until a coordinator "
                              "confirms it.")  # fmt: skip
    for doubt in form.doubts:
        messages.warning(request, doubt)
    if request.POST.get("next"):
        return back_from(request)
    return redirect("instrument", item_number=instrument.item_number)


def _said(request: HttpRequest, problem: object, **_: object) -> HttpResponse:
    messages.error(request, str(problem))
    return back_from(request)


@verb_page(ASSEMBLE, _said)
def ask(request: HttpRequest) -> HttpResponse:
    """A question from the page named in ``next``."""
    sent = Asked.read(request.POST)
    things = [sent.pop(name) for name in ("instrument", "instrument_set", "build")]
    thing = next((one for one in things if one), None)
    if thing is None:
        raise Refused("The page did not say what is asked about. Load it again.")
    asking.ask(person_at(request), thing, **sent)
    messages.success(request, "Asked. The answer comes to the Bench and to this page.")
    return back_from(request)


@verb_page(ASSEMBLE, _said)
def act_on_question(request: HttpRequest, pk: int) -> HttpResponse:
    """One press on a question."""
    get_object_or_404(Question, pk=pk)
    perform(request, pk, ON_QUESTIONS)
    return back_from(request)


@verb_page(ASSEMBLE, _said)
def act_on_proposal(request: HttpRequest, pk: int) -> HttpResponse:
    """One press on what is proposed."""
    get_object_or_404(Proposal, pk=pk)
    perform(request, pk, ON_PROPOSALS)
    return back_from(request)


@verb_page(CHANGE_INSTRUMENT, _said)
def ifu_compared(request: HttpRequest, item_number: str) -> HttpResponse:
    """The record was compared with the maker's current IFU today."""
    one = get_object_or_404(Instrument, item_number__folded=item_number)
    made = comparing.compared(person_at(request), one.pk, **Compared.read(request.POST))
    one.refresh_from_db()
    due = f" Next on {day_words(one.ifu_review_on)}." if one.ifu_review_on else ""
    messages.success(request, f"{made} was compared today.{due}")
    return back_from(request)


ON_QUESTIONS = {"answer": Act(asking.answer, Answered), "close": Act(asking.close)}
ON_PROPOSALS = {
    "confirm": Act(proposing.confirm),
    "turn down": Act(proposing.turn_down, Reasoned),
    "take back": Act(proposing.take_back),
}
