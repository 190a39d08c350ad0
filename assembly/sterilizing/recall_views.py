"""The pages of recalls: what would be held, what was, who was told, and what came since."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse

from assembly.bench.settings import with_keys
from assembly.ledger import Refused
from assembly.models import Recall, RecallKind
from assembly.packages.recalls import read_notice
from assembly.packages.whereabouts import whereabouts_of
from assembly.persons import ASK, RELEASE_LOAD, person_at
from assembly.presses import Press, Reasoned, Sent, back_from, told, verb_page
from assembly.sterilizing import recalling
from catalog.forms.fields import DayField, WordsField
from catalog.reading import read_page

VIEW = "assembly.view_load"
MOST = 60


class About(Sent):
    """What a recall starts from."""

    kind = WordsField(12)
    of = WordsField(60, strip=False)
    since = DayField(required=False)

    def clean(self) -> dict[str, Any]:
        data = dict(self.cleaned_data)
        since = data.pop("since", None)
        if since and data["kind"] != RecallKind.CONTAINER:
            raise Refused("Only a container is recalled from a day on. Leave the day empty.")
        return {**data, "of": recalling.with_since(data["of"], since)}


class Held(Reasoned):
    """What is recalled, and why."""

    kind = WordsField(12)
    of = WordsField(60)


@read_page(VIEW)
def recalls_page(request: HttpRequest) -> HttpResponse:
    """Earlier recalls; and where ``?kind=`` and ``?of=`` name something, all that would be held."""
    asked = {name: request.GET.get(name, "") for name in About.base_fields}
    context = with_keys(kinds=RecallKind.choices, asked=asked, recalls=Recall.objects.all()[:MOST])
    if asked["of"].strip():
        try:
            scope = recalling.scope_of(**About.read(request.GET))
        except Refused as problem:
            context["said"] = {"tone": "wrong", "words": str(problem)}
        else:
            context |= {"scope": scope, "found": whereabouts_of(scope.packages)}
    return render(request, "assembly/recalls/list.html", context)


@verb_page(RELEASE_LOAD, "recalls")
def hold(request: HttpRequest) -> HttpResponse:
    """Every package of it is held: one press."""
    made = recalling.recall(person_at(request), **Held.read(request.POST))
    return redirect("recall", pk=made.pk)


@read_page(VIEW)
def recall_page(request: HttpRequest, pk: int) -> HttpResponse:
    """One recall: each package, where it was, who has it, who was told, and what came since."""
    made = get_object_or_404(Recall, pk=pk)
    packages = list(made.packages.select_related("package"))
    context = with_keys(
        recall=made,
        packages=packages,
        still_here=[one for one in packages if not one.holder],
        out=[one for one in packages if one.holder],
        notices=made.notices.all(),
        since=whereabouts_of(recalling.since(made)),
    )
    return render(request, "assembly/recalls/recall.html", context)


@verb_page(RELEASE_LOAD, "recall")
def hold_more(request: HttpRequest, pk: int) -> HttpResponse:
    """What came to be packed or loaded since is held too."""
    recalling.recall_more(person_at(request), pk, **Press.read(request.POST))
    return redirect("recall", pk=pk)


def _not_read(request: HttpRequest, problem: Exception, pk: int) -> HttpResponse:
    return told(request, problem, reverse("requests"))


@verb_page(ASK, _not_read)
def read(request: HttpRequest, pk: int) -> HttpResponse:
    """Somebody of the department has read the notice: their name stands on the recall."""
    found = read_notice(person_at(request), pk, **Press.read(request.POST))
    messages.success(request, f"{found.department}: read by {found.read_by}.")
    return back_from(request)
