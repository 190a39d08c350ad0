"""The split of a set that is over its limit or has no common cycle: its page, and its drafts."""

from __future__ import annotations

import hashlib

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.http import urlencode

from assembly.bench.splits import Split, split_of
from assembly.judging.reading_units import show_for
from assembly.ledger import Refused
from assembly.presses import Sent, verb_page
from assembly.rules.findings import Show, metric
from catalog import actions
from catalog.forms.fields import WholeField, WordsField
from catalog.models import CountSheet, InstrumentSet
from catalog.reading import read_page

MOST_LAYERS = 20
"""Our own bound, against a slip of the hand."""


class Layers(Sent):
    """How many layers lie in a tray; empty: as many as the whole set takes."""

    layers = WholeField("number of layers", least=1, most=MOST_LAYERS, required=False)


class Drafted(Layers):
    """The press that makes drafts of exactly the parts that the page showed."""

    seen = WordsField()


def set_to_split(code: str) -> tuple[InstrumentSet, CountSheet]:
    """A set with its count sheet in force; 404 where there is none."""
    rows = InstrumentSet.objects.select_related("container", "basket", "wrap")
    instrument_set = get_object_or_404(rows, code__folded=code)
    sheet = instrument_set.current
    if sheet is None:
        raise Http404("No count sheet of this set is approved.")
    return instrument_set, sheet


def split_asked(
    sent: QueryDict, instrument_set: InstrumentSet, sheet: CountSheet, show: Show = metric
) -> tuple[Split, str]:
    """The split as it was asked for, and what could not be read of that."""
    try:
        layers, problem = Layers.read(sent)["layers"], ""
    except Refused as refusal:
        layers, problem = None, str(refusal)
    return split_of(instrument_set, sheet, show, layers), problem


@read_page("catalog.view_instrumentset")
def split_page(request: HttpRequest, code: str) -> HttpResponse:
    """The trays of a set: how many and whether that is proved, then each with its lines."""
    instrument_set, sheet = set_to_split(code)
    show = show_for(request)
    split, problem = split_asked(request.GET, instrument_set, sheet, show)
    layers = split.layers
    context = {
        "instrument_set": instrument_set,
        "sheet": sheet,
        "split": split,
        "layers": layers or "",
        "query": f"?{urlencode({'layers': layers})}" if layers else "",
        "seen": _digest(split, sheet),
        "drafts": list(_drafts(split, instrument_set)),
        "said": {"tone": "wrong", "words": problem} if problem else None,
    }
    return render(request, "assembly/sets/split.html", context)


def _drafts(split: Split, instrument_set: InstrumentSet) -> list[InstrumentSet]:
    """The sets that have the codes of the parts already."""
    codes = [f"{instrument_set.code}-{part.letter}" for part in split.found.parts]
    return list(InstrumentSet.objects.filter(code__in=codes))


def _digest(split: Split, sheet: CountSheet) -> str:
    """What the page showed: drafts are made of exactly that."""
    pieces = [(part.letter, part.pieces) for part in split.found.parts]
    return hashlib.sha256(f"{sheet.pk}|{pieces}".encode()).hexdigest()[:16]


@verb_page("catalog.add_instrumentset", "split")
def draft_split(request: HttpRequest, code: str) -> HttpResponse:
    """Draft count sheets of the parts; what is in force, and what somebody packs, stays."""
    asked = Drafted.read(request.POST)
    instrument_set, sheet = set_to_split(code)
    split = split_of(instrument_set, sheet, layers=asked["layers"])
    if not split.may_be_drafted:
        raise Refused(f"{instrument_set.code} need not be split, or cannot be. Nothing was made.")
    if asked["seen"] != _digest(split, sheet):
        raise Refused("The split is another one than you saw. Look again; nothing was made.")
    parts = [(part.letter, dict(part.pieces)) for part in split.found.parts]
    try:
        made = actions.draft_parts(actions.actor_for(request.user), sheet, parts)
    except actions.PartsRefusedError as problem:
        raise Refused(str(problem)) from problem
    codes = ", ".join(each.instrument_set.code for each in made)
    messages.success(request, f"Drafts are made: {codes}. Nothing is in force before it is "
                              f"approved; {instrument_set.code} stays as it is.")  # fmt: skip
    return redirect("split", code=instrument_set.code)
