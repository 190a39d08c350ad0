"""Papers as PDF, and the preview of each: the very file that prints, shown on the screen."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse

from assembly.bench.split_views import set_to_split, split_asked
from assembly.judging.reading_units import show_for
from assembly.packages.printable import label_size
from assembly.presses import refusals
from catalog.models import Instrument, InstrumentSet
from catalog.reading import View, read_page
from reports.documents.cards import Card
from reports.documents.count_sheets import CountSheetDocument
from reports.drawing.cards.work import draw_work_card
from reports.drawing.labels.labels import draw_labels, planned, title_of
from reports.drawing.lists import draw_list
from reports.drawing.sheets.count_sheets import draw_count_sheet
from reports.drawing.stocks import Stock
from reports.gathering import work_cards
from reports.gathering.count_sheets import count_sheet_document
from reports.gathering.labels.shelves import instrument_shelf_label
from reports.gathering.splits import split_sheet
from reports.pages.answers import (
    Choice,
    answer_or_back,
    copies_asked,
    copies_of,
    paper_file,
    person,
    photos_for,
    preview,
    refused,
)
from reports.pages.workstation import (
    SHEET_PAPERS,
    first_free,
    moved_on,
    sheet_paper,
    stock_for,
    stock_shown,
)

FOR_A_SHELF = "For a shelf or a bin: not for a package."


# --- one instrument ----------------------------------------------------------------------


def _instrument(item_number: str) -> Instrument:
    rows = Instrument.objects.prefetch_related("cycles")
    return get_object_or_404(rows, item_number__folded=item_number)


def _draw_shelf_labels(request: HttpRequest, instrument: Instrument, on: Stock) -> bytes:
    copies, start = copies_asked(request), first_free(request, on)
    document = instrument_shelf_label(instrument)
    planned(document, on)
    return draw_labels([document] * copies, on, start_at=start, title=title_of(document))


def _label_refused(request: HttpRequest, problem: object, item_number: str) -> HttpResponse:
    return refused(request, problem, "instrument", item_number)


@paper_file("catalog.print_label")
@refusals(_label_refused)
def label(request: HttpRequest, item_number: str) -> HttpResponse:
    """Labels for the shelf or the bin of one instrument.

    ``?stock=a4-3x8&start=5&copies=3`` chooses the stock, the first free position, how many.
    """
    instrument, on = _instrument(item_number), stock_for(request)
    back = reverse("instrument", args=[instrument.item_number])
    answer = answer_or_back(
        request, f"shelf-label-{instrument.item_number}.pdf", back,
        lambda: _draw_shelf_labels(request, instrument, on),
    )  # fmt: skip
    return moved_on(request, answer, on, first_free(request, on), copies_asked(request))


@read_page("catalog.print_label")
@refusals("label_preview")
def label_preview(request: HttpRequest, item_number: str) -> HttpResponse:
    """The label of its shelf or bin as it will print, on the stock chosen."""
    instrument, on = _instrument(item_number), stock_shown(request)

    def words() -> list[str]:
        document = instrument_shelf_label(instrument)
        planned(document, on)
        return [document.number, document.name, document.note, FOR_A_SHELF]

    return preview(
        request, "Shelf label", str(instrument),
        reverse("label", args=[instrument.item_number]),
        reverse("instrument", args=[instrument.item_number]), [], words,
        texts=[copies_of(request)], on=on,
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
    return work_cards.instrument_card(
        one, person(request), show_for(request), double=double, label=label_size(request)
    )


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


# --- the split of a set ------------------------------------------------------------------


@paper_file("catalog.print_count_sheet")
def set_split(request: HttpRequest, code: str) -> HttpResponse:
    """The trays that a set is split into, ``?layers=2`` of so many layers each."""
    instrument_set, sheet = set_to_split(code)
    split, problem = split_asked(request.GET, instrument_set, sheet, show_for(request))
    back = reverse("split", args=[instrument_set.code])
    if problem:
        return refused(request, problem, back)
    document = split_sheet(split, sheet, person(request))
    name = f"split-{instrument_set.code}.pdf"
    return answer_or_back(request, name, back, lambda: draw_list(document, sheet_paper(request)))
