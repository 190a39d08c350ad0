"""How the packages of one load stand: what is told of them, and what cannot be told."""

from __future__ import annotations

from datetime import date

import pytest

from assembly.rules.findings import Finding, Status
from assembly.rules.limits.racks import Piece, Shelf
from assembly.rules.policy.values import default_policy
from assembly.rules.telling.loading import (
    Rack,
    Stands,
    contents_findings,
    how_many,
    rack_finding,
)
from catalog.vocabulary import ItemClass, Kind

POLICY = default_policy(date(2026, 11, 26))
TEXTILES = frozenset({ItemClass.TEXTILES})
RACK = Rack(Shelf(600, 300, 300), 2)


def a_set(code: str, gross_g: float | None = 5000, **more: object) -> Stands:
    given = {"kind": Kind.CONTAINER, "classes": frozenset({ItemClass.INSTRUMENTS})} | more
    return Stands(code=code, what="set", gross_g=gross_g, **given)  # type: ignore[arg-type]


def a_pouch(code: str, width: float = 100, length: float = 200, thick: float = 14) -> Stands:
    piece = Piece(code, length, thick, width, pouch=True)
    return Stands(code=code, what="clamp", kind=Kind.POUCH, piece=piece)


def a_box(code: str, height: float = 135) -> Stands:
    return a_set(code, piece=Piece(code, 580, 280, height, gross_g=5000))


def found(*load: Stands) -> dict[str, Finding]:
    return {one.rule: one for one in contents_findings(load, POLICY)}


def test_the_heaviest_goes_lowest_and_textiles_above_metal() -> None:
    drapes = a_set("PK-3", 2000, kind=Kind.WRAP, classes=TEXTILES)
    words = found(a_set("PK-1", 4100), a_set("PK-2", 7200), drapes)["heavy below"].sentence()
    assert "PK-2 set (7.20 kg), PK-1 set (4.10 kg), and above them the textiles PK-3" in words


def test_a_weight_that_is_not_on_record_is_named() -> None:
    one = found(a_set("PK-1"), a_set("PK-2", None))["heavy below"]
    assert (one.status, "PK-2 set" in one.sentence()) == (Status.CANNOT_TELL, True)


@pytest.mark.parametrize(("sets", "more"), [(6, None), (7, "and 1 more"), (9, "and 3 more")])
def test_of_many_the_first_six_are_named(sets: int, more: str | None) -> None:
    words = found(*(a_set(f"PK-{n}", None) for n in range(sets)))["heavy below"].sentence()
    assert ("PK-5" in words, "PK-6" in words, "more" in words) == (True, False, bool(more))
    assert not more or more in words


def test_one_set_alone_has_nothing_below_it() -> None:
    assert found(a_set("PK-1")) == {}


@pytest.mark.parametrize("way", ["paper to film", "film to film"])
def test_pouches_face_as_the_policy_says(way: str) -> None:
    policy = default_policy(date(2026, 11, 26), {"facing_in_chamber": way})
    [one] = contents_findings([a_pouch("PK-1"), a_pouch("PK-2")], policy)
    assert "2 pouches: on edge" in one.sentence()
    assert ("In pairs" in one.sentence()) == (way == "film to film")


def test_basins_stand_on_edge_and_are_named() -> None:
    words = found(a_set("PK-1", basin=True))["basins on edge"].sentence()
    assert "On edge, tilted" in words and "PK-1 set" in words


def test_what_carries_no_facts_cannot_be_told() -> None:
    assert found(Stands(code="PK-9", what="old"))["what it is"].status is Status.CANNOT_TELL


def test_all_of_it_stands_on_so_many_shelves() -> None:
    one, shelves = rack_finding([a_box("PK-1"), a_pouch("PK-2")], RACK, POLICY)
    assert one is not None
    assert (one.status, one.sentence()) == (Status.MET, "All of it stands on 2 of 2 shelves.")
    assert [[each.piece.code for each in shelf] for shelf in shelves] == [["PK-1"], ["PK-2"]]


def test_what_was_not_found_is_not_refused() -> None:
    one, shelves = rack_finding([a_box(f"PK-{n}") for n in range(3)], RACK, POLICY)
    assert one is not None and (one.status, len(shelves)) == (Status.CANNOT_TELL, 3)


def test_what_is_too_high_for_every_shelf_is_not_met() -> None:
    one, _ = rack_finding([a_box("PK-1", 301)], RACK, POLICY)
    assert one is not None and (one.status, "301 mm high" in one.sentence()) == (
        Status.NOT_MET, True,
    )  # fmt: skip


@pytest.mark.parametrize("rack", [None, Rack(RACK.shelf, 2, most_g=8000)])
def test_without_shelves_or_a_weight_it_cannot_be_told(rack: Rack | None) -> None:
    one, _ = rack_finding([a_pouch("PK-1")], rack, POLICY)
    assert one is not None and one.status is Status.CANNOT_TELL


def test_a_size_that_is_missing_is_named() -> None:
    one, _ = rack_finding([a_set("PK-1", missing="its size outside")], RACK, POLICY)
    assert one is not None and "PK-1: its size outside" in one.sentence()


def test_nothing_inside_says_nothing() -> None:
    assert rack_finding([], RACK, POLICY) == (None, [])


def test_how_many_stand_is_told_for_the_thickest_of_each_size() -> None:
    """100 x 200 mm, 14 thick, 10 apart on 480 x 250 x 200: 20, reckoned by hand."""
    rack = Rack(Shelf(480, 250, 200), 3)
    said = how_many([a_pouch("PK-1", thick=8), a_pouch("PK-2")], rack, POLICY)
    assert said == ["Pouches 100 × 200 mm, 14 mm thick: at least 20 on a shelf, 60 in the rack."]
