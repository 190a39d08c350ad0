"""Each piece of a set in its basket: at any angle, open, on its side, and all their areas."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from assembly.rules.facts.instruments import Instrument
from assembly.rules.findings import Finding, Status
from tests.rules.deciding.test_sets import BOX, asked, finding, forceps

NARROW = {"length_mm": 480, "lies_only_as_given": True}


def lies(*instruments: Instrument, **more: Any) -> Finding:
    return finding(asked(*instruments, **more), "each piece fits")


def test_a_piece_too_long_at_any_angle_is_named() -> None:
    found = lies(forceps(name="long one", length_mm=545))
    assert (found.status, "long one" in found.sentence()) == (Status.NOT_MET, True)


@pytest.mark.parametrize(("height", "state"), [(70, Status.MET), (70.1, Status.NOT_MET)])
def test_a_piece_above_the_rim_does_not_lie_in_it(height: float, state: Status) -> None:
    """The basket is 70 mm high inside."""
    assert lies(forceps(height_mm=height, lies_only_as_given=True)).status is state


@pytest.mark.parametrize(("height", "state"), [(125, Status.MET), (125.1, Status.NOT_MET)])
def test_without_a_basket_it_stays_clear_of_the_lid(height: float, state: Status) -> None:
    """130 mm inside, 5 mm of them free (common practice, no source)."""
    high = forceps(height_mm=height, lies_only_as_given=True)
    assert lies(high, basket=None, supplies=(BOX,)).status is state


def test_a_container_lower_than_what_stays_free_holds_nothing() -> None:
    low = replace(BOX, inner_height_mm=5)
    assert lies(forceps(), basket=None, supplies=(low,)).status is Status.NOT_MET


def test_a_high_one_may_lie_on_its_side_and_that_is_said() -> None:
    """COMPUTATIONS 1.4."""
    found = lies(forceps(name="retractor", width_mm=25, height_mm=95, hinged=False))
    assert (found.status, "Lay on its side: retractor." in found.sentence()) == (Status.MET, True)


def test_an_unknown_size_cannot_be_told() -> None:
    assert lies(forceps(width_mm=None)).status is Status.CANNOT_TELL


@pytest.mark.parametrize(("width", "state"), [(250, Status.MET), (250.1, Status.NOT_MET)])
def test_a_piece_as_wide_as_the_basket_lies_in_it(width: float, state: Status) -> None:
    assert lies(forceps(**NARROW, width_mm=width, hinged=False)).status is state


class TestHingedThingsLieOpen:
    """Hinged items open: ANSI/AAMI ST79 as reported; a stringer holds them so."""

    @pytest.mark.parametrize(("open_mm", "state"), [(250, Status.MET), (250.1, Status.NOT_MET)])
    def test_by_the_width_open_where_it_is_measured(self, open_mm: float, state: Status) -> None:
        assert lies(forceps(**NARROW, width_mm=100, width_open_mm=open_mm)).status is state

    @pytest.mark.parametrize(
        ("closed", "state"),
        [(192.3, Status.MET), (192.4, Status.CANNOT_TELL), (250.1, Status.NOT_MET)],
    )
    def test_one_that_is_only_reckoned_is_to_be_measured(
        self, closed: float, state: Status
    ) -> None:
        """250 mm less 30 % is 192.3 mm (common practice, no source)."""
        assert lies(forceps(**NARROW, width_mm=closed)).status is state

    def test_and_is_said_to_be_reckoned(self) -> None:
        found = lies(forceps(**NARROW, width_mm=200))
        said = found.sentence()
        assert "260 mm is reckoned from 200 mm closed" in said and "Measure it open" in said
        assert found.missing == ("width_open_mm",)


class TestAreas:
    def test_they_prove_that_not_all_lie_in_one_layer(self) -> None:
        """400 of 140 x 60 mm need 3,360,000 mm2; the floor has 120,000."""
        rulers = forceps(length_mm=140, width_mm=60, hinged=False)
        said = lies(rulers, quantity=400).sentence()
        assert "cannot all lie flat in one layer" in said and "2,800 %" in said

    @pytest.mark.parametrize(("count", "proved"), [(71, False), (72, True)])
    def test_on_a_stringer_each_takes_no_more_than_its_thickness(
        self, count: int, proved: bool
    ) -> None:
        """Clamps of 140 x 60 x 12 mm: 71 stand side by side on 120,000 mm2, 72 do not."""
        clamps = forceps(length_mm=140, width_mm=60, height_mm=12)
        said = lies(clamps, quantity=count).sentence()
        assert ("cannot all lie flat" in said) is proved

    def test_what_may_lie_in_one_layer_is_left_to_the_bench(self) -> None:
        assert "seen at the bench" in lies(forceps()).sentence()
