"""Papers as PDF, and the preview of each: the very file that prints, shown on the screen."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse

from assembly.judging.decisions import decide_for_instrument
from assembly.judging.facts_from_catalog import policy_in_force
from assembly.judging.reading_units import show_for
from assembly.presses import refusals
from assembly.rules.telling.labelling import placement
from catalog.models import Instrument, InstrumentSet
from catalog.reading import View, read_page
from reports.documents.cards import Card
from reports.documents.count_sheets import CountSheetDocument
from reports.documents.papers import LabelDocument
from reports.drawing.cards.work import draw_work_card
from reports.drawing.labels.labels import draw_labels
from reports.drawing.sheets.count_sheets import draw_count_sheet
from reports.drawing.stocks import Stock
from reports.gathering import work_cards
from reports.gathering.count_sheets import count_sheet_document
from reports.gathering.from_catalog import (
    first_that_fits,
    label_document,
    method_shorter,
)
from reports.pages.answers import (
    Choice,
    LabelsSent,
    Text,
    answer_or_back,
    label_words,
    paper_file,
    person,
    photos_for,
    preview,
)
from reports.pages.workstation import (
    SHEET_PAPERS,
    first_free,
    moved_on,
    sheet_paper,
    stock_for,
    stock_shown,
)

# --- one instrument ----------------------------------------------------------------------


def _instrument(item_number: str) -> Instrument:
    rows = Instrument.objects.prefetch_related("cycles")
    return get_object_or_404(rows, item_number__folded=item_number)


def _draw_label(
    request: HttpRequest, instrument: Instrument, on: Stock
) -> tuple[LabelDocument, bytes]:
    sent, start = LabelsSent.read(request.GET), first_free(request, on)
    most = int(policy_in_force().number("most_items_in_pouch"))
    document = label_document(
        instrument, person(request), pieces=min(most, sent["pieces"]), double=sent["double"]
    )
    document = first_that_fits(method_shorter(document), on)
    title = f"Label {document.barcode_text}: {document.what}"
    return document, draw_labels([document] * sent["copies"], on, start_at=start, title=title)


@paper_file("catalog.print_label")
@refusals("instrument")
def label(request: HttpRequest, item_number: str) -> HttpResponse:
    """Labels of one instrument; without a recommendation back to its page, with the reason.

    ``?stock=a4-3x8&start=5&copies=3`` chooses the stock, the first free position, how many.
    """
    instrument, on = _instrument(item_number), stock_for(request)
    back = reverse("instrument", args=[instrument.item_number])
    answer = answer_or_back(
        request, f"label-{instrument.item_number}.pdf", back,
        lambda: _draw_label(request, instrument, on)[1],
    )  # fmt: skip
    copies = LabelsSent.read(request.GET)["copies"]
    return moved_on(request, answer, on, first_free(request, on), copies)


@read_page("catalog.print_label")
@refusals("label_preview")
def label_preview(request: HttpRequest, item_number: str) -> HttpResponse:
    """The labels as they will print, on the stock chosen, and where they are stuck."""
    instrument, on = _instrument(item_number), stock_shown(request)
    taken = decide_for_instrument(instrument, out=()).decision.recommended
    note = placement(taken.kind) if taken else ""
    copies = str(LabelsSent.read(request.GET)["copies"])
    return preview(
        request, "Label", str(instrument), reverse("label", args=[instrument.item_number]),
        reverse("instrument", args=[instrument.item_number]), [],
        lambda: label_words(_draw_label(request, instrument, on)[0], note),
        texts=[Text("copies", "How many", copies)], on=on,
    )  # fmt: skip


# --- one set -----------------------------------------------------------------------------


def _set(code: str) -> InstrumentSet:
    rows = InstrumentSet.objects.select_related("container", "basket", "wrap")
    return get_object_or_404(rows, code__folded=code)


def _sheet_of(request: HttpRequest, one: InstrumentSet) -> CountSheetDocument:
    return count_sheet_document(one, person(request), photos=photos_for(request))


@paper_file("catalog.print_count_sheet")
def count_sheet(request: HttpRequest, code: str) -> HttpResponse:
    """The count sheet of one set, on A4 or ``?paper=letter``, and ``?photos=yes``."""
    one = _set(code)
    return answer_or_back(
        request, f"count-sheet-{one.code}.pdf", reverse("set", args=[one.code]),
        lambda: draw_count_sheet(_sheet_of(request, one), sheet_paper(request)),
    )  # fmt: skip


@read_page("catalog.print_count_sheet")
def count_sheet_preview(request: HttpRequest, code: str) -> HttpResponse:
    """The count sheet as it will print."""
    one = _set(code)
    with_photos = "yes" if photos_for(request) else "no"
    choices = [
        _papers(sheet_paper(request)),
        Choice("photos", "Photos", [("no", "without"), ("yes", "with photos")], with_photos),
    ]

    def words() -> list[str]:
        document = _sheet_of(request, one)
        draw_count_sheet(document, sheet_paper(request))
        decided = document.decided
        how = decided.stop_words or f"{decided.package}. {decided.cycle}"
        said = [f"Revision {document.revision}, {document.revision_state}",
                document.total_words, how, decided.weight, *document.notices]  # fmt: skip
        return [*said, _photo_words(document)] if with_photos == "yes" else said

    return preview(
        request, "Count sheet", str(one), reverse("count_sheet", args=[one.code]),
        reverse("set", args=[one.code]), choices, words,
    )  # fmt: skip


def _photo_words(document: CountSheetDocument) -> str:
    """How many lines have a photo beside them."""
    shown = sum(1 for line in document.lines if line.photo)
    if not shown:
        return "No instrument of this set has a photo that can be printed."
    return f"Photos on {shown} of {len(document.lines)} lines."


# --- the work card of either ---------------------------------------------------------------


def _card_views(
    page: str, find: Callable[[str], Any], make: Callable[[HttpRequest, Any], Card],
    permission: str, ways: Callable[[HttpRequest], list[Choice]],
) -> tuple[View, View]:  # fmt: skip
    """The work card of one thing on the workstation's sheets, and how it will print."""

    @paper_file(permission)
    def file(request: HttpRequest, **named: str) -> HttpResponse:
        ((name, code),) = named.items()
        one = find(code)
        code = getattr(one, name)
        return answer_or_back(
            request, f"work-card-{code}.pdf", reverse(page, args=[code]),
            lambda: draw_work_card(make(request, one), sheet_paper(request)),
        )  # fmt: skip

    @read_page(permission)
    def as_it_prints(request: HttpRequest, **named: str) -> HttpResponse:
        ((name, code),) = named.items()
        one, paper = find(code), sheet_paper(request)
        code = getattr(one, name)
        sources: list[str] = []

        def words() -> list[str]:
            card = make(request, one)
            draw_work_card(card, paper)
            sources.extend(card.on_screen)
            return [part for part in (card.headline, card.loud, card.scene_note) if part]

        return preview(
            request, "Work card", str(one), reverse(f"{page}_card", args=[code]),
            reverse(page, args=[code]), [_papers(paper), *ways(request)],
            words, sources=sources,
        )  # fmt: skip

    return file, as_it_prints


def _in_two(request: HttpRequest) -> list[Choice]:
    """Whether the card is of one pouch or of two."""
    chosen = "1" if request.GET.get("double") == "1" else ""
    return [Choice("double", "Pouch", [("", "single"), ("1", "double")], chosen)]


def _card_of_instrument(request: HttpRequest, one: Instrument) -> Card:
    double = request.GET.get("double") == "1"
    return work_cards.instrument_card(one, person(request), show_for(request), double=double)


def _card_of_set(request: HttpRequest, one: InstrumentSet) -> Card:
    return work_cards.set_card(one, person(request), show_for(request))


instrument_card, instrument_card_preview = _card_views(
    "instrument", _instrument, _card_of_instrument, "catalog.print_label", _in_two
)
set_card, set_card_preview = _card_views(
    "set", _set, _card_of_set, "catalog.print_count_sheet", lambda request: []
)


# --- what all of them share ------------------------------------------------------------------


def _papers(chosen: str) -> Choice:
    return Choice("paper", "Paper", [(paper, paper) for paper in SHEET_PAPERS], chosen, kept=True)
