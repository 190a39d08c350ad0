"""Outlines: which one a name and a form ask for, and that each is as large as the instrument."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assembly.rules.drawing.forms import FORMS, outline_of
from assembly.rules.drawing.looks import PLAIN, WORDS, Look, look_of
from assembly.rules.drawing.pieces import Lain
from assembly.rules.drawing.shapes import Polygon, bounds, points_of
from assembly.rules.facts.instruments import Instrument
from catalog.vocabulary import Form

LENGTHS, WIDTHS = st.floats(8, 700), st.floats(2, 400)


@given(st.sampled_from(Look), LENGTHS, WIDTHS, st.booleans())
def test_an_outline_is_as_long_and_wide_as_the_instrument(
    look: Look, length: float, width: float, turned: bool
) -> None:
    drawn = outline_of(look, length, width, turned)
    assert bounds(drawn) == pytest.approx((0, 0, length, width), abs=0.5)


@given(st.sampled_from(Look), LENGTHS, WIDTHS, st.booleans())
def test_what_is_filled_is_closed_and_has_an_area(
    look: Look, length: float, width: float, turned: bool
) -> None:
    drawn = outline_of(look, length, width, turned)
    filled = [ring for one in drawn if isinstance(one, Polygon) for ring in one.rings]
    assert filled and all(len(set(ring)) >= 3 for ring in filled)
    assert all(math.isfinite(value) for one in drawn for at in points_of(one) for value in at)


def test_every_look_has_an_outline_of_its_own() -> None:
    drawn = {look: outline_of(look, 200, 60) for look in Look}
    assert set(FORMS) == set(Look) and len(set(drawn.values())) == len(Look)


def test_what_lies_on_its_side_is_drawn_so() -> None:
    assert outline_of(Look.RETRACTOR, 240, 76, True) != outline_of(Look.RETRACTOR, 240, 76)


@pytest.mark.parametrize(
    ("name", "form", "look"),
    [
        ("Mayo scissors", None, Look.SCISSORS),
        ("Laparoscopic scissors", Form.RINGS, Look.LONG_SHAFT),
        ("Needle holder, Mayo-Hegar", Form.RINGS, Look.NEEDLE_HOLDER),
        ("Pean forceps", Form.RINGS, Look.CLAMP),
        ("Pean forceps", None, None),
        ("Adson forceps", Form.TWEEZERS, Look.TWEEZERS),
        ("Gelpi retractor", Form.RETRACTOR, Look.POINTED),
        ("Scalpel handle no. 3", None, Look.SCALPEL),
        ("Bone mallet", Form.BOX, Look.MALLET),
        ("Rongeur", None, Look.RONGEUR),
        ("Kidney basin", Form.BASIN, Look.KIDNEY),
        ("Light cable", Form.BOX, Look.CABLE),
        ("Laparoscope", None, Look.SCOPE),
        ("Light cable for the laparoscope", None, None),
        ("Mystery hook", None, None),
    ],
)
def test_a_name_and_a_form_tell_the_outline(
    name: str, form: Form | None, look: Look | None
) -> None:
    assert look_of(Instrument(name=name, form=form)) is look


def test_forceps_are_told_by_their_hinge() -> None:
    looks = [look_of(Instrument(name="Forceps", hinged=hinged)) for hinged in (True, False, None)]
    assert looks == [Look.CLAMP, Look.TWEEZERS, None]


def test_a_form_on_record_comes_before_the_words_of_a_name() -> None:
    assert look_of(Instrument(name="Scissors", form=Form.SCOPE)) is Look.SCOPE


def test_every_form_of_the_catalog_is_drawn() -> None:
    assert set(PLAIN) == set(WORDS) == set(Form)


@given(st.integers(1, 4), LENGTHS, WIDTHS, st.booleans(), st.booleans())
def test_pieces_take_up_their_room_however_they_lie(
    pieces: int, length: float, width: float, across: bool, turned: bool
) -> None:
    item = Instrument(name="Mayo scissors", pieces=pieces)
    drawn = Lain(item, length, width, across, turned).outlines(10, 20)
    assert bounds(drawn) == pytest.approx((10, 20, 10 + length, 20 + width), abs=0.5)
