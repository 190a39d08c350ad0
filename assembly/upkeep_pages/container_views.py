"""The containers of the department one by one: the list, and the page of each."""

from __future__ import annotations

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone

from assembly.bench.settings import with_keys
from assembly.models import OwnContainer, Package
from assembly.packages.containers import around, hindrance
from assembly.packages.standing import with_standing
from assembly.persons import ADD_SUPPLIES, ASSEMBLE, person_at
from assembly.presses import Act, KnownField, Press, Reasoned, perform, told_there, verb_page
from assembly.upkeep import containers
from catalog.forms.fields import DayField, WordsField
from catalog.models import Container
from catalog.reading import read_page

MOST_PACKAGES = 50
NO_KIND = "“{text}” is no container among the supplies. Choose its kind."


class Added(Press):
    """A container that is taken into use: its number, and its kind by the code of the supply."""

    number = WordsField(60)
    kind = KnownField(Container.objects.all(), "code", NO_KIND,
                      error_messages={"required": "Choose its kind."})  # fmt: skip


class Changed(Press):
    """A new filter: its kind, the day, and by when it is changed again."""

    called = {"filter": "filter_kind"}
    filter = forms.ChoiceField(required=False, choices=OwnContainer.Filter.choices)
    changed_on = DayField(required=False)
    until = DayField(required=False)


@read_page(ASSEMBLE)
def containers_page(request: HttpRequest) -> HttpResponse:
    """Every container, those that may not be packed first, and why; and what each is around."""
    every = list(OwnContainer.objects.select_related("kind"))
    busy, today = around(every), timezone.localdate()
    rows = [(one, hindrance(one, today), busy.get(one.pk)) for one in every]
    rows.sort(key=lambda row: (row[0].out_of_use, not row[1], row[0].number))
    kinds = [(one.code, str(one)) for one in Container.objects.all()]
    return render(request, "assembly/upkeep/containers.html", with_keys(rows=rows, kinds=kinds))


@read_page(ASSEMBLE)
def container_page(request: HttpRequest, number: str) -> HttpResponse:
    """One container: how it stands, what is done with it, and what was packed in it."""
    one = get_object_or_404(OwnContainer.objects.select_related("kind"), number__folded=number)
    packages = with_standing(Package.objects.filter(own_container=one))
    context = with_keys(
        one=one,
        hindrance=hindrance(one, timezone.localdate()),
        filters=OwnContainer.Filter.choices,
        packages=packages[:MOST_PACKAGES],
        steps=one.steps.order_by("-pk"),
    )
    return render(request, "assembly/upkeep/container.html", context)


@verb_page(ADD_SUPPLIES, told_there)
def add_container(request: HttpRequest) -> HttpResponse:
    """A container is taken into use."""
    one = containers.add_container(person_at(request), **Added.read(request.POST))
    return redirect("container", number=one.number)


@verb_page(ASSEMBLE, told_there)
def act_on_container(request: HttpRequest, pk: int) -> HttpResponse:
    """One press on the page of a container."""
    one = get_object_or_404(OwnContainer, pk=pk)
    perform(request, pk, ACTS)
    return redirect("container", number=one.number)


ACTS = {
    "filter": Act(containers.change_filter, Changed),
    "gasket": Act(containers.look_at_gasket, Press.plus(gasket=WordsField())),
    "fault": Act(containers.say_fault, Reasoned),
    "mended": Act(containers.mended, Reasoned),
    "out": Act(containers.use_no_more, Reasoned),
    "back": Act(containers.use_again, Reasoned),
}
"""Every press on the page of a container."""
