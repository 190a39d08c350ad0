"""What is said of a set: a layout found, one piece proved too large, nothing found, cannot tell."""

from __future__ import annotations

import pytest

from assembly.rules.deciding.set_facts import Basket, SetLine, SetQuestion
from assembly.rules.facts.supplies import Container
from assembly.rules.layers.laid import Asked, Into, Laid, Verdict, into_of, laid_as, lay_out
from assembly.rules.layers.moving import NoRoomError
from tests.rules.given import box, instrument, policy

BASKET = Into("basket B", box(480, 250, 50))


def laid(*lines: SetLine, into: Into | None = BASKET) -> Laid:
    return lay_out(Asked(lines, into, policy()))


def line(quantity: int, *sizes: float | None, **more: object) -> SetLine:
    return SetLine(quantity=quantity, instrument=instrument(*sizes, **more))  # type: ignore[arg-type]


def test_a_layout_that_was_found_fits():
    found = laid(line(4, 200, 20, 9))
    assert (found.verdict, found.why()) == (Verdict.FITS, "A layout in basket B was found.")


def test_one_piece_that_goes_in_at_no_angle_is_proved():
    found = laid(line(1, 600, 20, 9, name="Long rod"), line(4, 200, 20, 9))
    assert found.verdict is Verdict.CANNOT_FIT
    assert found.why() == "Long rod (600 mm by 20 mm) lies in basket B at no angle."


def test_one_piece_that_stands_too_high_is_proved():
    assert laid(line(1, 200, 60, 51)).verdict is Verdict.CANNOT_FIT


def test_too_many_boxes_prove_nothing_against_a_set():
    found = laid(line(2, 300, 130, 26))  # one above the other 52 mm, beside each other 260 mm
    assert found.verdict is Verdict.NOT_FOUND
    assert "none was proved impossible" in found.why()


def test_more_boxes_than_room_are_said_to_be_so_and_still_refuse_nothing():
    found = laid(line(31, 200, 100, 10))  # by hand: 6.2 l of boxes in 480 x 250 x 50 mm, 6 l
    assert found.verdict is Verdict.NOT_FOUND
    assert found.why().startswith(
        "As boxes the pieces take more than the room in basket B (103 %), even without gaps: "
        "no layout can be found."
    )


def test_boxes_that_take_the_whole_room_are_not_said_to_be_impossible():
    found = laid(line(30, 200, 100, 10))
    assert (found.verdict, found.share) == (Verdict.NOT_FOUND, 1)
    assert "none was proved impossible" in found.why()


@pytest.mark.parametrize("sizes", [(None, 20, 9), (200, None, 9), (200, 20, None)])
def test_an_unknown_size_cannot_be_told_and_is_named(sizes):
    found = laid(line(1, *sizes, name="Bent hook"), line(1, 200, 20, 9))
    assert found.verdict is Verdict.CANNOT_TELL
    assert "Bent hook" in found.why()


@pytest.mark.parametrize("into", [None, Into("basket B", box(480, None, 50))])
def test_without_an_inner_size_nobody_can_tell(into):
    found = laid(line(1, 200, 20, 9), into=into)
    assert (found.verdict, found.layout) == (Verdict.CANNOT_TELL, None)


def test_no_lines_cannot_be_told():
    assert laid().verdict is Verdict.CANNOT_TELL


def test_a_tight_layer_is_said_and_fits():
    found = laid(line(4, 235, 120, 9))
    assert found.verdict is Verdict.FITS
    assert found.warnings()[0] == "Tight, by how much of the floor is taken: layer 1 (94 %)."


def test_a_layer_at_the_limit_is_not_tight():
    assert not laid(line(4, 230, 110, 9)).warnings()  # 0.843 of 480 x 250, by hand; the limit: 0.85


def test_a_heavy_corner_is_said():
    heavy = line(1, 100, 60, 20, 900, name="Mallet")
    assert "A heavy corner: " in laid(heavy, line(1, 100, 60, 20, 10)).warnings()[0]


def test_weight_that_is_spread_is_not_said():
    assert not laid(line(4, 230, 110, 9)).warnings()


def test_what_is_not_weighed_is_named_and_not_taken_for_nothing():
    found = laid(line(1, 230, 110, 9, None, name="Rasp"), line(1, 230, 110, 9, name="Hook"))
    assert found.warnings()[-1] == "Not weighed, so not in the spread: Rasp."
    weights = [one["weight_g"] for one in found.as_json()["layers"]]
    assert weights == [None]


def test_json_says_verdict_and_layers():
    answer = laid(line(2, 200, 20, 9)).as_json()
    assert answer["verdict"] == "fits"
    assert [(one["layer"], one["height_mm"], len(one["items"])) for one in answer["layers"]] == [
        (1, 9, 2)
    ]


def test_json_says_where_each_piece_lies_and_what_it_is():
    """By hand: alone in the basket it lies in the corner; 200 x 60 of 480 x 250 mm are a tenth."""
    (layer,) = laid(line(1, 200, 60, 9, 310, name="Hook")).as_json()["layers"]
    (item,) = layer.pop("items")
    assert layer == {"layer": 1, "height_mm": 9, "fill": 0.1, "weight_g": 310}
    assert item == {
        "key": "1.1", "name": "Hook", "lines": [{"line": 1, "pieces": 1}], "x_mm": 0, "y_mm": 0,
        "length_mm": 200, "width_mm": 60, "height_mm": 9, "across": False, "angle_degrees": 0,
    }  # fmt: skip


def test_json_names_what_found_no_place():
    """By hand: two of 26 mm stand 52 mm high, and beside each other they are 260 mm wide."""
    assert laid(line(2, 300, 130, 26, name="Box")).as_json()["no_place_found"] == ["Box"]


class TestReadBack:
    ASKED = Asked((line(2, 200, 60, 9), line(1, 300, 40, 12)), BASKET, policy())

    def test_what_was_found_is_read_back_as_it_was(self):
        found = lay_out(self.ASKED)
        again = laid_as(self.ASKED, found.plan)
        assert (again.layout, again.levels, again.verdict) == (found.layout, 1, Verdict.FITS)

    @pytest.mark.parametrize(
        "changed", [{"into": "basket C"}, {"levels": 4}, {"levels": None}, {"room": [480, 250, 60]}]
    )
    def test_what_was_kept_of_another_record_is_refused(self, changed):
        with pytest.raises(NoRoomError, match="The record has changed"):
            laid_as(self.ASKED, {**lay_out(self.ASKED).plan, **changed})

    @pytest.mark.parametrize("into", [None, Into("basket B", box(480, None, 50))])
    def test_without_room_nothing_is_read_back(self, into):
        with pytest.raises(NoRoomError, match="The record has changed"):
            laid_as(Asked(self.ASKED.lines, into, policy()), lay_out(self.ASKED).plan)


class TestInto:
    CONTAINER = Container(code="C", inner_length_mm=560, inner_width_mm=265, inner_height_mm=130)

    def question(self, **more: object) -> SetQuestion:
        facts = {"lines": (), "supplies": (self.CONTAINER,), **more}
        return SetQuestion(**facts)  # type: ignore[arg-type]

    def test_the_basket_comes_before_the_container(self):
        into = into_of(self.question(basket=Basket(code="B"), packed_in="C"), policy())
        assert into and into.name == "basket B"

    def test_in_a_container_the_rim_stays_free(self):
        into = into_of(self.question(packed_in="C"), policy(rim_clearance_mm=5))
        assert into and into.room and into.room.high == 125

    def test_what_is_not_on_record_is_none(self):
        assert into_of(self.question(), policy()) is None
