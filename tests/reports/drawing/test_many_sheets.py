"""Many count sheets in one file, sheets after a build, columns and pictures."""

from __future__ import annotations

import io
import re

import pypdfium2
import pytest
from PIL import Image

from catalog.runs import StoppedError
from reports.documents.count_sheets import CountSheetLine, CountSheetSection, Signed, Substitute
from reports.drawing.fitting import PrintRefused
from reports.drawing.sheets.count_sheets import draw_count_sheet
from reports.drawing.sheets.rows import NAME
from tests.reports.examples import (
    codes,
    draw_count_sheets,
    line,
    one_line,
    page_texts,
    sheet,
    squeezed,
)

CODES = ("HFH-S-0001", "HFH-S-0002", "HFH-S-0003")


def three(**options):
    documents = [sheet(60, set_code=code, set_name=f"Set {code}") for code in CODES]
    return draw_count_sheets(documents, **options)


def photo(kind: str = "JPEG", size: tuple[int, int] = (900, 600)) -> bytes:
    out = io.BytesIO()
    Image.new("RGB", size, (90, 120, 150)).save(out, kind)
    return out.getvalue()


def test_sets_stand_in_the_order_given():
    found = re.findall(r"HFH-S-000\d", " ".join(text[:60] for text in page_texts(three())[1:]))
    assert list(dict.fromkeys(found)) == list(CODES)


def test_the_contents_come_first_and_name_the_true_pages():
    texts = page_texts(three())
    named = re.findall(r"(HFH-S-000\d) Set HFH-S-000\d (\d+)", texts[0])
    true = [
        (code, str(next(n for n, text in enumerate(texts, 1) if n > 1 and code in text)))
        for code in CODES
    ]
    assert named == true


def test_there_is_a_bookmark_at_the_first_page_of_each_set():
    pdf = pypdfium2.PdfDocument(three())
    texts = page_texts(three())
    marks = [(mark.get_title(), mark.get_dest().get_index()) for mark in pdf.get_toc()]
    firsts = [next(n for n, text in enumerate(texts) if n and code in text) for code in CODES]
    assert marks == [
        (f"{code} Set {code}", first) for code, first in zip(CODES, firsts, strict=True)
    ]


def test_each_sheet_counts_its_own_pages():
    found = re.findall(r"Page (\d+) of (\d+)", " ".join(page_texts(three())))
    (last,) = {count for _, count in found}
    assert found == [(str(n), last) for n in range(1, int(last) + 1)] * len(CODES)


def test_a_long_contents_goes_on_to_a_second_page():
    documents = [sheet(1, set_code=f"S-{n:03}", set_name="A set") for n in range(60)]
    texts = page_texts(draw_count_sheets(documents))
    assert ["Contents, page 2 of 2" in text for text in texts[:3]] == [False, True, False]


def test_a_sheet_that_cannot_be_printed_is_named_and_the_others_printed():
    bad = sheet(1, set_code="BAD-1", set_name="Set " * 200)
    texts = page_texts(draw_count_sheets([sheet(1), bad, sheet(1, set_code="HFH-S-0043")]))
    assert ["BAD-1" in text for text in texts] == [True, False, False]


def test_what_was_left_out_is_said_on_the_first_page():
    words = "HF-S09 Set nine: No count sheet of HF-S09 is approved yet."
    texts = page_texts(draw_count_sheets([sheet(1)], left_out=[words]))
    assert squeezed(words) in squeezed(texts[0])


def test_a_run_of_sheets_can_be_stopped():
    def stop(done: int) -> None:
        if done == 2:
            raise StoppedError(done)

    with pytest.raises(StoppedError, match="after 2"):
        three(progress=stop)


def test_documents_are_taken_one_at_a_time():
    told: list[str] = []

    def documents():
        for code in CODES:
            told.append(code)
            yield sheet(1, set_code=code)

    draw_count_sheets(documents(), progress=lambda done: told.append(str(done)))
    assert told == [CODES[0], "1", CODES[1], "2", CODES[2], "3"]


@pytest.mark.parametrize(("inside", "words"), [(2, "2"), (1, "1 of 2"), (0, "0 of 2")])
def test_what_was_counted_stands_in_the_first_column(inside, words):
    text = page_texts(draw_count_sheet(one_line(quantity=2, inside=inside)))[0]
    assert f"HF-5001 {words} Total" in text


def test_a_line_not_counted_stays_empty():
    assert sheet(2).lines[0].counted == ""


SHORT = {"quantity": 1, "inside": 0, "missing": 1, "name": "Péan"}
MISSING = "MISSING 1 Péan (0 of 1 in the set)"


def test_what_is_missing_stands_under_the_title():
    text = page_texts(draw_count_sheet(one_line(**SHORT)))[0]
    assert text.index(MISSING) < text.index("Packed in")


def test_what_is_missing_stands_on_every_page_and_in_its_cell():
    lines = (line(1, **SHORT), *(line(n, inside=line(n).quantity) for n in range(2, 61)))
    texts = page_texts(draw_count_sheet(sheet(sections=(CountSheetSection("", lines),))))
    assert len(texts) > 2 and all(MISSING in text for text in texts)
    assert "0 of 1" in texts[0].replace(MISSING, "")


def test_more_that_is_missing_than_a_line_holds_is_counted_on_later_pages():
    lines = tuple(line(n, **SHORT | {"name": f"Péan of kind {n}"}) for n in range(1, 61))
    texts = page_texts(draw_count_sheet(sheet(sections=(CountSheetSection("", lines),))))
    assert "and 52 more lines: see the black cells" in texts[0]
    assert all("MISSING 60 pieces on 60 lines: see page 1" in text for text in texts[1:])


def test_a_substitute_has_a_row_of_its_own_and_is_not_counted_as_the_item():
    document = one_line(quantity=2, inside=1, instead=(Substitute(1, "Mayo scissors", "HF-9"),))
    text = page_texts(draw_count_sheet(document))[0]
    assert "1 + 1 substitute Substitute for line 1: Mayo scissors HF-9 1 Total" in text
    assert "2 of 2 pieces, 1 of them a substitute" in text and "MISSING" not in text


def test_who_signed_stands_on_the_lines():
    signed = Signed("T. Birkett", "6 Mar 2026, 14:05", "B. Hartsop", "7 Mar 2026, 09:10")
    text = page_texts(draw_count_sheet(sheet(1, signed=signed)))[0]
    assert all(words in text for words in ("6 Mar 2026, 14:05", "B. Hartsop", "7 Mar 2026, 09:10"))


def test_without_columns_the_count_stands_under_the_name():
    counted = one_line(quantity=2, inside=1).sections
    text = page_texts(draw_count_sheet(sheet(sections=counted, tick_columns=())))[0]
    assert "counted: 1 of 2" in text


def test_a_package_has_its_own_code_on_every_page():
    pdf = pypdfium2.PdfDocument(draw_count_sheet(sheet(60, package_code="PK-000006J")))
    found = [codes(page.render(scale=300 / 72, grayscale=True).to_pil()) for page in pdf]
    assert [[code.text for code in page] for page in found] == [["PK-000006J"]] * len(pdf)


@pytest.mark.parametrize("count", range(11, 15))
def test_with_photos_no_page_holds_the_end_alone(count):
    lines = tuple(line(n, photo=photo()) for n in range(1, count + 1))
    texts = page_texts(draw_count_sheet(sheet(sections=(CountSheetSection("", lines),))))
    assert len(texts) == 2 and len(re.findall(r"HF-5\d{3}", texts[1])) >= 3


@pytest.mark.parametrize("paper", ["A4", "letter"])
def test_forty_lines_take_two_pages_at_eleven_points(paper):
    half = {0: {"details": ("protector vented, small",)}, 1: {"details": ("Lay flat.",)}}
    lines = tuple(line(n, **half.get(n % 4, {})) for n in range(1, 41))
    layers = (CountSheetSection("Upper layer", lines[:20]),
              CountSheetSection("Lower layer", lines[20:]))  # fmt: skip
    assert len(page_texts(draw_count_sheet(sheet(sections=layers), paper))) == 2
    assert NAME.largest == 11.0


def test_the_columns_are_the_departments_own():
    text = page_texts(draw_count_sheet(sheet(1, tick_columns=("Gezählt", "Nach OP"))))[0]
    assert "item number Gezählt Nach OP" in text


def test_all_columns_can_be_switched_off():
    text = page_texts(draw_count_sheet(sheet(1, tick_columns=())))[0]
    assert [word for word in ("Before", "Added", "After") if word in text] == []


def pictured(data: bytes):
    return draw_count_sheet(one_line(photo=data))


@pytest.mark.parametrize("kind", ["JPEG", "PNG"])
def test_a_photo_is_printed_in_its_own_proportions(kind):
    page = pypdfium2.PdfDocument(pictured(photo(kind)))[0]
    (box,) = [item.get_bounds() for item in page.get_objects(filter=[3])]
    assert (box[2] - box[0]) / (box[3] - box[1]) == pytest.approx(1.5, abs=0.01)


def test_a_large_photo_does_not_make_a_large_file():
    assert len(pictured(photo(size=(4000, 3000)))) < 200_000


def test_a_sheet_without_photos_has_no_column_for_them():
    assert "Picture" not in page_texts(draw_count_sheet(sheet(2)))[0]


def test_what_is_no_picture_is_refused_by_line():
    with pytest.raises(PrintRefused) as refusal:
        pictured(b"GIF89a")
    assert refusal.value.field == "photo on line 1"


def test_a_set_of_one_line_with_a_name_of_two_hundred_signs():
    name = ("Set for the reconstruction of long names, " * 5)[:200].strip()
    text = page_texts(draw_count_sheet(sheet(1, set_name=name)))[0]
    assert squeezed(name) in squeezed(text)


def test_sections_without_a_title_have_no_heading():
    lines = (CountSheetLine(1, 1, "Probe"),)
    document = sheet(sections=(CountSheetSection("", lines),))
    assert "1 piece Probe" not in page_texts(draw_count_sheet(document))[0]
