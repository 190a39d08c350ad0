from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reports.drawing import fonts
from reports.drawing.fitting import PrintRefused, Style, fit, prepared, wrap
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


def test_a_word_wider_than_the_room_is_not_cut():
    with pytest.raises(PrintRefused, match=r"a word of .* is wider than"):
        fit("note", "x" * 80, STYLE, 100)


@pytest.mark.parametrize("sign", ["止", "□", "\u2011", "\u200b", "\u202e", "ا"])
def test_a_sign_that_cannot_be_shown_is_named(sign):
    with pytest.raises(PrintRefused, match=f"U\\+{ord(sign):04X}"):
        prepared("note", f"Klemme {sign}", Face.REGULAR)


@pytest.mark.parametrize("text", ["Λαβίδα βελόνας", "Зажим Кохера", "Größe č ñ å Ł", "½ × µ °C ≥"])
def test_european_names_can_be_shown(text):
    assert prepared("name", text, Face.BOLD) == text


def test_a_decomposed_accent_is_composed():
    assert prepared("name", "Pe\u0301an", Face.REGULAR) == "Péan"
