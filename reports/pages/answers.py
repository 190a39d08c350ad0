"""What all pages of papers share: what is chosen, the preview round a PDF, the file itself."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.http import urlencode
from django.views.decorators.clickjacking import xframe_options_sameorigin

from assembly.ledger import Refused
from assembly.persons import person_at
from assembly.presses import Sent
from catalog.forms.fields import WholeField
from catalog.pages.exports import file_response, streamed
from catalog.reading import View, read_page
from reports.documents.labels import LabelDocument
from reports.documents.lists import ListDocument
from reports.documents.papers import NothingToPrint, PrintError
from reports.drawing.stocks import Stock
from reports.gathering.list_files import FORMS
from reports.gathering.photos import Photos
from reports.gathering.stocks import label_stocks
from reports.pages.workstation import PRINTING, corrected, first_free, sheet_paper

MOST_COPIES = 500
"""Labels of which there are several at once: a roll has about as many. Our own bound, against a
slip of the hand."""


def paper_file(permission: str) -> Callable[[View], View]:
    """A view of a file that is only read, and may be shown inside our own pages."""
    return lambda view: read_page(permission)(xframe_options_sameorigin(view))


def person(request: HttpRequest) -> str:
    """The signed-in person as papers name them."""
    return person_at(request).name


@dataclass(frozen=True, slots=True)
class Choice:
    """One thing that can be chosen for a paper: its name in the address, and what there is.

    ``kept``: this workstation can keep it for all that it prints.
    """

    name: str
    label: str
    options: Sequence[tuple[str, str]]
    chosen: str
    kept: bool = False


def photos_for(request: HttpRequest) -> Photos | None:
    """The photographs, where ``?photos=yes`` wants them."""
    return Photos() if request.GET.get("photos") == "yes" else None


class LabelsSent(Sent):
    """What an address of labels asks for; what cannot be read is refused, never taken for 1."""

    copies = WholeField("number of copies", least=1, most=MOST_COPIES, absent=1)


def refused(request: HttpRequest, problem: object, back: str, *named: str) -> HttpResponse:
    """Why there is no file: to a page that prints it (``print.js``), else on the page ``back``."""
    if PRINTING in request.headers:
        return unread(request, problem)
    messages.error(request, str(problem))
    return redirect(back, *named)


def unread(request: HttpRequest, problem: object, **_: Any) -> HttpResponse:
    """A file that is not made, and why."""
    return HttpResponse(str(problem), status=422, content_type="text/plain; charset=utf-8")


def label_choices(on: Stock, start: int) -> Iterator[Choice]:
    """What labels are printed on, and on a sheet from which position; what is chosen there is
    kept, so that nothing is chosen when the page comes back."""
    names = [(one.key, one.name) for one in label_stocks().values()]
    yield Choice("stock", "Stock", names, on.key, kept=True)
    if on.grid:
        places = [(str(place), str(place)) for place in range(1, on.grid.labels + 1)]
        yield Choice("start", "First free position", [("", f"next: {start}"), *places], "")


def copies_asked(request: HttpRequest, labels: int = 1) -> int:
    """How many of each of so many labels are printed; Refused where that is more than a roll."""
    copies: int = LabelsSent.read(request.GET)["copies"]
    if copies > 1 and copies * labels > MOST_COPIES:
        raise Refused(f"{copies} copies of {labels} labels are more than the {MOST_COPIES} that "
                      "are printed at once. Ask for fewer copies.")  # fmt: skip
    return copies


def copies_of(request: HttpRequest, labels: int = 1) -> Text:
    """How many of each label are printed, to be written."""
    words = "How many" if labels == 1 else "How many of each"
    return Text("copies", words, str(copies_asked(request, labels)))


def label_words(document: LabelDocument, note: str) -> list[str]:
    """What a label says, line by line, and where it is stuck."""
    lot = f"Lot {document.lot_number}" if document.lot_number else ""
    said = (*document.marks, document.what, *document.count_words, document.package,
            document.method, document.department, document.packed_words, *_load_words(document),
            lot, document.shelf_words, document.barcode_text, note)  # fmt: skip
    return [words for words in said if words]


def _load_words(document: LabelDocument) -> Iterator[str]:
    """What it says of its load, and what is left to write on it by hand."""
    yield " · ".join(f"{name} {words}" for name, words in document.load_fields if words)
    if blank := [name.lower() for name, words in document.load_fields if not words]:
        yield f"To write on it: {', '.join(blank)}"


@dataclass(frozen=True, slots=True)
class Text:
    """Words that can be written for a paper: their name in the address, and what is written."""

    name: str
    label: str
    value: str


def preview(
    request: HttpRequest, paper: str, title: str, file: str, back: str,
    choices: Sequence[Choice], make: Callable[[], list[str]], texts: Sequence[Text] = (),
    on: Stock | None = None, left_out: Sequence[str] = (), sources: Sequence[str] = (),
) -> HttpResponse:  # fmt: skip
    """The page round the PDF: what it says in words, what can be chosen, or the refusal; of
    several papers those that are ``left_out``, and why.

    ``on`` is the stock of labels: then stock and first free position are chosen too.
    ``sources`` stand on the page alone; they are read once ``make`` has run.
    """
    start = first_free(request, on) if on else 1
    choices = [*choices, *(label_choices(on, start) if on else ())]
    try:
        words, refusal = make(), ""
    except (NothingToPrint, PrintError) as problem:
        words, refusal = [], str(problem)
    chosen = {choice.name: choice.chosen for choice in choices}
    chosen |= {text.name: text.value for text in texts}
    answer = render(
        request,
        "reports/preview.html",
        {
            "paper": paper,
            "title": title,
            "file": f"{file}?{urlencode({name: one for name, one in chosen.items() if one})}",
            "back": back,
            "choices": choices,
            "texts": texts,
            "words": words,
            "sources": sources,
            "refusal": refusal,
            "left_out": left_out,
            "now": timezone.localtime(),
        },
    )
    return corrected(request, answer, on, start) if on else answer


def pdf_response(data: bytes, name: str) -> HttpResponse:
    """A PDF to look at or save, never kept by a cache."""
    return file_response(data, name, "application/pdf", inline=True)


def answer_or_back(
    request: HttpRequest, name: str, back: str, draw: Callable[[], bytes]
) -> HttpResponse:
    """The PDF, or the reason why there is none: to what prints it, else on the page ``back``."""
    try:
        return pdf_response(draw(), name)
    except (NothingToPrint, PrintError) as problem:
        return refused(request, problem, back)


def check_form(form: str) -> None:
    """Http404 where a list is not had as this."""
    if form not in FORMS:
        raise Http404(f"A list is had as {', '.join(FORMS)}.")


def as_file(
    request: HttpRequest, document: ListDocument, file: str, form: str, back: str, *named: str
) -> HttpResponseBase:
    """A list as ``file`` in one of its forms, sent while it is written; what cannot be printed is
    refused on the page ``back``."""
    content_type, write = FORMS[form]
    try:
        written = write(document, sheet_paper(request))
        return streamed(written, f"{file}.{form}", content_type, inline=form == "pdf")
    except PrintError as problem:
        return refused(request, problem, back, *named)
