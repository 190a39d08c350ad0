"""What the bench says of boxes, by one press each."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.utils import timezone

from assembly.persons import ASSEMBLE, person_at
from assembly.presses import Press, back_from, verb_page
from assembly.stock import emptying
from catalog.forms.fields import WordsField


class OfSupply(Press):
    """A press about one supply, by its key."""

    supply = WordsField(60)


def _not_done(request: HttpRequest, problem: Exception) -> HttpResponse:
    messages.error(request, str(problem))
    return back_from(request)


@verb_page(ASSEMBLE, _not_done)
def box_empty(request: HttpRequest) -> HttpResponse:
    """No more of it is there, until the shift ends."""
    said = emptying.say_empty(person_at(request), **OfSupply.read(request.POST))
    until = f"{timezone.localtime(said.until):%H:%M}"
    messages.success(request, f"Out until {until}: {said.name}.")
    return back_from(request)


@verb_page(ASSEMBLE, _not_done)
def box_there(request: HttpRequest) -> HttpResponse:
    """There is a box of it again."""
    emptying.say_there(person_at(request), **OfSupply.read(request.POST))
    return back_from(request)
