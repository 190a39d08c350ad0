"""Outlines: which one a name and a form ask for, and that each is as large as the instrument."""

from __future__ import annotations

import math

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely import affinity

from assembly.rules.drawing.forms import FORMS, outline_of
from assembly.rules.drawing.looks import PLAIN, WORDS, Look, look_of
from assembly.rules.drawing.pieces import Lain
from assembly.rules.drawing.shapes import Outline, Polygon, bounds, points_of
from assembly.rules.facts.instruments import Instrument
from catalog.vocabulary import Form

LENGTHS, WIDTHS = st.floats(8, 700), st.floats(2, 400)
USUAL = [(length, width, turned) for length, width in ((200.0, 60.0), (140.0, 14.0))
         for turned in (False, True)]  # fmt: skip
"""Sizes that instruments have, before an outline is made exactly as large."""
OFF_BY = {
    **dict.fromkeys((Look.HANDLE, Look.SCALPEL, Look.CURETTE, Look.ELEVATOR, Look.PROBE),
                    (0.11, 0.001)),
    Look.SUCTION: (0.035, 0.01), Look.RONGEUR: (0.045, 0.015), Look.CABLE: (0.05, 0.01),
    Look.TWEEZERS: (0.04, 0.045), Look.BAYONET: (0.04, 0.075), Look.DOUBLE_ENDED: (0.02, 0.075),
    Look.BLADE: (0.04, 0.01),
}  # fmt: skip
"""How far an end of an outline may be from its place, as a share of length and width."""
RATCHET = dict.fromkeys(
    (Look.CLAMP, Look.NEEDLE_HOLDER, Look.LOOPED, Look.TOWEL_CLAMP, Look.GRASPER, Look.SPREADER,
     Look.POINTED), 0.1)  # fmt: skip
"""Of the area: the teeth of both sides lie one behind the other."""
UNLIKE_SIDES = {
    **RATCHET, Look.SCALPEL: 0.05, Look.CANNULA: 0.04, Look.CABLE: 0.03,
    **dict.fromkeys((Look.LONG_SHAFT, Look.BAYONET, Look.DOUBLE_ENDED, Look.SUCTION, Look.SCOPE,
                     Look.KIDNEY), 2.0),
}  # fmt: skip
"""How much of the area may lie at one side of the middle line alone; of others nothing."""
SAME_ENDS = (Look.DOUBLE_ENDED, Look.RIBBON, Look.RASP, Look.BOWL, Look.KIDNEY, Look.BOX)


def filled(drawn: list[Outline]) -> shapely.Geometry:
    """What is covered, open rings too, a hundredth of a millimetre wider."""
    shapes = [shapely.Polygon(one.rings[0]).buffer(0) for one in drawn
              if isinstance(one, Polygon) and one.role in ("instrument", "joint")]  # fmt: skip
    return shapely.unary_union(shapes).buffer(0.01)


def unlike(shape: shapely.Geometry, mirrored: shapely.Geometry) -> float:
    return float(shape.symmetric_difference(mirrored).area / shape.area)


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


@pytest.mark.parametrize("look", Look)
def test_an_outline_is_about_its_size_before_it_is_made_so(look: Look) -> None:
    """Else what is drawn to scale within it, as finger rings are, would not be."""
    for length, width, turned in USUAL:
        left, top, right, bottom = bounds(FORMS[look](length, width, turned))
        along, across = OFF_BY.get(look, (0.03, 0.045))
        assert (left, right) == pytest.approx((0, length), abs=length * along)
        assert (top, bottom) == pytest.approx((-width / 2, width / 2), abs=width * across)


@pytest.mark.parametrize("look", [look for look in Look if look is not Look.RONGEUR])
def test_an_instrument_hangs_together(look: Look) -> None:
    """But for the springs of a rongeur."""
    for size in USUAL:
        assert isinstance(filled(FORMS[look](*size)), shapely.Polygon)


@pytest.mark.parametrize("look", [look for look in Look if look is not Look.PROBE])
def test_lines_and_joints_lie_on_the_instrument(look: Look) -> None:
    for size in USUAL:
        drawn = FORMS[look](*size)
        on_it = [one for one in drawn if one.role in ("detail", "joint")]
        room = filled([one for one in drawn if one.role == "instrument"]).buffer(0.5)
        assert all(room.covers(shapely.Point(at)) for one in on_it for at in points_of(one))


@pytest.mark.parametrize("look", Look)
def test_both_sides_of_an_instrument_are_alike_where_they_are_made_so(look: Look) -> None:
    shape = filled(FORMS[look](200.0, 60.0, False))
    mirrored = affinity.scale(shape, 1, -1, origin=(0, 0))
    assert unlike(shape, mirrored) <= UNLIKE_SIDES.get(look, 0.001)


@pytest.mark.parametrize("look", SAME_ENDS)
def test_both_ends_of_an_instrument_are_alike_where_they_are_made_so(look: Look) -> None:
    shape = filled(FORMS[look](200.0, 60.0, False))
    assert unlike(shape, affinity.scale(shape, -1, 1, origin=(100, 0))) <= 0.001


@pytest.mark.parametrize("look", [*RATCHET, Look.SCISSORS])
def test_a_finger_ring_takes_a_finger_whatever_the_instrument(look: Look) -> None:
    """About 20 mm long and 15 mm wide inside; no more where the instrument grows (common
    practice)."""
    for length, width in ((200.0, 91.0), (400.0, 180.0)):
        rings = [one for one in FORMS[look](length, width, False)
                 if isinstance(one, Polygon) and len(one.rings) == 2][:2]  # fmt: skip
        for ring in rings:
            left, top, right, bottom = shapely.Polygon(ring.rings[1]).bounds
            assert 20 < right - left < 30 and 15 < bottom - top < 24


@pytest.mark.parametrize(("look", "across"), [(Look.LONG_SHAFT, 5.2), (Look.SCOPE, 10.0)])
def test_a_shaft_is_as_thick_as_what_it_goes_through(look: Look, across: float) -> None:
    """About 5 mm a hand instrument, 10 mm a scope (common practice)."""
    upright = shapely.LineString([(150, -50), (150, 50)])
    assert upright.intersection(filled(FORMS[look](400.0, 120.0, False))).length == pytest.approx(
        across, abs=0.1
    )


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
