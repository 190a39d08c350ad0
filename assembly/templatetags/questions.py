"""What a page shows of the proposals and questions about its thing."""

from __future__ import annotations

from typing import Any
from urllib.parse import urlencode

from django import template
from django.forms import BoundField
from django.urls import reverse

from assembly.bench.closing import OWN
from assembly.bench.settings import new_key
from assembly.judging.facts_from_catalog import instrument_facts
from assembly.judging.reading_units import show_for
from assembly.models import Build, Proposal, Question
from assembly.persons import name_of
from assembly.questions import asking, proposing, would_be
from assembly.questions.forms import ProposalForm
from catalog.models import Instrument, InstrumentSet

register = template.Library()


@register.simple_tag
def fresh_key() -> str:
    """Another key each time, for a form on a page that has none."""
    return new_key()


@register.simple_tag
def questions_about(thing: Any) -> list[Question]:
    """The questions about a thing that are not closed."""
    return asking.about(thing)


@register.simple_tag
def asked_as(thing: Any) -> dict[str, Any]:
    """How a question names its thing: the fields that the page sends."""
    if isinstance(thing, Build):
        return {"build": thing.pk}
    if isinstance(thing, Instrument):
        return {"instrument": thing.item_number}
    return {"instrument_set": thing.code}


@register.simple_tag
def page_of(thing: Any) -> str:
    """The address of the page that a question was asked from."""
    if isinstance(thing, Build):
        return reverse("build", args=[thing.pk])
    if isinstance(thing, Instrument):
        return reverse("instrument", args=[thing.item_number])
    return reverse("set", args=[thing.code])


@register.simple_tag
def allowed_page(question: Question) -> str:
    """Where it is packed as its answer signs it: "" for words alone, and for a set, of which
    nobody knows here who assembles it."""
    thing = question.about
    if not question.allowed or isinstance(thing, InstrumentSet):
        return ""
    ways = {name: question.allowed[name] for name in OWN if question.allowed[name]}
    page = reverse("build_pack", args=[thing.pk]) if isinstance(thing, Build) else page_of(thing)
    return f"{page}?{urlencode(ways)}"


@register.simple_tag
def proposals_for(instrument: Instrument) -> list[Proposal]:
    """What is proposed for an instrument and not yet decided on."""
    return proposing.waiting(instrument)


@register.simple_tag(takes_context=True)
def would_be_of(context: Any, instrument: Instrument) -> would_be.WouldBe | None:
    """What the decision would be with all that is proposed; None where nothing is."""
    return would_be.would_be(instrument, show_for(context["request"]))


@register.simple_tag(takes_context=True)
def proposed_words(context: Any, proposal: Proposal) -> list[str]:
    """Its values as people read them."""
    return proposing.words_of(proposing.values_of([proposal]), show_for(context["request"]))


@register.simple_tag(takes_context=True)
def proposal_fields(context: Any, instrument: Instrument) -> dict[str, list[BoundField]]:
    """The fields of a proposal: those that a decision asks for ``first``, the ``others``, and
    who measured and ``how``; none for what is proposed already."""
    form = context.get("form")
    if not isinstance(form, ProposalForm):
        form = ProposalForm(instrument, by=name_of(context["request"].user))
    asked = {proposing.COLUMN.get(one.name, one.name)
             for one in instrument_facts(instrument).not_on_record}  # fmt: skip
    taken = {name for one in proposing.waiting(instrument) for name in one.values}
    left = [name for name in proposing.unknown(instrument) if name not in taken]
    return {
        "first": [form[name] for name in left if name in asked],
        "others": [form[name] for name in left if name not in asked],
        "how": [form["measured_by"], form["how"]],
    }
