"""The papers of recorded packages: a label, a load's labels, a set's count sheet as built.

They are shown inside the package's page, so they may be framed by our own pages.
"""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone

from assembly.judging.taking import supplies_in
from assembly.models import Load, Package, Recall
from assembly.packages.sealing import alike
from assembly.packages.standing import packages_in
from assembly.presses import refusals
from assembly.rules.telling.labelling import placement
from catalog.reading import read_page
from reports.documents.labels import LabelDocument
from reports.documents.papers import NotPrinted, PrintError
from reports.drawing.labels.labels import draw_labels
from reports.drawing.lists import draw_list
from reports.drawing.records import draw_record
from reports.drawing.sheets.count_sheets import draw_count_sheet
from reports.gathering import recalls
from reports.gathering.count_sheets import built_sheet_document
from reports.gathering.labels.packages import fitting_label, labels_or_why
from reports.gathering.package_record import package_record
from reports.pages.answers import (
    Text,
    copies_asked,
    copies_of,
    label_words,
    paper_file,
    pdf_response,
    person,
    photos_for,
    preview,
    unread,
)
from reports.pages.workstation import first_free, moved_on, sheet_paper, stock_for, stock_shown


@paper_file("catalog.print_label")
@refusals(unread)
def package_label(request: HttpRequest, code: str) -> HttpResponse:
    """The label of a package, void or in force; ``?stock=a4-3x8&start=5`` chooses where,
    ``?copies=2`` how many."""
    package = get_object_or_404(Package, code=code.upper())
    return _labels(request, [package], f"label-{package.code}.pdf")


@paper_file("catalog.print_label")
@refusals(unread)
def alike_labels(request: HttpRequest, code: str) -> HttpResponse:
    """One strip: the labels of all that were packed alike in one press, ``?copies=2`` of each."""
    package = get_object_or_404(Package, code=code.upper())
    return _labels(request, list(alike(package)), f"labels-{package.code}.pdf")


@read_page("catalog.print_label")
@refusals("alike_labels_preview")
def alike_labels_preview(request: HttpRequest, code: str) -> HttpResponse:
    """The strip as it prints, on the stock chosen."""
    package = get_object_or_404(Package, code=code.upper())
    return _several(
        request, list(alike(package)), package.what,
        reverse("alike_labels", args=[package.code]), reverse("alike", args=[package.code]),
    )  # fmt: skip


@read_page("catalog.print_label")
@refusals("package_label_preview")
def package_label_preview(request: HttpRequest, code: str) -> HttpResponse:
    """The label as it prints, on the stock chosen, and where it is stuck."""
    package = get_object_or_404(Package, code=code.upper())
    note = placement(supplies_in(package.taken)[0])
    on = stock_shown(request)
    return preview(
        request, "Label", str(package), reverse("package_label", args=[package.code]),
        reverse("package", args=[package.code]), [],
        lambda: label_words(fitting_label(package, on, _destination(request)), note),
        texts=[copies_of(request),
               Text("for", "For where, if no request says", _destination(request))], on=on,
    )  # fmt: skip


def _destination(request: HttpRequest) -> str:
    return request.GET.get("for", "").strip()[:90]


@paper_file("catalog.print_label")
@refusals(unread)
def load_labels(request: HttpRequest, pk: int) -> HttpResponse:
    """The labels of every package in a load, in the order in which they were put in, ``?copies=2``
    of each."""
    load = get_object_or_404(Load, pk=pk)
    return _labels(request, list(packages_in(load)), f"labels-load-{load.pk}.pdf")


@read_page("catalog.print_label")
@refusals("load_labels_preview")
def load_labels_preview(request: HttpRequest, pk: int) -> HttpResponse:
    """A load's labels as they print, on the stock chosen."""
    load = get_object_or_404(Load, pk=pk)
    return _several(
        request, list(packages_in(load)), f"load {load}",
        reverse("load_labels", args=[load.pk]), reverse("load", args=[load.pk]),
    )  # fmt: skip


def _several(
    request: HttpRequest, packages: list[Package], title: str, file: str, back: str
) -> HttpResponse:
    """The page round the labels of several packages: which there are, which not, and why."""
    on = stock_shown(request)
    labels = list(labels_or_why(packages, on))
    return preview(
        request, "Labels", title, file, back, [],
        lambda: [f"{one.barcode_text} {one.what}"
                 for one in labels if isinstance(one, LabelDocument)],
        texts=[copies_of(request, len(packages))],
        on=on, left_out=[str(one) for one in labels if isinstance(one, NotPrinted)],
    )  # fmt: skip


@paper_file("catalog.print_label")
@refusals(unread)
def recall_sheet(request: HttpRequest, pk: int) -> HttpResponse:
    """The packages of a recall by where they are, to walk with."""
    recall = get_object_or_404(Recall, pk=pk)
    document = recalls.recall_sheet(recall, person(request))
    try:
        pdf = draw_list(document, sheet_paper(request))
    except PrintError as problem:
        return unread(request, problem)
    return pdf_response(pdf, f"recall-{recall.pk}.pdf")


@read_page("assembly.view_package")
def record(request: HttpRequest, code: str) -> HttpResponse:
    """All that is on record of a package, as it was written down when it happened."""
    package = get_object_or_404(Package, code=code.upper())
    context = {"record": package_record(package.code)}
    return render(request, "reports/record.html", context)


@paper_file("assembly.view_package")
def record_file(request: HttpRequest, code: str) -> HttpResponse:
    """The same on paper."""
    package = get_object_or_404(Package, code=code.upper())
    made_at = timezone.localtime().replace(tzinfo=None)
    try:
        pdf = draw_record(package_record(package.code), made_at, person(request),
                          sheet_paper(request))  # fmt: skip
    except PrintError as problem:
        return unread(request, problem)
    return pdf_response(pdf, f"record-{package.code}.pdf")


def _labels(request: HttpRequest, packages: list[Package], name: str) -> HttpResponse:
    on, copies = stock_for(request), copies_asked(request, len(packages))
    start = first_free(request, on)
    if not packages:
        return unread(request, "Nothing is in this load yet.")
    labels = list(labels_or_why(packages, on, _destination(request)))
    left_out = [one for one in labels if isinstance(one, NotPrinted)]
    if len(left_out) == len(labels):
        return unread(request, "\n".join(map(str, left_out)))
    each = [one for one in labels for _ in range(copies)]
    pdf = draw_labels(each, on, start_at=start, title=_title(packages))
    return moved_on(request, pdf_response(pdf, name), on, start, len(each))


def _title(packages: list[Package]) -> str:
    return f"Label {packages[0]}" if len(packages) == 1 else f"{len(packages)} labels"


@paper_file("catalog.print_count_sheet")
def package_count_sheet(request: HttpRequest, code: str) -> HttpResponse:
    """The count sheet of a signed set, on A4 or ``?paper=letter``, and ``?photos=yes``."""
    package = get_object_or_404(
        Package.objects.select_related("build__count_sheet", "build__instrument_set", "decided"),
        code=code.upper(),
        kind=Package.Kind.SET,
    )
    try:
        sheet = built_sheet_document(package, person(request), photos=photos_for(request))
        pdf = draw_count_sheet(sheet, sheet_paper(request))
    except PrintError as problem:
        return unread(request, problem)
    return pdf_response(pdf, f"count-sheet-{package.code}.pdf")
