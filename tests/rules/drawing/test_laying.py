"""A set laid for its drawing: everything that is known, once, beside each other, tallest low."""

from __future__ import annotations

from datetime import date
from itertools import combinations

from hypothesis import given
from hypothesis import strategies as st

from assembly.rules.deciding.set_facts import SetLine
from assembly.rules.drawing.laying import STEP_MM, Spot, lay
from assembly.rules.drawing.scenes_baskets import PLAN, Inside, set_scenes
from assembly.rules.drawing.shapes import Polygon, bounds
from assembly.rules.facts.instruments import Box, Instrument
from assembly.rules.policy.values import default_policy
from catalog.vocabulary import Form

POLICY = default_policy(date(2026, 11, 25))
LONG, WIDE = 480.0, 250.0
BASKET = Inside("basket B", Box(length_mm=LONG, width_mm=WIDE, height_mm=50))


def line(name: str = "rod", quantity: int = 1, section: str = "", **facts: object) -> SetLine:
    sizes: dict[str, object] = {"length_mm": 180.0, "width_mm": 20.0, "height_mm": 9.0}
    made = Instrument(name=name, **{**sizes, **facts})  # type: ignore[arg-type]
    return SetLine(quantity=quantity, instrument=made, section=section)


lines = st.lists(
    st.builds(
        line, quantity=st.integers(1, 9), length_mm=st.floats(20, LONG), width_mm=st.floats(3, 120),
        height_mm=st.floats(1, 90), form=st.sampled_from([None, *Form]),
        section=st.sampled_from(["", "a", "b"]),
    ),
    max_size=8,
)  # fmt: skip


@given(lines)
def test_nothing_lies_on_anything_else_or_out_of_the_basket(some: list[SetLine]) -> None:
    for layer in lay(some, LONG, WIDE, POLICY).layers:
        assert all(s.right <= LONG + 1e-6 and s.bottom <= WIDE + 1e-6 for s in layer.spots)
        for one, other in combinations(layer.spots, 2):
            assert not _meet(one, other)


def _meet(one: Spot, other: Spot) -> bool:
    beside = one.x < other.right and other.x < one.right
    return beside and one.y < other.bottom and other.y < one.bottom


@given(lines)
def test_every_piece_is_drawn_once_or_named(some: list[SetLine]) -> None:
    laying = lay(some, LONG, WIDE, POLICY)
    drawn = sum(spot.heap.count for layer in laying.layers for spot in layer.spots)
    left = len(laying.too_large) + len(laying.unknown)
    if not left:
        assert drawn == sum(one.quantity for one in some)
    assert bool(left) or drawn or not some


@given(lines)
def test_what_is_tallest_lies_lowest(some: list[SetLine]) -> None:
    heights = [layer.height for layer in lay(some, LONG, WIDE, POLICY).layers]
    steps = [height // STEP_MM for height in heights]
    assert steps == sorted(steps, reverse=True)


def test_a_layer_says_whether_it_took_a_piece() -> None:
    some = lay([line()], LONG, WIDE, POLICY).layers[0]
    heap = some.spots[0].heap
    assert (some.take(heap, LONG, WIDE), some.take(heap, 100.0, WIDE)) == (True, False)
    assert len(some.spots) == 2


def test_of_equally_tall_layers_the_heavier_lies_lower() -> None:
    light, heavy = (
        line("light", width_mm=240.0, length_mm=470.0),
        line("heavy", width_mm=240.0, length_mm=470.0, weight_g=900.0),
    )
    bottom, top = lay([light, heavy], LONG, WIDE, POLICY).layers
    assert bottom.spots[0].heap.piece.item.name == "heavy"
    assert top.spots[0].heap.piece.item.name == "light"


def test_a_section_stays_together() -> None:
    some = [line("a1", 2, "a", height_mm=30.0), line("b", 1, "b", height_mm=20.0),
            line("a2", 1, "a", height_mm=5.0)]  # fmt: skip
    (layer,) = lay(some, LONG, WIDE, POLICY).layers
    assert [spot.heap.piece.item.name for spot in layer.spots] == ["a1", "a1", "a2", "b"]


def test_equal_ring_handled_pieces_overlap_as_on_a_stringer() -> None:
    (layer,) = lay([line("Mosquito", 5, form=Form.RINGS)], LONG, WIDE, POLICY).layers
    assert [spot.heap.count for spot in layer.spots] == [5]


def test_what_is_not_drawn_is_named() -> None:
    scenes = set_scenes(
        [line("known"), line("not measured", width_mm=None), line("long one", length_mm=900.0)],
        BASKET, POLICY,
    )  # fmt: skip
    said = " ".join(scenes[0].legend)
    assert "a size is not known: not measured." in said
    assert "larger than the inside: long one." in said


def test_a_set_says_that_its_drawing_is_no_plan() -> None:
    assert PLAN in set_scenes([line()], BASKET, POLICY)[0].legend


def test_a_basket_is_never_an_empty_rectangle_where_a_piece_is_known() -> None:
    (scene,) = set_scenes([line()], BASKET, POLICY)
    outlines = [s for s in scene.shapes if isinstance(s, Polygon)]
    left, top, right, bottom = bounds(outlines)
    assert (right - left, bottom - top) == (180, 20)


def test_a_basket_of_unknown_size_is_not_drawn() -> None:
    assert set_scenes([line()], Inside("basket", Box(length_mm=LONG)), POLICY) == []
