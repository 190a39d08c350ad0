from __future__ import annotations

from dataclasses import replace
from datetime import date

import pypdfium2
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reports.documents.giving_way import EXCEPTIONS
from reports.drawing.fitting import PrintRefused
from reports.drawing.measures import points
from reports.drawing.stocks import shipped, stock
from tests.conftest import FEWER
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

ROLL, LARGE = stock("roll-70x35"), stock("label-100x50")
BOTH = pytest.mark.parametrize("on", [ROLL, LARGE], ids=lambda one: one.key)
LONG_NAME = (
    "Retractor, self-retaining, Weitlaner-Beckmann, hinged arms, blunt 3 x 4 teeth, "
    "adult, left-handed, 31 cm"
)
FLAGS = (
    "IMPLANT",
    "LOANER",
    "MISSING 1 ITEM",
    "SHARP TIPS",
    "HEAVY",
    "QUARANTINE",
    "SECOND OF TWO",
    "RETURN TO STORE 4",
)


def read(document, on) -> str:
    (text,) = page_texts(draw_label(document, on))
    return squeezed(text)


@pytest.mark.parametrize("key", ["roll-100x60", "label-100x50"])
def test_marks_do_not_run_together_where_each_can_have_a_line(key):
    missing = tuple(f"MISSING 1 {name} (0 of 1 in the set)" for name in
                    ("Mosquito forceps, curved 125 mm", "Iris scissors, sharp 115 mm"))  # fmt: skip
    document = label(what="Test set, Péan and friends", missing=missing, flags=(),
                     instead=("SUBSTITUTE 1 Scalpel handle no. 3 for Mayo scissors 170 mm",),
                     method="S134-4 (dynamic air removal steam 134 °C, 4 min)")  # fmt: skip
    text = read(document, stock(key))
    assert [squeezed(one) in text for one in document.marks] == [True] * 3
    assert "·MISSING" not in text and "·SUBSTITUTE" not in text


@BOTH
@pytest.mark.parametrize(
    "words",
    [
        "Needle holder, Mayo-Hegar, 18 cm",
        "1 piece · NH-1804",
        "Pouch P-150x300, single · Steam 134 °C, 3 min",
        "Packed 6 Mar 2026 by T. Birkett · For: Main ORs",
        "Sterile only if the indicator has changed, and unless opened, damaged or wet.",
        "HFH-P-000123",
        "Sterilizer Cycle Date",
    ],
)
def test_the_label_says_what_the_document_says(on, words):
    assert squeezed(words) in read(label(), on)


def test_the_label_says_nothing_else():
    given = (
        "Needle holder, Mayo-Hegar, 18 cm 1 piece · NH-1804 Pouch P-150x300, single · "
        "Steam 134 °C, 3 min HFH-P-000123 Packed 6 Mar 2026 by T. Birkett · For: Main ORs "
        "Sterilizer Cycle Date Sterile only if the indicator has changed, and unless opened, "
        "damaged or wet."
    )
    assert sorted(read(label(), ROLL)) == sorted(squeezed(given))


@BOTH
def test_lot_words_given_are_printed(on):
    known = label(sterilizer="Autoclave 2", cycle="9", load="17", sterilized_on=date(2026, 3, 7))
    assert "SterilizerAutoclave2·Cycle9·Load17·Date7Mar2026" in read(known, on)


@BOTH
def test_the_expiry_date_is_printed(on):
    assert "Useby6Sep2026." in read(label(expires_on=date(2026, 9, 6)), on)


@BOTH
def test_not_decided_is_printed(on):
    text = read(label(unknown=("NOT DECIDED: weight unknown",)), on)
    assert "NOTDECIDED:weightunknown" in text


@pytest.mark.parametrize("flag", FLAGS)
def test_a_long_name_with_eight_flags_keeps_each_of_them(flag):
    assert squeezed(flag) in read(label(what=LONG_NAME, flags=FLAGS), LARGE)


@pytest.mark.parametrize("name", ["Λαβίδα βελόνας", "Зажим Кохера", "Größe Péan č ñ å"])
def test_european_names_read_back(name):
    assert squeezed(name) in read(label(what=name), ROLL)


@BOTH
def test_the_page_is_exactly_the_label(on):
    assert page_size_mm(draw_label(label(), on)) == pytest.approx(
        (on.width_mm, on.height_mm), abs=0.01
    )


@BOTH
@pytest.mark.parametrize("dpi", [203, 300])
def test_the_barcode_is_read_from_a_black_and_white_print(on, dpi):
    image = rendered(draw_label(label(), on), dpi).point(lambda shade: 255 * (shade > 127))
    assert [(code.text, code.symbology_identifier) for code in codes(image)] == [
        ("HFH-P-000123", "]d1")
    ]


@pytest.mark.parametrize(("key", "dots"), [("roll-50x25", 4), ("roll-70x35", 5),
                                           ("label-100x50", 7)])  # fmt: skip
def test_the_code_grows_with_the_label_from_half_a_millimetre_a_module(key, dots):
    short = label(what="Probe", department="", package="", method="", barcode_text="PK-000001T")
    page = pypdfium2.PdfDocument(draw_label(short, stock(key)))[0]
    path = next(item for item in page.get_objects() if item.type == 2)
    left, bottom, right, top = path.get_bounds()
    expected = 14 * dots * 72 / 203
    assert (right - left, top - bottom) == pytest.approx((expected, expected), abs=0.05)


@pytest.mark.parametrize("margin_mm", [1.5, 1.66, 1.7])
def test_the_barcode_stands_on_whole_printer_dots(margin_mm):
    page = pypdfium2.PdfDocument(draw_label(label(), replace(ROLL, margin_mm=margin_mm)))[0]
    path = next(item for item in page.get_objects() if item.type == 2)
    left, _, _, top = path.get_bounds()
    dots = (left * 203 / 72, (page.get_height() - top) * 203 / 72)
    assert dots == pytest.approx([round(dot) for dot in dots], abs=0.02)


def test_too_long_is_refused_by_field():
    with pytest.raises(PrintRefused) as refusal:
        draw_label(label(lot_number="x" * 600), ROLL)
    assert refusal.value.field == "lot number"


EACH_STOCK = pytest.mark.parametrize("key", shipped().by_key)


@EACH_STOCK
@pytest.mark.parametrize("name", ["\u16a0\u16a2", "Probe \u16a0 " * 25])
def test_a_name_that_cannot_be_shown_has_its_number_before_it(key, name):
    """Also where the number gives way to other words, and of a name longer than the stock."""
    document = label(what=name, item_number="HF-7", flags=FLAGS[:1])
    said = page_texts(draw_label(document, stock(key)))[0]
    assert said.startswith("HF-7 ") and "[?]" in said


@EACH_STOCK
@pytest.mark.parametrize("name", ["x" * 200, (LONG_NAME * 3)[:200], "止血钳" * 66])
def test_no_name_is_too_long_for_a_label(key, name):
    said = squeezed(page_texts(draw_label(label(what=name, item_number="HF-7"), stock(key)))[0])
    assert name.replace(" ", "") in said or said.startswith(f"HF-7{name[:9]}".replace(" ", ""))


@pytest.mark.parametrize("key", [key for key in shipped().by_key if key != "roll-50x25"])
def test_a_code_of_forty_signs_is_broken_under_its_symbol(key):
    code = "".join(f"{number:02}" for number in range(20))
    document = label(barcode_text=code, packed_by="", required=())
    assert code in squeezed(page_texts(draw_label(document, stock(key)))[0])


@BOTH
@pytest.mark.parametrize("flags", [(), FLAGS[:2]])
def test_words_lie_inside_the_margins_and_not_on_each_other(on, flags):
    (boxes,) = word_boxes(draw_label(label(flags=flags, sterilizer="Autoclave 2"), on))
    width, height, margin = points(on.width_mm), points(on.height_mm), points(on.margin_mm) - 0.5
    outside = [
        box
        for box in boxes
        if min(box[0], box[1]) < margin or box[2] > width - margin or box[3] > height - margin
    ]
    assert (outside, overlapping(boxes)) == ([], [])


@FEWER
@given(
    what=st.lists(st.text("abcdefgABC0123-/ü", min_size=1, max_size=12), min_size=1, max_size=20),
    flags=st.lists(st.text("ABCDEFG 012", min_size=1, max_size=20), max_size=6),
)
def test_a_label_is_complete_but_for_the_end_of_a_long_name(what, flags):
    document = label(what=" ".join(what), flags=tuple(flags))
    text = read(document, ROLL)
    begun = text.startswith(squeezed(f"{document.item_number}{what[0]}")) and "…" in text
    assert begun or squeezed(document.what) in text
    for words in (document.packed_words, document.barcode_text):
        assert squeezed(words) in text
    sent = squeezed(EXCEPTIONS) in text  # too many flags become one that sends to the record
    assert sent or all(squeezed(flag) in text for flag in flags)


def test_equal_documents_give_equal_bytes():
    first = draw_label(label(), ROLL)
    draw_label(label(what="Scissors"), LARGE)
    assert draw_label(label(), ROLL) == first


def test_the_pdf_names_its_title_and_author():
    pdf = pypdfium2.PdfDocument(draw_label(label(), ROLL))
    about = pdf.get_metadata_dict()
    assert (about["Title"], about["Author"]) == (
        "Label HFH-P-000123: Needle holder, Mayo-Hegar, 18 cm",
        "Packbench",
    )
