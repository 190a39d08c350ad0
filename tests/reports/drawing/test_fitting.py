from __future__ import annotations

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reports.drawing import fonts
from reports.drawing.fitting import PrintRefused, Style, at_size, fit, wrap
from reports.drawing.fonts import Face

STYLE = Style(Face.REGULAR, 12.0, 8.0)
WORD = st.sampled_from(["x", "mm", "3", "12"]) | st.text("abcABC0123-/ü", min_size=1, max_size=14)
WORDS = st.lists(WORD, max_size=25).map(" ".join)


@given(text=WORDS, width=st.floats(10, 300))
def test_wrapping_keeps_every_sign_and_the_width(text, width):
    lines = wrap(text, Face.REGULAR, 10, width)
    if lines is None:
        assert any(fonts.width(word, Face.REGULAR, 10) > width for word in text.split())
    else:
        assert "".join(lines).replace(" ", "") == text.replace(" ", "")
        assert all(fonts.width(line, Face.REGULAR, 10) <= width for line in lines)


def test_a_figure_stays_with_its_unit():
    width = fonts.width("Steam 134 °C, 3", Face.REGULAR, 10) + 0.1
    assert wrap("Steam 134 °C, 3 min", Face.REGULAR, 10, width) == ("Steam 134 °C,", "3 min")


@pytest.mark.parametrize("kept", ["3 x 4", "30 x 11 mm", "12.5 cm", "1/2 in"])
def test_measures_stay_on_one_line(kept):
    width = fonts.width(f"blunt {kept}", Face.REGULAR, 10) - 0.1
    assert wrap(f"blunt {kept}", Face.REGULAR, 10, width) == ("blunt", kept)


def test_measures_are_parted_where_there_is_no_room():
    width = fonts.width("30 x 11", Face.REGULAR, 10)
    assert wrap("30 x 11 mm", Face.REGULAR, 10, width) == ("30 x 11", "mm")


def test_short_text_is_set_at_the_largest_size():
    assert fit("name", "Probe", STYLE, 200, 1).size == 12.0


def test_text_shrinks_before_it_is_refused():
    width = fonts.width("Needle holder", Face.REGULAR, 9.0)
    assert fit("name", "Needle holder", STYLE, width, 1).size == pytest.approx(9.0)


def test_the_smallest_size_itself_is_still_used():
    width = fonts.width("Needle holder", Face.REGULAR, 8.0)
    assert fit("name", "Needle holder", STYLE, width, 1).size == 8.0


def test_text_too_long_at_the_smallest_size_names_its_field():
    width = fonts.width("Needle holder", Face.REGULAR, 8.0) - 0.1
    with pytest.raises(PrintRefused) as refusal:
        fit("name on line 3", "Needle holder", STYLE, width, 1)
    assert refusal.value.field == "name on line 3"


def test_a_long_word_is_whole_while_it_can_be_and_broken_at_the_smallest_size():
    word, width = "Elektrohydraulik", fonts.width("Elektrohydraulik", Face.REGULAR, 8.0)
    assert fit("note", word, STYLE, width).lines == (word,)
    block = fit("note", word, STYLE, width / 2)
    assert (block.size, "".join(block.lines)) == (8.0, word)
    assert len(block.lines) in (2, 3)


def test_a_word_is_broken_at_no_size_that_can_still_shrink():
    """Whoever shrinks all parts of a paper together is asked for a smaller one first."""
    with pytest.raises(PrintRefused, match="wider than"):
        at_size("note", "x" * 80, STYLE, 10.0, 100)
    assert "".join(at_size("note", "x" * 80, STYLE, 8.0, 100).lines) == "x" * 80


@pytest.mark.parametrize(
    "word", ["מלקחיים", "กรรไกรตัดไหม", "प्रसूतिचिमटी", "Pe\u0301an\u0303q\u0303"]
)
def test_a_broken_word_keeps_marks_on_their_letters(word):
    parts = fonts.signs(word)
    assert "".join(parts) == word
    assert not any(unicodedata.category(part[0]).startswith("M") for part in parts)
    assert not any(part.endswith(("เ", "แ", "\u094d")) for part in parts[:-1])


@pytest.mark.parametrize(
    ("written", "printed"),
    [
        ("for\u00adceps", "forceps"),
        ("Mayo\u200b 14\u200d\ufeff", "Mayo 14"),
        ("\u202eMayo\u200f", "Mayo"),
        ("\u2702\ufe0f cut", "\u2702 cut"),
        ("می\u200cشود", "می\u200cشود"),
        ("Kocher\u2011Ochsner", "Kocher-Ochsner"),
    ],
)
def test_invisible_signs_are_left_out_but_where_they_part_letters(written, printed):
    assert fonts.shown(written, Face.REGULAR) == printed


@pytest.mark.parametrize("text", ["\u16a0\u16a2", "\ue000", "\u16a0\u200d\ufe0f\u16a2"])
def test_what_no_typeface_shows_is_one_mark(text):
    assert fonts.shown(f"Klemme {text} 3", Face.BOLD) == "Klemme [?] 3"


@pytest.mark.parametrize("text", ["Λαβίδα βελόνας", "Зажим Кохера", "Größe č ñ å Ł", "½ × µ °C ≥"])
def test_european_names_can_be_shown(text):
    assert fonts.shown(text, Face.BOLD) == text


def test_a_decomposed_accent_is_composed():
    assert fonts.shown("Pe\u0301an", Face.REGULAR) == "Péan"
