"""Papers of the invented Hollin Fell Hospital, and what can be read back from a PDF."""

from __future__ import annotations

import ctypes
import io
import math
import re
from collections.abc import Iterable
from dataclasses import replace
from datetime import date, datetime
from itertools import combinations
from typing import Any

import pypdfium2
import zxingcpp

from assembly.rules.findings import Status
from assembly.rules.telling.decided import Decided, weight_words
from reports.documents.count_sheets import CountSheetDocument, CountSheetLine, CountSheetSection
from reports.documents.labels import AnyLabel, LabelDocument
from reports.drawing.labels.labels import draw_labels, planned, title_of
from reports.drawing.sheets.count_sheets import write_count_sheets
from reports.drawing.stocks import Stock

LINE_END_HYPHEN = "\ufffe"  # what pdfium reads for a hyphen that ends a line
TEXT_OBJECT = 1
DESCENDER = 2.0  # points
NAMES = (
    "Needle holder, Mayo-Hegar, 18 cm",
    "Scissors, Metzenbaum, curved, 18 cm",
    "Retractor, Langenbeck, 30 x 11 mm",
    "Towel clip, Backhaus, 11 cm",
)
LABEL = LabelDocument(
    what="Needle holder, Mayo-Hegar, 18 cm",
    packed_by="T. Birkett",
    packed_on=date(2026, 3, 6),
    barcode_text="HFH-P-000123",
    statement="Sterile only if the indicator has changed, and unless opened, damaged or wet.",
    item_number="NH-1804",
    quantity="1 piece",
    package="Pouch P-150x300, single",
    method="Steam 134 °C, 3 min",
    department="Main ORs",
    lot_holds=("sterilizer", "date", "cycle"),
)


DECIDED = Decided(
    package="Wrap W-1200, envelope fold",
    cycle="S134-3 (steam 134 °C, 3 min)",
    weight=weight_words(8420, 11340, Status.MET),
    weight_status=Status.MET,
)


def label(**changes: Any) -> LabelDocument:
    """The example label with ``changes``."""
    return replace(LABEL, **changes)


def line(number: int = 1, **changes: Any) -> CountSheetLine:
    """A line with its own item number."""
    name = NAMES[number % len(NAMES)]
    usual = CountSheetLine(number, number % 5 + 1, name, item_number=f"HF-{5000 + number}")
    return replace(usual, **changes)


def sheet(count: int = 3, **changes: Any) -> CountSheetDocument:
    """A count sheet of ``count`` lines in sections of twenty."""
    lines = [line(number) for number in range(1, count + 1)]
    sections = tuple(
        CountSheetSection(f"Layer {start // 20 + 1}", tuple(lines[start : start + 20]))
        for start in range(0, count, 20)
    )
    usual = CountSheetDocument(
        hospital="Hollin Fell Hospital",
        set_name="General minor set",
        set_code="HFH-S-0042",
        revision="7",
        revision_state="current",
        sections=sections,
        printed_at=datetime(2026, 3, 6, 14, 5),
        printed_by="T. Birkett",
        service="General surgery",
        approval="Approved by B. Hartsop, 2 Feb 2026",
        decided=DECIDED,
        notices=("Not weighed: Uterine sound.",),
    )
    return replace(usual, **changes)


def one_line(**changes: Any) -> CountSheetDocument:
    """A count sheet of one line with ``changes`` to that line."""
    return sheet(sections=(CountSheetSection("", (line(1, **changes),)),))


def page_texts(pdf: bytes) -> list[str]:
    """The text of each page, with every run of white space as one space."""
    texts = [page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument(pdf)]
    return [" ".join(text.replace(LINE_END_HYPHEN, "-").split()) for text in texts]


def squeezed(text: str) -> str:
    """``text`` without white space: a line break says nothing about the words."""
    return "".join(text.split())


def page_size_mm(pdf: bytes) -> tuple[float, float]:
    """The size of the first page in mm."""
    width, height = pypdfium2.PdfDocument(pdf)[0].get_size()
    return width * 25.4 / 72, height * 25.4 / 72


def word_boxes(pdf: bytes) -> list[list[tuple[float, float, float, float]]]:
    """For each page the boxes around its words: left, bottom, right, top in points."""
    pages = pypdfium2.PdfDocument(pdf)
    return [
        [item.get_bounds() for item in page.get_objects() if item.type == TEXT_OBJECT]
        for page in pages
    ]


def type_sizes(pdf: bytes) -> list[float]:
    """The size (points) in which each piece of text stands on the first page, however it is
    scaled."""
    sizes = []
    for item in pypdfium2.PdfDocument(pdf)[0].get_objects(filter=[TEXT_OBJECT]):
        size, matrix = ctypes.c_float(), item.get_matrix()
        pypdfium2.raw.FPDFTextObj_GetFontSize(item.raw, size)
        sizes.append(round(size.value * math.hypot(matrix.c, matrix.d), 2))
    return sizes


def overlapping(boxes: list[tuple[float, float, float, float]]) -> list[tuple[Any, Any]]:
    """Pairs of boxes that lie on each other by more than a descender on an accent."""
    return [
        (one, two)
        for one, two in combinations(boxes, 2)
        if min(one[2], two[2]) - max(one[0], two[0]) > 0.1
        and min(one[3], two[3]) - max(one[1], two[1]) > DESCENDER
    ]


def rendered(pdf: bytes, dpi: int) -> Any:
    """The first page as a grey image at ``dpi``."""
    return pypdfium2.PdfDocument(pdf)[0].render(scale=dpi / 72, grayscale=True).to_pil()


def codes(image: Any) -> list[Any]:
    """The barcodes a reader finds in ``image``."""
    return list(zxingcpp.read_barcodes(image))


def draw_label(document: AnyLabel, on: Stock) -> bytes:
    """A label alone on a page of its size, or the first of its sheet."""
    planned(document, on)
    return draw_labels([document], on, title=title_of(document))


def draw_count_sheets(documents: Iterable[CountSheetDocument], **options: Any) -> bytes:
    """Many count sheets as one file in memory."""
    out = io.BytesIO()
    write_count_sheets(out, documents, **options)
    return out.getvalue()


def pdf_flaws(pdf: bytes) -> list[str]:
    """What a file of ours lacks: fonts that are not in it, a title that is shown, its language.

    ISO 32000-1: 9.9 (embedded font programs), 12.2 (viewer preferences), 14.3.3 (document
    information), 14.9.2 (natural language).
    """
    fonts, embedded = re.findall(rb"/BaseFont /(\S+)", pdf), re.findall(rb"/FontFile2 ", pdf)
    title = pypdfium2.PdfDocument(pdf).get_metadata_dict()["Title"]
    flaws = {
        f"{len(embedded)} of {fonts} embedded": len(fonts) != len(embedded) or not fonts,
        "no title": title in ("", "untitled"),
        "its title is not shown": b"/DisplayDocTitle true" not in pdf,
        "no language": b"/Lang (en)" not in pdf,
        "scaled when printed": b"/PrintScaling /None" not in pdf,
    }
    return [flaw for flaw, found in flaws.items() if found]
