"""Other scripts on paper: each is shown, letters are joined, and no figure is ever turned."""

from __future__ import annotations

import io
import re
import unicodedata

import pypdfium2
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reports.drawing import fonts
from reports.drawing.directions import stretches
from reports.drawing.files import new_canvas
from reports.drawing.fonts import Face
from reports.drawing.scripts import SCRIPTS
from tests.reports.examples import rendered

PARTS = [
    "אב",
    "גד",
    "מספריים",
    "مقص",
    "١٤",
    "٣٫٥",
    "14",
    "12 x 3",
    "0 of 1",
    "Mayo",
    "(",
    ")",
    ", ",
    " ",
    "%",
]
LINES = st.lists(st.sampled_from(PARTS), max_size=9).map("".join)


def seen(line: str) -> str:
    """The signs of a line from left to right."""
    return "".join(words[::-1] if leftward else words for words, leftward in stretches(line))


@given(line=LINES)
def test_no_figure_is_turned_and_no_sign_is_lost(line):
    assert sorted(seen(line)) == sorted(line)
    assert not any(
        re.search(r"[\dA-Za-z]", words) for words, leftward in stretches(line) if leftward
    )


@pytest.mark.parametrize(
    ("read", "order"),
    [
        # Unicode Standard Annex 9, 3.4, first example: "car means CAR." is seen as "car means RAC."
        ("car means אבג.", "car means גבא."),
        ("אבג 14 cm", "14 cm גבא"),
        ("אבג 14 דה", "הד 14 גבא"),
        ("MISSING 1 אבג (0 of 1 in the set)", "MISSING 1 גבא (0 of 1 in the set)"),
        ("1 אבג, HF-1042: 0 of 1", "1 גבא, HF-1042: 0 of 1"),
        ("14 אב (ג)", ")ג( בא 14"),
        ("אבג (0 of 1)", "(0 of 1) גבא".translate(str.maketrans("()", ")("))),
    ],
)
def test_a_line_runs_as_it_begins(read, order):
    assert seen(read) == order


def drawn(text: str, face: Face = Face.REGULAR, gray: float = 0.0) -> bytes:
    out = io.BytesIO()
    canvas = new_canvas(out, (300.0, 40.0), "A line")
    fonts.draw(canvas, 10, 15, text, face, 20, gray)
    canvas.showPage()
    canvas.save()
    return out.getvalue()


@pytest.mark.parametrize("script", SCRIPTS, ids=lambda one: one.name)
def test_each_script_has_its_letters_and_says_what_they_are(script):
    signs = (chr(code) for first, last in script.blocks for code in range(first, last + 1))
    letters = [sign for sign in signs if unicodedata.category(sign) in ("Lo", "Ll", "So")]
    text = next(sign for sign in letters if fonts.shown(sign, Face.REGULAR) == sign)
    assert fonts.shown(text, Face.BOLD) == text
    assert fonts.runs(text, Face.BOLD)[0].font == script.name
    said = pypdfium2.PdfDocument(drawn(f"a {text} b"))[0].get_textpage().get_text_range()
    assert unicodedata.normalize("NFKC", text) in unicodedata.normalize("NFKC", said)


def test_arabic_is_joined_and_narrower_than_its_letters():
    word = fonts.width("مقص", Face.REGULAR, 10)
    assert word < sum(fonts.width(sign, Face.REGULAR, 10) for sign in "مقص")


@pytest.mark.parametrize("line", ["مقص ١٤ سم", "مقص ۱۴", "١٤ مقص", "אב ١٤"])
def test_figures_of_arabic_are_drawn_from_left_to_right(line):
    """Shaped by itself, a run of them would be turned: 14 for 41."""
    figures = re.search(r"\d+", line)[0]
    assert figures in [run.glyphs for run in fonts.runs(line, Face.REGULAR)]


def test_devanagari_takes_the_places_of_its_reading():
    """The vowel i is written after its letter and seen before it."""
    [run] = fonts.runs("चि", Face.REGULAR)
    assert (len(run.glyphs), run.glyphs[-1]) == (2, "च")


def ink(pdf: bytes) -> int:
    return sum(255 - one for one in rendered(pdf, 100).tobytes())


def test_bold_is_blacker_and_white_where_it_is_reversed():
    assert ink(drawn("מספריים", Face.BOLD)) > ink(drawn("מספריים")) * 1.15
    assert ink(drawn("מספריים", Face.BOLD, gray=1.0)) == 0


def test_a_mark_without_a_letter_of_its_own_stands_on_its_letter():
    both, letter = (fonts.width(text, Face.REGULAR, 10) for text in ("q\u0303", "q"))
    assert both == pytest.approx(letter)
