"""What all pages of papers share: what is chosen, the preview round a PDF, the file itself."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.http import urlencode

from reports.documents.papers import LabelDocument, PrintError
from reports.drawing.stocks import Stock, shipped
from reports.gathering.from_catalog import NothingToPrint

LABEL_STOCK = "label-100x50"


def person(request: HttpRequest) -> str:
    """The signed-in person as papers name them."""
    return request.user.get_full_name() or request.user.get_username()  # type: ignore[union-attr]


@dataclass(frozen=True, slots=True)
class Choice:
    """One thing that can be chosen for a paper: its name in the address, and what there is."""

    name: str
    label: str
    options: Sequence[tuple[str, str]]
    chosen: str


def stock_for(request: HttpRequest) -> Stock:
    """The stock that ``?stock=`` names; the common one where it names none."""
    known = shipped().by_key
    return known.get(request.GET.get("stock", ""), known[LABEL_STOCK])


def whole_number(request: HttpRequest, name: str, most: int) -> int:
    """A whole number from the address, from 1 to ``most``; 1 where it is none."""
    typed = request.GET.get(name, "1")
    return min(most, max(1, int(typed))) if typed.isascii() and typed.isdigit() else 1


def numbers(most: int) -> list[tuple[str, str]]:
    """The whole numbers from 1 to ``most`` as options."""
    return [(str(number), str(number)) for number in range(1, most + 1)]


def free_positions(request: HttpRequest, on: Stock) -> Choice:
    """The choice of the first free position on a sheet of labels; 1 on a roll."""
    places = on.grid.labels if on.grid else 1
    start = whole_number(request, "start", places)
    return Choice("start", "First free position", numbers(places), str(start))


def stocks(on: Stock) -> Choice:
    """The choice of what labels are printed on."""
    return Choice("stock", "Stock", [(s.key, s.name) for s in shipped().by_key.values()], on.key)


def label_words(document: LabelDocument, note: str) -> list[str]:
    """What a label says, line by line, and where it is stuck."""
    lot = f"Lot {document.lot_number}" if document.lot_number else ""
    said = (*document.flags, document.what, document.quantity, document.package, document.method,
            document.department, document.packed_words, lot, document.shelf_words,
            document.barcode_text, *document.notices, note)  # fmt: skip
    return [words for words in said if words]


@dataclass(frozen=True, slots=True)
class Text:
    """Words that can be written for a paper: their name in the address, and what is written."""

    name: str
    label: str
    value: str


def preview(
    request: HttpRequest, paper: str, title: str, file: str, back: str,
    choices: Sequence[Choice], make: Callable[[], list[str]], texts: Sequence[Text] = (),
) -> HttpResponse:  # fmt: skip
    """The page round the PDF: what it says in words, what can be chosen, or the refusal."""
    try:
        words, refusal = make(), ""
    except (NothingToPrint, PrintError) as problem:
        words, refusal = [], str(problem)
    chosen = {choice.name: choice.chosen for choice in choices}
    chosen |= {text.name: text.value for text in texts if text.value}
    return render(
        request,
        "reports/preview.html",
        {
            "paper": paper,
            "title": title,
            "file": f"{file}?{urlencode(chosen)}",
            "back": back,
            "choices": choices,
            "texts": texts,
            "words": words,
            "refusal": refusal,
            "now": timezone.localtime(),
        },
    )


def pdf_response(data: bytes, name: str) -> HttpResponse:
    """A PDF to look at or save, never kept by a cache."""
    return file_response(data, name, "application/pdf", inline=True)


def file_response(data: bytes, name: str, kind: str, *, inline: bool = False) -> HttpResponse:
    """A file under a name without strange signs."""
    safe = "".join(mark if mark.isalnum() or mark in "-._" else "-" for mark in name)
    how = "inline" if inline else "attachment"
    return HttpResponse(
        data,
        content_type=kind,
        headers={"Content-Disposition": f'{how}; filename="{safe}"', "Cache-Control": "no-store"},
    )
