from __future__ import annotations

import re
from dataclasses import replace
from datetime import datetime

import pypdfium2
import pytest

from assembly.rules.findings import Status
from assembly.rules.telling.decided import Decided
from reports.documents.count_sheets import CountSheetSection, Substitute
from reports.drawing.fitting import PrintRefused
from reports.drawing.measures import millimetres
from reports.drawing.sheets.count_sheets import draw_count_sheet
from reports.drawing.sheets.parts import columns
from reports.drawing.sheets.rows import row
from tests.reports.examples import (
    DECIDED,
    codes,
    line,
    one_line,
    overlapping,
    page_size_mm,
    page_texts,
    rendered,
    sheet,
    squeezed,
    type_sizes,
    word_boxes,
)

LONG_NAME = ("Retractor with hinged arms, blunt teeth and ratchet, " * 4)[:200]
HEADINGS = "No. Qty Instrument, item number Assembled Before Added After"


def read(document, paper="A4") -> str:
    return squeezed(" ".join(page_texts(draw_count_sheet(document, paper))))


@pytest.mark.parametrize(
    "words",
    [
        "Hollin Fell Hospital",
        "General minor set",
        "HFH-S-0042",
        "General surgery",
        "7, current",
        "Approved by B. Hartsop, 2 Feb 2026",
        "Wrap W-1200, envelope fold",
        "S134-3 (steam 134 °C, 3 min)",
        "8.42 kg, under the limit of 11.34 kg",
        "3 lines, 9 pieces",
        "Not weighed: Uterine sound.",
        "Printed 6 Mar 2026, 14:05 by T. Birkett",
        "Shortages and substitutions",
        "Assembled by Date, time Checked by Date, time",
        "Count correct yes no Scrub Circulating Date, time",
    ],
)
def test_the_sheet_says_what_the_document_says(words):
    assert squeezed(words) in read(sheet())


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"details": ("Baby Crile", "may go without")}, "Baby Crile · may go without"),
        ({"name": LONG_NAME}, LONG_NAME),
        ({"name": "Λαβίδα Зажим Größe"}, "Λαβίδα Зажим Größe"),
    ],
)
def test_a_line_says_what_the_document_says(changes, words):
    assert squeezed(words) in read(one_line(**changes))


def test_a_section_without_lines_is_still_named():
    sections = (CountSheetSection("Upper tray", ()), CountSheetSection("Lower tray", (line(),)))
    assert "Uppertraynolines" in read(sheet(sections=sections))


def test_a_first_line_too_tall_for_the_first_page_goes_to_the_next():
    texts = page_texts(draw_count_sheet(one_line(details=("words " * 780,))))
    assert ["HF-5001" in text for text in texts[:2]] == [False, True]


def test_an_unknown_quantity_is_a_question_mark():
    assert "1?Scissors" in read(one_line(quantity=None))


def test_what_stands_in_the_way_comes_before_all_else():
    stop = Decided(stop="NOT DECIDED. Do not pack.", why="The wrap's size is not on record.")
    texts = page_texts(draw_count_sheet(sheet(40, decided=stop)))
    assert texts[0].index("The wrap's size is not on record.") < texts[0].index("Packed in")
    assert all("NOT DECIDED. Do not pack." in text for text in texts)


@pytest.mark.parametrize("paper", ["A4", "letter"])
@pytest.mark.parametrize("count", [1, 33, 150])
def test_no_line_is_lost_doubled_or_out_of_order(count, paper):
    text = read(sheet(count), paper)
    assert re.findall(r"HF-5\d{3}", text) == [f"HF-{5000 + n}" for n in range(1, count + 1)]


def test_each_page_has_its_number_and_the_count():
    texts = page_texts(draw_count_sheet(sheet(150)))
    found = [re.findall(r"Page \d+ of \d+", text) for text in texts]
    assert found == [[f"Page {n} of {len(texts)}"] for n in range(1, len(texts) + 1)]


def test_each_page_with_lines_has_the_heading_row():
    texts = page_texts(draw_count_sheet(sheet(150)))
    assert all(squeezed(HEADINGS) in squeezed(text) for text in texts if "HF-5" in text)


def test_each_page_names_the_set_and_its_code():
    texts = page_texts(draw_count_sheet(sheet(150)))
    assert all("General minor set" in text and "HFH-S-0042" in text for text in texts)


def test_a_section_parted_by_a_page_break_is_named_again():
    assert "Layer 2, continued" in page_texts(draw_count_sheet(sheet(33)))[1]


def test_a_line_is_not_parted_between_pages():
    notes = tuple(
        line(n, details=(f"Begin{n} " + "words " * 120 + f"end{n}",)) for n in range(1, 13)
    )
    texts = page_texts(draw_count_sheet(sheet(sections=(CountSheetSection("", notes),))))
    begins = [re.findall(r"Begin(\d+) ", text) for text in texts]
    ends = [re.findall(r"end(\d+) ", text) for text in texts]
    assert begins == ends


@pytest.mark.parametrize("count", range(14, 24))
def test_a_section_title_never_stands_last_on_a_page(count):
    first = CountSheetSection("First", tuple(line(n) for n in range(1, count + 1)))
    second = CountSheetSection("Second part", (line(count + 1),))
    texts = page_texts(draw_count_sheet(sheet(sections=(first, second))))
    (page,) = [text for text in texts if "Second part" in text]
    assert f"HF-{5000 + count + 1}" in page


@pytest.mark.parametrize("state", ["draft", "retired"])
def test_a_revision_not_in_force_is_marked_on_every_page(state):
    texts = page_texts(draw_count_sheet(sheet(60, revision_state=state)))
    assert all(state.upper() in text for text in texts)


@pytest.mark.parametrize(("paper", "size"), [("A4", (210, 297)), ("letter", (215.9, 279.4))])
def test_the_page_is_the_paper(paper, size):
    assert page_size_mm(draw_count_sheet(sheet(), paper)) == pytest.approx(size, abs=0.01)


@pytest.mark.parametrize("dpi", [203, 300])
def test_the_set_code_is_read_from_the_page(dpi):
    found = codes(rendered(draw_count_sheet(sheet()), dpi))
    assert [(code.text, code.symbology_identifier) for code in found] == [("HFH-S-0042", "]d1")]


def test_every_tick_cell_is_at_least_seven_millimetres():
    places = columns(510, ("Assembled", "Before", "Added", "After"))
    sides = [column.width for column in places.ticks] + [row(line(), places).height]
    assert millimetres(min(sides)) >= 7


@pytest.mark.parametrize("paper", ["A4", "letter"])
def test_words_do_not_lie_on_each_other(paper):
    odd = line(1, name=LONG_NAME, item_number="AB-22-LONG-ITEM-NUMBER-7", quantity=3, inside=1,
               details=("Lay flat. " * 20,), missing=1,
               instead=(Substitute(1, LONG_NAME, "AB-1"),))  # fmt: skip
    document = sheet(
        set_name=LONG_NAME,
        revision_state="draft",
        decided=replace(DECIDED, weight_status=Status.CANNOT_TELL),
        sections=(CountSheetSection("Upper tray", (odd, line(2), line(3))),),
    )
    pages = word_boxes(draw_count_sheet(document, paper))
    assert [overlapping(boxes) for boxes in pages] == [[] for _ in pages]


NOTE = "vented, small · snap; mosquito · as agreed"


@pytest.mark.parametrize("paper", ["A4", "letter"])
@pytest.mark.parametrize("filled", [True, False])
def test_forty_lines_with_notes_are_two_pages_and_nothing_is_smaller(paper, filled):
    lines = [line(n, name=f"Forceps no. {n}", details=(NOTE,)) for n in range(1, 41)]
    stop = Decided(stop="DO NOT PACK", why="The blade is 75 mm high; BK-480 has 50.")
    document = sheet(decided=stop, sections=(CountSheetSection("", tuple(lines)),))
    if filled:
        lines = [replace(one, inside=one.quantity) for one in lines]
        for n in (0, 38):
            lines[n] = replace(lines[n], quantity=2, inside=1, missing=1)
        lines[4] = replace(lines[4], inside=0, instead=(Substitute(1, "Mosquito forceps", "HF-1"),))
        document = sheet(
            sections=(CountSheetSection("", tuple(lines)),), package_code="PK-0000295",
            run=(("Tray", "2 of 3"), ("Lot", "ST1-20261126-4"), ("Load no.", "7")),
        )  # fmt: skip
    pdf = draw_count_sheet(document, paper)
    pages = page_texts(pdf)
    assert len(pages) == 2
    assert squeezed(" ".join(pages)).count(squeezed(NOTE)) == 40
    assert [overlapping(boxes) for boxes in word_boxes(pdf)] == [[], []]
    assert type_sizes(pdf).count(11.0) >= pages[0].count("Forceps no. ") >= 15


def test_tick_columns_are_named_by_the_caller():
    assert "itemnumberPackedORtime" in read(sheet(tick_columns=("Packed", "OR time")))


@pytest.mark.parametrize(
    ("document", "field"),
    [
        (one_line(quantity=10**9), "quantity on line 1"),
        (one_line(details=("words " * 4000,)), "line 1"),
        (sheet(set_name="Set " * 200), "name of the set"),
        (sheet(notices=("Left out. " * 1500,)), "notices"),
        (sheet(tick_columns=("One",) * 14), "tick columns"),
    ],
)
def test_what_cannot_be_printed_is_refused_by_field(document, field):
    with pytest.raises(PrintRefused) as refusal:
        draw_count_sheet(document)
    assert refusal.value.field == field


@pytest.mark.parametrize("code", ["Größe", "W" * 40, "HF-" + "0123456789" * 3 + "-abcdef"])
def test_no_set_code_keeps_a_sheet_off_paper(code):
    """One that scanners read in different ways stands there in words; a long one is broken."""
    pages = page_texts(draw_count_sheet(sheet(40, set_code=code)))
    assert len(pages) > 1
    assert all(code in squeezed(page) for page in pages)


def test_unknown_paper_is_refused():
    with pytest.raises(PrintRefused, match="'A5' is not known"):
        draw_count_sheet(sheet(), "A5")  # type: ignore[arg-type]


def test_equal_documents_give_equal_bytes():
    first = draw_count_sheet(sheet(40))
    draw_count_sheet(sheet(3))
    assert draw_count_sheet(sheet(40)) == first


def test_another_time_of_printing_gives_other_bytes():
    later = sheet(printed_at=datetime(2026, 3, 6, 14, 6))
    assert draw_count_sheet(later) != draw_count_sheet(sheet())


def test_the_pdf_names_its_title_and_author():
    about = pypdfium2.PdfDocument(draw_count_sheet(sheet())).get_metadata_dict()
    assert (about["Title"], about["Author"]) == (
        "Count sheet HFH-S-0042: General minor set",
        "Packbench",
    )
