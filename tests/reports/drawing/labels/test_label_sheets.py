"""Labels on sheets and rolls: places in mm, what they must state, the codes on them."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pypdfium2
import pytest
from hypothesis import given
from hypothesis import strategies as st

from assembly.rules.telling.labelling import lot_number
from catalog.runs import StoppedError
from reports.documents.labels import MINIMUM, WRITTEN_IN
from reports.documents.papers import MissingElement, PrintError
from reports.drawing.barcodes import asset_data_matrix
from reports.drawing.fitting import PrintRefused
from reports.drawing.labels.labels import draw_labels
from reports.drawing.labels.rulers import draw_ruler
from reports.drawing.stocks import of_size, shipped, stock
from tests.reports.examples import (
    codes,
    draw_label,
    label,
    overlapping,
    page_size_mm,
    page_texts,
    rendered,
    squeezed,
    word_boxes,
)

A4, LETTER = stock("a4-3x8"), stock("letter-3x7")
LARGE = stock("label-100x50")
TALL = stock("roll-100x60")
MM = 25.4 / 72
SHEETS = pytest.mark.parametrize("on", [A4, LETTER], ids=lambda on: on.key)


def many(count: int, **changes):
    return [label(barcode_text=f"HFP{number:07}", **changes) for number in range(count)]


def corners_mm(pdf: bytes, page: int = 0) -> list[tuple[float, float]]:
    """Left and top of each label's name on a page, in mm from the top left."""
    sheet = pypdfium2.PdfDocument(pdf)[page]
    found = []
    for item in sheet.get_objects(filter=[1]):
        left, bottom, right, top = item.get_bounds()
        if top - bottom > 2.2 / MM * 0.9 and right - left > 20 / MM:
            found.append((left * MM, (sheet.get_height() - top) * MM))
    return found


@SHEETS
def test_a_sheet_is_its_paper(on):
    expected = {"A4": (210, 297), "letter": (215.9, 279.4)}[on.grid.paper]
    assert page_size_mm(draw_labels(many(2), on)) == pytest.approx(expected, abs=0.01)


@SHEETS
def test_labels_go_on_to_a_second_sheet(on):
    pdf = draw_labels(many(on.grid.labels + 1), on)
    assert [text.count("Mayo-Hegar") for text in page_texts(pdf)] == [on.grid.labels, 1]


@SHEETS
def test_labels_stand_one_pitch_apart(on):
    one = draw_labels(many(1), on)
    right = draw_labels(many(1), on, start_at=2)
    below = draw_labels(many(1), on, start_at=1 + on.grid.across)
    (x, y), (x2, _), (_, y2) = (min(corners_mm(pdf), key=sum) for pdf in (one, right, below))
    assert (x2 - x, y2 - y) == pytest.approx((on.grid.pitch_x_mm, on.grid.pitch_y_mm), abs=0.01)


@SHEETS
def test_every_word_lies_inside_its_label(on):
    (boxes,) = word_boxes(draw_labels(many(on.grid.labels), on))
    high = {"A4": 297.0, "letter": 279.4}[on.grid.paper]
    places = [on.grid.corner_mm(place) for place in range(on.grid.labels)]
    outside = [
        box
        for box in boxes
        if not any(
            left <= box[0] * MM
            and box[2] * MM <= left + on.width_mm
            and top <= high - box[3] * MM
            and high - box[1] * MM <= top + on.height_mm
            for left, top in places
        )
    ]
    assert (outside, overlapping(boxes)) == ([], [])


@pytest.mark.parametrize("position", [0, 25])
def test_a_position_that_is_none_is_refused(position):
    with pytest.raises(PrintRefused) as refusal:
        draw_labels(many(1), A4, start_at=position)
    assert refusal.value.field == "first position"


@SHEETS
def test_every_code_on_a_sheet_is_read(on):
    image = rendered(draw_labels(many(on.grid.labels), on), 300)
    assert sorted(code.text for code in codes(image)) == [
        f"HFP{number:07}" for number in range(on.grid.labels)
    ]


@pytest.mark.parametrize("dpi", [203, 300])
@pytest.mark.parametrize("on", [LARGE, TALL, stock("roll-70x35")], ids=lambda on: on.key)
def test_code_128_is_read_from_a_black_and_white_print(on, dpi):
    document = label(symbol="code 128", barcode_text="HFP0000123", package="", department="")
    image = rendered(draw_label(document, on), dpi).point(lambda shade: 255 * (shade > 127))
    assert [(c.text, c.symbology_identifier) for c in codes(image)] == [("HFP0000123", "]C0")]


@pytest.mark.parametrize("dpi", [203, 300])
def test_a_gs1_code_is_read_as_gs1(dpi):
    document = label(gs1_prefix="0614141", barcode_text="HFP0000123")
    image = rendered(draw_label(document, LARGE), dpi).point(lambda shade: 255 * (shade > 127))
    assert [(c.text, c.symbology_identifier) for c in codes(image)] == [
        ("(8004)0614141HFP0000123", "]d2")
    ]


@pytest.mark.parametrize(
    ("prefix", "code"),
    [("06A4141", "P1"), ("123", "P1"), ("0614141", "P 1"), ("0614141", "P" * 24)],
)
def test_what_is_no_gs1_code_is_refused(prefix, code):
    with pytest.raises(PrintRefused):
        asset_data_matrix(prefix, code)


def test_a_void_label_says_so():
    assert "VOID:reprinted" in squeezed(page_texts(draw_label(label(void="reprinted"), LARGE))[0])


def test_a_void_label_has_no_code():
    assert codes(rendered(draw_label(label(void="reprinted"), LARGE), 300)) == []


def test_a_void_label_is_struck_through():
    page = pypdfium2.PdfDocument(draw_label(label(void="reprinted"), LARGE))[0]
    strokes = [item.get_bounds() for item in page.get_objects(filter=[2])]
    long = [box for box in strokes if (box[2] - box[0]) * MM > 94 and (box[3] - box[1]) * MM > 44]
    assert len(long) == 2


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"lot_number": "A2-20260306-4"}, "Lot A2-20260306-4"),
        ({"single_or_double": "double"}, "· double ·"),
        ({"department": "OR 4"}, "OR 4"),
    ],
)
def test_what_is_known_is_printed(changes, words):
    assert squeezed(words) in squeezed(page_texts(draw_label(label(**changes), LARGE))[0])


@pytest.mark.parametrize("element", sorted(set(label().elements) - set(WRITTEN_IN)))
def test_a_required_element_that_is_lacking_is_named(element):
    blank = {
        "what": "", "department": "", "packed_by": "", "packed_on": None, "barcode_text": "",
        "package": "", "method": "", "single_or_double": "", "sterilizer": "", "cycle": "",
        "load": "", "lot_number": "", "statement": "", "expires_on": None,
    }  # fmt: skip
    with pytest.raises(MissingElement) as missing:
        label(**blank, required=(element,))
    assert missing.value.elements == (label().elements[element][0],)


@pytest.mark.parametrize("on", shipped().by_key.values(), ids=lambda on: on.key)
def test_what_is_known_in_the_load_alone_has_a_line_to_write_on(on):
    said = squeezed(page_texts(draw_label(label(required=tuple(WRITTEN_IN)), on))[0])
    assert ("LotDate" if on.width_mm < 60 else "SterilizerCycle") in said


@pytest.mark.parametrize("on", shipped().by_key.values(), ids=lambda on: on.key)
def test_known_it_stands_on_its_line(on):
    known = label(required=tuple(WRITTEN_IN), sterilizer="A2", cycle="4", load="17",
                  department="", sterilized_on=date(2026, 3, 7))  # fmt: skip
    said = squeezed(page_texts(draw_label(known, on))[0])
    assert "SterilizerA2·Cycle4·Load17·Date7Mar2026" in said


def test_what_the_policy_does_not_require_has_no_line():
    said = squeezed(page_texts(draw_label(label(required=("sterilizer", "load")), LARGE))[0])
    assert "SterilizerLoad" in said


def test_a_label_without_room_for_the_lines_is_refused():
    narrow = replace(stock("roll-70x35"), name="Roll, 40 x 60 mm", width_mm=40.0, height_mm=60.0)
    short = label(what="Probe", department="", package="", method="", required=tuple(WRITTEN_IN),
                  lot_holds=("date",))  # fmt: skip
    with pytest.raises(PrintRefused, match="40 x 60 mm has no room to write them on"):
        draw_label(short, narrow)


def test_what_is_not_required_may_be_lacking():
    assert "Packed" not in page_texts(draw_label(label(packed_by="", packed_on=None, required=()),
                                                 LARGE))[0]  # fmt: skip


def test_the_minimum_is_required_unless_a_policy_says_otherwise():
    assert label().required == MINIMUM


def test_an_element_nobody_knows_is_refused():
    with pytest.raises(PrintError, match="colour"):
        label(required=("colour",))


@given(
    st.lists(st.sampled_from(["sterilizer", "date", "day of year", "cycle"]), min_size=1,
             unique=True),
    st.dates(min_value=date(2000, 1, 1)),
)  # fmt: skip
def test_a_lot_number_with_a_gap_is_none(pattern, day):
    whole = lot_number(pattern, sterilizer="A2", day=day, cycle="4")
    gap = lot_number(pattern, sterilizer="A2", day=day)
    assert (gap == whole) if "cycle" not in pattern else gap == ""


def test_progress_is_told_for_each_label():
    told: list[int] = []
    draw_labels(many(3), LARGE, progress=told.append)
    assert told == [1, 2, 3]


def test_a_run_that_is_stopped_makes_no_file():
    def stop(done: int) -> None:
        raise StoppedError(done)

    with pytest.raises(StoppedError):
        draw_labels(many(3), LARGE, progress=stop)


@pytest.mark.parametrize("on", shipped().by_key.values(), ids=lambda on: on.key)
def test_the_ruler_page_outlines_each_label_to_the_millimetre(on):
    page = pypdfium2.PdfDocument(draw_ruler(on))[0]
    high = page.get_height() * MM
    boxes = [item.get_bounds() for item in page.get_objects(filter=[2])]
    outlines = sorted(
        (round(box[0] * MM, 1) + 0.0, round(high - box[3] * MM, 1) + 0.0)
        for box in boxes
        if (box[2] - box[0]) * MM == pytest.approx(on.width_mm, abs=0.25)
        and (box[3] - box[1]) * MM == pytest.approx(on.height_mm, abs=0.25)
    )
    places = [on.grid.corner_mm(n) for n in range(on.grid.labels)] if on.grid else [(0.0, 0.0)]
    assert outlines == [pytest.approx(place, abs=0.2) for place in sorted(places)]


SMALL = of_size("small", "Roll, 50 x 25 mm", 50, 25, 1.5, 203)
LEAST = of_size("least", "Roll, 30 x 15 mm", 30, 15, 1.5, 203)


@pytest.mark.parametrize(("on", "length"), [(LARGE, 50), (A4, 50), (SMALL, 40), (LEAST, 20)])
def test_a_label_on_the_ruler_page_has_a_rule_with_figures(on, length):
    pdf = draw_ruler(on)
    page = pypdfium2.PdfDocument(pdf)[0]
    widths = [(b[2] - b[0]) * MM for b in (o.get_bounds() for o in page.get_objects(filter=[2]))]
    assert any(width == pytest.approx(length, abs=0.25) for width in widths)
    assert "0 mm " + " ".join(str(mm) for mm in range(10, length + 1, 10)) in page_texts(pdf)[0]


@SHEETS
def test_the_rules_of_a_sheet_begin_where_an_office_printer_prints(on):
    pdf = draw_ruler(on)
    page = pypdfium2.PdfDocument(pdf)[0]
    wide, high = (side * MM for side in page.get_size())
    boxes = [[side * MM for side in item.get_bounds()] for item in page.get_objects()]
    assert min(box[0] for box in boxes) == pytest.approx(5, abs=0.2)
    assert max(box[3] for box in boxes) == pytest.approx(high - 5, abs=0.2)
    assert max(box[2] for box in boxes) < wide - 4.8 and min(box[1] for box in boxes) > 4.8
    assert {"200", f"{int(high - 5) // 10 * 10}"} <= set(page_texts(pdf)[0].split())
