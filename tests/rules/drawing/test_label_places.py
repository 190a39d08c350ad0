"""Where a label is drawn: to scale, and over nothing that must be seen or opened.

ST79 8.3.2 as quoted by OSAP 2015: on the film side, best in the margin outside the seal.
"""

from __future__ import annotations

from itertools import product

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from assembly.rules.deciding.choose import decide
from assembly.rules.drawing.label_places import UNSAID
from assembly.rules.drawing.scenes import scene_of
from assembly.rules.drawing.shapes import Polygon, Rect, Scene
from assembly.rules.facts.question import Question
from tests.conftest import FEWER
from tests.rules.drawing.test_scenes import OUTER, POLICY, POUCH, ROLL, RUN, holder, rects

SMALL, USUAL, HUGE = (50.0, 25.0), (100.0, 50.0), (300.0, 140.0)


def labeled(label: tuple[float, float] | None, *supplies: object, double: bool = False,
            **sizes: object) -> Scene:  # fmt: skip
    question = Question(instrument=holder(**sizes), supplies=supplies, programmes=(RUN,),  # type: ignore[arg-type]
                        double=double)  # fmt: skip
    decision = decide(question, POLICY)
    shown = decision.recommended or decision.passed_over[0].candidate
    scene = scene_of(shown, question, POLICY, label=label)
    assert scene is not None
    return scene


def kept_clear_of(scene: Scene) -> shapely.Geometry:
    """The instrument, the indicator, every seal of the outer bag and what lies beyond its ends."""
    (first,) = [rects(scene, "sheet")[0]]
    outer_seals = [shapely.box(one.x, one.y, one.x + one.width, one.y + one.height)
                   for role in ("seal", "indicator") for one in rects(scene, role)]  # fmt: skip
    metal = [shapely.Polygon(one.rings[0]).buffer(0) for one in scene.shapes
             if isinstance(one, Polygon) and one.role in ("instrument", "seal")]  # fmt: skip
    sheet = shapely.box(first.x, first.y, first.x + first.width, first.y + first.height)
    outside = sheet.buffer(500) - sheet
    return shapely.union_all([*outer_seals, *metal, outside])


def box_of(one: Rect) -> shapely.Geometry:
    return shapely.box(one.x, one.y, one.x + one.width, one.y + one.height)


@pytest.mark.parametrize(("label", "supply"), [*product((SMALL, USUAL), (POUCH, ROLL))])
def test_it_is_drawn_in_its_own_size_over_nothing_that_matters(label, supply) -> None:
    scene = labeled(label, supply)
    (place,) = rects(scene, "label")
    assert sorted((place.width, place.height)) == pytest.approx(sorted(label))
    assert box_of(place).intersection(kept_clear_of(scene)).area == 0
    seals = [box_of(one) for one in rects(scene, "to-seal")]
    assert all(not box_of(place).intersects(seal) for seal in seals)


@FEWER
@given(st.floats(20, 120), st.floats(15, 70), st.floats(60, 200), st.floats(10, 90))
def test_whatever_its_size_it_covers_no_part_of_the_instrument(wide, high, length, width) -> None:
    scene = labeled((wide, high), POUCH, length_mm=length, width_mm=width)
    for place in rects(scene, "label"):
        assert box_of(place).intersection(kept_clear_of(scene)).area == pytest.approx(0, abs=1e-6)


def test_in_two_pouches_it_sticks_on_the_outer_one() -> None:
    scene = labeled(SMALL, POUCH, OUTER, double=True)
    (place,), (outer, _) = rects(scene, "label"), rects(scene, "inside")
    assert box_of(outer).contains(box_of(place))


def test_without_a_place_none_is_drawn_and_the_caption_says_what_to_do() -> None:
    scene = labeled(HUGE, POUCH)
    assert rects(scene, "label") == []
    assert any("no place beside the instrument" in words for words in scene.legend)


def test_of_an_unknown_size_none_is_drawn_and_its_place_is_said() -> None:
    scene = labeled(None, POUCH)
    assert (rects(scene, "label"), UNSAID in scene.legend) == ([], True)
