"""Lumens against two published sets of claims for peroxide cycles.

Source: FDA 510(k) summaries K190005 and K234082, each read in a secondary source.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from assembly.rules.deciding.choose import decide
from assembly.rules.deciding.set_facts import SetLine, SetQuestion
from assembly.rules.deciding.sets import decide_set
from assembly.rules.facts.cycles import CycleOption, LumenClaim, Programme
from assembly.rules.facts.instruments import Box, Instrument
from assembly.rules.facts.supplies import Pouch, Wrap
from assembly.rules.findings import Outcome, Status
from assembly.rules.methods.lumens import Gross, Lumens, lumen_finding, together_finding
from assembly.rules.methods.routes import Route
from catalog.vocabulary import LumenMaterial, Material, Method
from tests.rules.given import instrument, policy, question

STEEL, FLEXIBLE = LumenMaterial
K190005 = (  # FDA 510(k) K190005, in a secondary source
    LumenClaim(material=STEEL, channels=2, bore_mm=0.77, length_mm=410, most_in_load=15),
    LumenClaim(material=STEEL, channels=2, bore_mm=1.33, length_mm=430, most_in_load=15),
    LumenClaim(material=STEEL, channels=3, bore_mm=1.00, length_mm=310, most_in_load=15),
    LumenClaim(material=FLEXIBLE, channels=1, bore_mm=1.00, length_mm=1280),
)
LOAD_G = 2 * 10.7 * 453.59237
K234082 = (  # FDA 510(k) K234082, in a secondary source
    LumenClaim(material=STEEL, channels=1, bore_mm=0.7, length_mm=500, most_in_tray=5,
               most_in_load=10, load_g=LOAD_G),
    LumenClaim(material=FLEXIBLE, channels=1, bore_mm=1, length_mm=1065, most_in_tray=1,
               most_in_load=2, load_g=LOAD_G),
)  # fmt: skip


def way(claims, method=Method.H2O2) -> Route:
    run = Programme(code="V", method=method, cycle_name="P1", claims=claims)
    return Route(method, None, CycleOption(method=method, cycle_name="P1"), run)


def tube(bore: float | None, length: float | None, quantity: int = 1, **more: Any) -> Lumens:
    facts = {"lumen_material": STEEL, "channels": 1} | more
    piece = Instrument(name="tube", lumen_mm=bore, lumen_length_mm=length, **facts)
    return Lumens(piece, quantity)


def status(claims, *inside: Lumens, **more: Any) -> Status:
    return lumen_finding(inside, way(claims, **more)).status


@pytest.mark.parametrize(
    ("bore", "length", "here", "there"),  # under K190005, under K234082
    [
        (0.77, 410, Status.MET, Status.MET),
        (0.76, 410, Status.NOT_MET, Status.MET),
        (0.77, 411, Status.NOT_MET, Status.MET),
        (0.9, 420, Status.NOT_MET, Status.MET),
        (1.33, 430, Status.MET, Status.MET),
        (1.33, 431, Status.NOT_MET, Status.MET),
        (0.69, 500, Status.NOT_MET, Status.NOT_MET),
        (0.7, 501, Status.NOT_MET, Status.NOT_MET),
    ],
)
def test_a_lumen_is_met_by_one_whole_row(bore, length, here, there):
    found = status(K190005, tube(bore, length)), status(K234082, tube(bore, length))
    assert found == (here, there)


@pytest.mark.parametrize(
    ("channels", "bore", "length", "answer"),
    [(2, 0.77, 410, Status.MET), (3, 0.77, 410, Status.NOT_MET), (3, 1.0, 310, Status.MET),
     (3, 1.0, 311, Status.NOT_MET), (4, 2.0, 100, Status.NOT_MET)],
)  # fmt: skip
def test_channels_belong_to_the_row(channels, bore, length, answer):
    assert status(K190005, tube(bore, length, channels=channels)) is answer


@pytest.mark.parametrize(("length", "answer"), [(1280, Status.MET), (1281, Status.NOT_MET)])
def test_the_wall_belongs_to_the_row(length, answer):
    assert status(K190005, tube(1.0, length, lumen_material=FLEXIBLE)) is answer


@pytest.mark.parametrize(
    ("bore", "length", "more", "missing"),
    [(None, 400, {}, "lumen_mm"), (1.4, None, {}, "lumen_length_mm"),
     (1.4, 300, {"lumen_material": None}, "lumen_material"),
     (1.4, 300, {"channels": None}, "channels")],
)  # fmt: skip
def test_what_is_not_on_record_cannot_be_told(bore, length, more, missing):
    found = lumen_finding([tube(bore, length, **more)], way(K190005))
    assert (found.status, missing in found.missing) == (Status.CANNOT_TELL, True)


def test_what_fails_every_row_fails_whatever_is_unknown():
    assert status(K190005, tube(0.5, None)) is Status.NOT_MET


@pytest.mark.parametrize(("quantity", "answer"), [(5, Status.MET), (6, Status.NOT_MET)])
def test_the_most_in_a_tray(quantity, answer):
    assert status(K234082, tube(1, 300, quantity)) is answer


def test_the_strictest_claim_counts_where_several_lumens_lie_in_one_tray():
    """Five of steel, one that is flexible."""
    steel, flexible = tube(1, 300), tube(1, 1000, lumen_material=FLEXIBLE)
    assert [status(K234082, *inside) for inside in ([flexible], [steel, flexible])] == [
        Status.MET, Status.NOT_MET,
    ]  # fmt: skip


def test_the_strictest_claim_counts_for_the_weight_of_a_load():
    rows = (K234082[0], replace(K234082[1], load_g=5000))
    inside = tube(1, 300), tube(1, 1000, lumen_material=FLEXIBLE)
    assert [load_status(rows, *inside, weight=grams) for grams in (5000, 5001)] == [
        Status.MET, Status.NOT_MET,
    ]  # fmt: skip


def load_status(claims, *inside: Lumens, weight: float | None = 100) -> Status:
    return together_finding(inside, claims, [Gross("A", weight)], 0.9).status


@pytest.mark.parametrize(("pieces", "answer"), [(15, Status.MET), (16, Status.NOT_MET)])
def test_the_most_in_a_load(pieces, answer):
    assert load_status(K190005, tube(1, 300, pieces)) is answer


@pytest.mark.parametrize(
    ("weight", "answer"),
    [(LOAD_G, Status.MET), (LOAD_G + 1, Status.NOT_MET), (None, Status.CANNOT_TELL)],
)
def test_the_greatest_load(weight, answer):
    assert load_status(K234082, tube(1, 300, 2), weight=weight) is answer


@pytest.mark.parametrize("claims", [None, ()])
def test_without_claims_peroxide_cannot_be_told(claims):
    assert status(claims, tube(1, 2000)) is Status.CANNOT_TELL


def test_steam_is_left_to_the_ifu():
    assert status(None, tube(1, 2000), method=Method.STEAM) is Status.DOES_NOT_APPLY


def test_nothing_hollow_is_not_asked():
    assert status(K190005) is Status.DOES_NOT_APPLY


@pytest.mark.parametrize(("second", "answer"), [(5, Status.MET), (6, Status.NOT_MET)])
def test_the_lumens_of_a_load_are_counted_together(second, answer):
    """At most ten in a load: FDA 510(k) K234082, in a secondary source."""
    assert load_status(K234082, tube(1, 300, 5), tube(1, 300, second)) is answer


class TestThroughTheWholeDecision:
    """K190005, in a secondary source: steel of 0.77 x 410 mm goes, of 0.76 mm nothing goes."""

    RUN = Programme(code="V", method=Method.H2O2, cycle_name="P1", claims=K190005)

    def tube(self, bore: float | None, **more: Any) -> Instrument:
        ifu = CycleOption(method=Method.H2O2, cycle_name="P1")
        return instrument(250, 20, 8, lumen_mm=bore, lumen_length_mm=410, lumen_material=STEEL,
                          channels=1, cycles=(ifu,), **more)  # fmt: skip

    answers = pytest.mark.parametrize(
        ("bore", "outcome"),
        [(0.77, Outcome.RECOMMENDED), (0.76, Outcome.NONE), (None, Outcome.UNDECIDED)],
    )

    @answers
    def test_of_one_instrument(self, bore: float | None, outcome: Outcome) -> None:
        bag = Pouch(code="P", inner_width_mm=150, inner_length_mm=400, rated_g=400,
                    material=Material.POLYOLEFIN_FILM)  # fmt: skip
        asked = question(self.tube(bore), bag, programmes=(self.RUN,))
        assert decide(asked, policy()).outcome is outcome

    def of_a_set(self, run: Programme, bore: float | None, quantity: int = 1) -> Outcome:
        sheet = Wrap(code="W", width_mm=1200, length_mm=1200, layers=2, rated_g=9000,
                     material=Material.SMS, methods=frozenset({Method.H2O2}))  # fmt: skip
        lines = (SetLine(quantity=quantity, instrument=self.tube(bore)),)
        pack = Box(length_mm=500, width_mm=250, height_mm=50)
        asked = SetQuestion(lines=lines, supplies=(sheet,), pack=pack, programmes=(run,))
        return decide_set(asked, policy()).decision.outcome

    @answers
    def test_of_a_set(self, bore: float | None, outcome: Outcome) -> None:
        assert self.of_a_set(self.RUN, bore) is outcome

    def test_a_set_is_asked_for_all_pieces_of_a_line(self) -> None:
        """At most five in a tray: FDA 510(k) K234082, in a secondary source."""
        run = replace(self.RUN, claims=K234082)
        found = [self.of_a_set(run, 0.77, quantity) for quantity in (5, 6)]
        assert found == [Outcome.RECOMMENDED, Outcome.NONE]
