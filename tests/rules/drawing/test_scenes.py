"""Drawings to scale: what a scene shows is what the findings were computed from."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date
from itertools import combinations, pairwise

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from assembly.judging.scene_svg import svg
from assembly.rules.deciding.choose import decide
from assembly.rules.drawing.scenes import scene_of
from assembly.rules.drawing.scenes_sheets import wrap_scene
from assembly.rules.drawing.shapes import (
    CONTROL_RULE_MM,
    Polygon,
    Polyline,
    Rect,
    Scene,
    Shape,
    Text,
    bounds,
)
from assembly.rules.facts.cycles import CycleOption
from assembly.rules.facts.instruments import Box, Instrument
from assembly.rules.facts.question import Question
from assembly.rules.facts.supplies import Container, Pouch, Roll, Wrap
from assembly.rules.policy.values import default_policy
from catalog.vocabulary import Filter, Form, Material, Method
from tests.rules.given import steam_run

POLICY = default_policy(date(2026, 11, 25))
STEAM = CycleOption(
    method=Method.STEAM, temperature_c=134, exposure_min=3, exposure_max=18, drying_min=20
)
RUN = steam_run("S", exposure_min=4)
POUCH = Pouch(
    code="P04", inner_width_mm=134, inner_length_mm=255, outer_width_mm=150, outer_length_mm=300,
    material=Material.PAPER_FILM, rated_g=400, doubles_in=("P07",),
)  # fmt: skip
OUTER = Pouch(
    code="P07", inner_width_mm=184, inner_length_mm=355, outer_width_mm=200, outer_length_mm=400,
    material=Material.PAPER_FILM, rated_g=600,
)  # fmt: skip
ROLL = Roll(
    code="R150", nominal_width_mm=150, side_seal_mm=8, material=Material.PAPER_FILM, rated_g=400,
    longest_cut_mm=1500,
)  # fmt: skip
WRAP = Wrap(code="W", width_mm=900, length_mm=900, material=Material.CELLULOSE, layers=2,
            rated_g=3000)  # fmt: skip
BOX = Container(
    code="C", inner_length_mm=560, inner_width_mm=265, inner_height_mm=130, tare_g=3000,
    rated_g=10_000, programmes=("S",), filter_material=Filter.POLYPROPYLENE,
)  # fmt: skip


def holder(**sizes: object) -> Instrument:
    facts = {"name": "clamp", "length_mm": 180.0, "width_mm": 70.0, "height_mm": 12.0,
             "hinged": True, **sizes}  # fmt: skip
    return Instrument(weight_g=75, sharp=False, cycles=(STEAM,),
                      **facts)  # type: ignore[arg-type]  # fmt: skip


def scene(*supplies: object, double: bool = False, **sizes: object) -> Scene | None:
    question = Question(instrument=holder(**sizes), supplies=supplies, programmes=(RUN,),  # type: ignore[arg-type]
                        double=double)  # fmt: skip
    decision = decide(question, POLICY)
    shown = decision.recommended or decision.passed_over[0].candidate
    return scene_of(shown, question, POLICY)


def rects(scene: Scene | None, role: str) -> list[Rect]:
    assert scene is not None
    return [one for one in scene.shapes if isinstance(one, Rect) and one.role == role]


class TestPouch:
    def test_the_inside_is_the_inner_size(self) -> None:
        (inside,) = rects(scene(POUCH), "inside")
        assert (inside.width, inside.height) == (255, 134)

    def test_the_box_is_the_instruments_size_as_it_lies_open(self) -> None:
        """70 closed is reckoned as 91 open."""
        (box,) = rects(scene(POUCH), "box")
        assert (box.width, box.height) == (180, 91)

    def test_the_room_left_is_at_the_fill_end(self) -> None:
        """Handles against the chevron at the right: 10 of sheet free and half of 12 high."""
        (inside,), (box,) = rects(scene(POUCH), "inside"), rects(scene(POUCH), "box")
        right = inside.x + inside.width - (box.x + box.width)
        assert (right, box.x - inside.x) == pytest.approx((16, 255 - 180 - 16))

    def test_it_is_peeled_where_its_maker_sealed_it(self) -> None:
        drawn = scene(POUCH)
        assert drawn
        words = {s.words: s.x for s in drawn.shapes if isinstance(s, Text) and s.role == "word"}
        assert words["fill end"] < words["peel end"]

    def test_the_instrument_lies_inside_what_it_fits(self) -> None:
        drawn = scene(POUCH)
        (inside,), (box,) = rects(drawn, "inside"), rects(drawn, "box")
        assert inside.x <= box.x and box.x + box.width <= inside.x + inside.width

    def test_the_free_side_equals_the_ruler_distance(self) -> None:
        drawn = scene(POUCH)
        (inside,), (box,) = rects(drawn, "inside"), rects(drawn, "box")
        assert box.y - inside.y == pytest.approx((134 - 91) / 2)

    def test_an_unknown_size_is_not_drawn(self) -> None:
        assert scene(POUCH, width_mm=None) is None

    def test_a_double_pouch_shows_both(self) -> None:
        outer, inner = rects(scene(POUCH, OUTER, double=True), "sheet")
        assert (outer.width, inner.width) == (400, 300)

    def test_the_inner_pouch_keeps_its_play(self) -> None:
        drawn = scene(POUCH, OUTER, double=True)
        inside, inner = rects(drawn, "inside")[0], rects(drawn, "sheet")[1]
        assert inner.y - inside.y >= 5

    def test_the_rule_is_as_long_as_it_says(self) -> None:
        drawn = scene(POUCH)
        assert drawn
        rule = next(s for s in drawn.shapes if isinstance(s, Polyline) and s.role == "rule")
        assert rule.points[1][0] - rule.points[0][0] == pytest.approx(CONTROL_RULE_MM)


def test_a_roll_is_drawn_at_its_cut_length() -> None:
    """180 + 12 and 90 of seals and room, up to the next ten."""
    (sheet,) = rects(scene(ROLL), "sheet")
    assert (sheet.width, sheet.height) == (290, 150)


def test_a_roll_is_sealed_at_its_base_too() -> None:
    drawn = scene(ROLL)
    assert drawn
    assert "end seal" in [shape.words for shape in drawn.shapes if isinstance(shape, Text)]


def test_what_lies_on_its_side_is_drawn_so() -> None:
    deaver = Instrument(name="Deaver", weight_g=160, sharp=False, hinged=False, cycles=(STEAM,),
                        length_mm=150, width_mm=25, height_mm=70)  # fmt: skip
    question = Question(instrument=deaver, supplies=(POUCH,), programmes=(RUN,))
    taken = decide(question, POLICY).recommended
    assert taken
    (box,) = rects(scene_of(taken, question, POLICY), "box")
    assert (box.width, box.height) == (150, 70)


def test_a_wrap_lies_on_its_corner_for_the_envelope_fold() -> None:
    drawn = scene(WRAP)
    assert drawn
    sheet = next(s for s in drawn.shapes if isinstance(s, Polygon) and s.role == "paper")
    xs = [x for x, _ in sheet.rings[0]]
    assert max(xs) - min(xs) == pytest.approx(900 * 2**0.5)


def test_the_flaps_of_a_wrap_are_numbered_in_the_order_of_the_hands() -> None:
    """Near, the sides, far: the first nearest to who folds, the last farthest."""
    drawn = scene(WRAP)
    assert drawn
    at = {s.words: (s.x, s.y) for s in drawn.shapes if isinstance(s, Text) and s.role == "figure"}
    assert at["1"][1] > at["2"][1] == at["3"][1] > at["4"][1] and at["2"][0] < at["3"][0]


def test_a_wrap_has_no_rule_which_would_be_too_short_to_measure() -> None:
    drawn = scene(WRAP)
    assert drawn and not [shape for shape in drawn.shapes if shape.role == "rule"]


def test_a_square_fold_keeps_the_sheets_real_sides() -> None:
    pack = Box(length_mm=480, width_mm=250, height_mm=50)
    wrap = Wrap(code="W", width_mm=1000, length_mm=1200)
    (sheet,) = rects(wrap_scene("basket", pack, wrap, "square", "width"), "paper")
    assert sorted((sheet.width, sheet.height)) == [1000, 1200]


def test_a_container_shows_its_inside() -> None:
    (tray,) = rects(scene(BOX), "tray")
    assert (tray.width, tray.height) == (560, 265)


def test_what_fits_only_at_an_angle_is_drawn_at_one() -> None:
    drawn = scene(BOX, length_mm=580, width_mm=20)
    assert drawn and any(isinstance(s, Polygon) and s.role == "box" for s in drawn.shapes)


def test_several_pieces_lie_side_by_side_without_touching() -> None:
    three = replace(holder(width_mm=80), pieces=3)
    question = Question(instrument=three, supplies=(POUCH,), programmes=(RUN,))
    decision = decide(question, POLICY)
    assert decision.recommended
    drawn = scene_of(decision.recommended, question, POLICY)
    assert drawn
    rings = [s for s in drawn.shapes if isinstance(s, Polygon) and len(s.rings) == 2]
    spans = [bounds([ring]) for ring in rings]
    assert len(spans) == 6
    assert all(one[3] < other[1] for one, other in pairwise(sorted(spans, key=lambda b: b[1])))


@pytest.mark.parametrize("supply", [POUCH, ROLL, WRAP, BOX], ids=lambda supply: supply.code)
def test_an_outline_that_is_not_known_says_so_in_the_drawing(supply: Pouch | Wrap) -> None:
    question = Question(
        instrument=replace(holder(), name="Mystery hook"), supplies=(supply,), programmes=(RUN,)
    )
    decision = decide(question, POLICY)
    shown = decision.recommended or decision.passed_over[0].candidate
    for item, said in ((question, True), (replace(question, instrument=holder()), False)):
        drawn = scene_of(shown, item, POLICY)
        assert drawn
        words = [one.words for one in drawn.shapes if isinstance(one, Text)]
        assert any("outline not known" in one for one in words) is said


@pytest.mark.parametrize("supply", [POUCH, ROLL, WRAP, BOX], ids=lambda supply: supply.code)
def test_all_of_a_drawing_lies_on_its_sheet(supply: Pouch | Wrap) -> None:
    drawn = scene(supply)
    assert drawn
    shapes = [_box(one, drawn.lettering) if isinstance(one, Text) else _line(one)
              for one in drawn.shapes]  # fmt: skip
    assert shapely.box(0, 0, drawn.width, drawn.height).covers(shapely.GeometryCollection(shapes))


SIZES = st.tuples(st.floats(20, 500), st.floats(4, 200), st.floats(1, 60))


@given(SIZES, st.sampled_from([None, *Form]), st.sampled_from([POUCH, OUTER, ROLL, WRAP, BOX]))
def test_no_words_are_crossed_by_a_line_or_other_words(
    sizes: tuple[float, float, float], form: Form | None, supply: Pouch | Roll | Wrap | Container
) -> None:
    length, width, height = sizes
    drawn = scene(supply, length_mm=length, width_mm=width, height_mm=height, form=form,
                  name="thing", hinged=form is Form.RINGS)  # fmt: skip
    if drawn is None:
        return
    words = [_box(shape, drawn.lettering) for shape in drawn.shapes if isinstance(shape, Text)]
    assert not [(a, b) for a, b in combinations(words, 2) if a.intersects(b)]
    lines = [
        (n, _line(shape)) for n, shape in enumerate(drawn.shapes) if not isinstance(shape, Text)
    ]
    plates = {n: shapely.Polygon(shape.rings[0]) for n, shape in enumerate(drawn.shapes)
              if isinstance(shape, Polygon) and shape.role == "plate"}  # fmt: skip
    for box in words:
        under = max((n for n, plate in plates.items() if plate.intersects(box)), default=-1)
        crossed = [drawn.shapes[n] for n, one in lines if n > under and one.intersects(box)]
        assert not crossed


def _box(text: Text, height: float) -> shapely.Polygon:
    """About where words stand: as high as capitals, a little narrower than they may be."""
    wide = len(text.words) * height * 0.5
    left = text.x - {"start": 0.0, "middle": wide / 2, "end": wide}[text.anchor]
    return shapely.box(left, text.y - height * 0.68, left + wide, text.y)


def _line(shape: Shape) -> shapely.Geometry:
    match shape:
        case Rect():
            right, bottom = shape.x + shape.width, shape.y + shape.height
            return shapely.box(shape.x, shape.y, right, bottom).exterior
        case Polygon():
            return shapely.MultiLineString([[*ring, ring[0]] for ring in shape.rings])
        case Polyline():
            return shapely.LineString(shape.points)
        case _:
            raise TypeError(shape)


@given(SIZES, st.sampled_from([None, *Form]))
def test_the_indicator_lies_beside_the_instrument_not_under_it(
    sizes: tuple[float, float, float], form: Form | None
) -> None:
    drawn = scene(OUTER, length_mm=sizes[0], width_mm=sizes[1], height_mm=sizes[2], form=form)
    strips = rects(drawn, "indicator") if drawn else []
    if not drawn or not strips:
        return
    (strip,) = strips
    place = shapely.box(strip.x, strip.y, strip.x + strip.width, strip.y + strip.height)
    roles = ("instrument", "unknown", "joint", "detail")
    assert not [s for s in drawn.shapes if s.role in roles and _line(s).intersects(place)]


@given(SIZES, st.sampled_from([None, *Form]), st.sampled_from([POUCH, OUTER, ROLL]))
def test_what_fits_lies_inside_the_room_that_the_rules_leave(
    sizes: tuple[float, float, float], form: Form | None, supply: Pouch | Roll
) -> None:
    item = holder(length_mm=sizes[0], width_mm=sizes[1], height_mm=sizes[2])
    question = Question(instrument=replace(item, form=form), supplies=(supply,), programmes=(RUN,))
    taken = decide(question, POLICY).recommended
    if taken is None:
        return
    drawn = scene_of(taken, question, POLICY)
    (room,), (inside,), (box,) = (rects(drawn, role) for role in ("asked", "inside", "box"))
    for outer, inner in ((inside, room), (room, box)):
        assert outer.x - 1e-6 <= inner.x and outer.y - 1e-6 <= inner.y
        assert inner.x + inner.width <= outer.x + outer.width + 1e-6
        assert inner.y + inner.height <= outer.y + outer.height + 1e-6
    outlines = [s for s in drawn.shapes if s.role in ("instrument", "unknown")] if drawn else []
    assert bounds(outlines) == pytest.approx(  # type: ignore[arg-type]
        (box.x, box.y, box.x + box.width, box.y + box.height), abs=0.5
    )


@given(SIZES, st.sampled_from([None, *Form]), st.sampled_from([WRAP, BOX]), st.booleans())
def test_what_fits_lies_in_the_pack_or_the_container(
    sizes: tuple[float, float, float], form: Form | None, supply: Wrap | Container, hinged: bool
) -> None:
    item = holder(length_mm=sizes[0], width_mm=sizes[1], height_mm=sizes[2], hinged=hinged)
    question = Question(instrument=replace(item, form=form), supplies=(supply,), programmes=(RUN,))
    taken = decide(question, POLICY).recommended
    if taken is None:
        return
    drawn = scene_of(taken, question, POLICY)
    (room,) = rects(drawn, "box" if supply is WRAP else "tray")
    outlines = [s for s in drawn.shapes if s.role in ("instrument", "unknown")] if drawn else []
    left, top, right, bottom = bounds(outlines)  # type: ignore[arg-type]
    assert left >= room.x - 0.5 and right <= room.x + room.width + 0.5
    assert top >= room.y - 0.5 and bottom <= room.y + room.height + 0.5


class TestSvg:
    def test_it_is_named_for_a_screen_reader(self) -> None:
        drawn = scene(POUCH)
        assert drawn and f'aria-label="{drawn.title}' in svg(drawn) and 'role="img"' in svg(drawn)

    def test_markup_in_a_name_stays_text(self) -> None:
        question = Question(
            instrument=Instrument(name="<b>&", length_mm=180, width_mm=70, height_mm=12,
                                  weight_g=1, cycles=(STEAM,)),
            supplies=(POUCH,),
        )  # fmt: skip
        decision = decide(question, POLICY)
        assert decision.recommended
        drawn = scene_of(decision.recommended, question, POLICY)
        assert drawn and "<b>" not in svg(drawn)

    def test_no_number_is_not_one(self) -> None:
        drawn = scene(POUCH)
        assert drawn and not re.search(r"nan|inf\b", svg(drawn))
