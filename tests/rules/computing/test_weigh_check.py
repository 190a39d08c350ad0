"""The weigh-check against figures worked by enumeration, and against the referee that tries all.

V1 to V9 were worked by enumeration of products beside the code: five lines, spread 1 %, one
deviation of 1 g, at most two changes.
"""

from __future__ import annotations

import math
from dataclasses import replace
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as some

from assembly.rules.computing import weigh_check
from assembly.rules.computing.weigh_check import (
    Answer,
    Explained,
    Piece,
    Reference,
    Scale,
    Values,
    below_tare,
    check,
    explain,
    from_baseline,
    from_catalog,
    not_comparable,
    scale_of,
    smallest_sure,
)
from assembly.rules.computing.weigh_words import answer_json, headline, list_words
from assembly.rules.policy.values import default_policy
from tests.rules.computing.weigh_by_enumeration import by_enumeration
from tests.rules.given import ON

VALUES = Values.of(default_policy(ON))
LINES = (("A", 20.0, 2), ("B", 35.0, 4), ("C", 50.0, 1), ("D", 55.0, 2), ("E", 120.0, 1))
SET = [Piece(name, each, many, many) for name, each, many in LINES]


def told(explained: Explained, pieces: list[Piece] = SET) -> dict[str, float]:
    """Shares by changes such as ``+C-D``, to three places, without what is less."""
    found = {
        "".join(
            f"{'+' if n > 0 else '-'}{name}" * abs(n)
            for name, n in sorted((pieces[i].name, n) for i, n in one.changes)
        )
        or "nothing": round(one.share, 3)
        for one in explained.found
    } | {"else": round(explained.other, 3)}
    return {key: share for key, share in found.items() if share}


@pytest.mark.parametrize(
    ("difference", "shares"),
    [
        (0.4, {"nothing": 1.000}),
        (-2.9, {"nothing": 0.997, "+C-D": 0.003}),
        (-35.2, {"-B": 0.998, "+A-D": 0.002}),
        (-55.1, {"-D": 0.922, "-A-B": 0.078}),
        (-70.3, {"-B-B": 0.735, "-A-C": 0.241, "+C-E": 0.021, "else": 0.002}),
        (-120.5, {"-E": 0.999, "else": 0.001}),
        (20.4, {"+A": 0.934, "-B+D": 0.065, "else": 0.001}),
        (-15.2, {"+A-B": 0.801, "+B-C": 0.185, "else": 0.014}),
        (-300, {"else": 1.000}),
    ],
    ids=[f"V{n}" for n in range(1, 10)],
)
def test_the_check_values(difference: float, shares: dict[str, float]) -> None:
    assert told(explain(SET, difference, 1.0, VALUES)) == shares


@pytest.mark.parametrize(("scale", "sure"), [(Scale(1, 0.5), 3.79), (Scale(5, 2), 16.2)])
def test_the_lightest_piece_that_is_surely_noticed(scale: Scale, sure: float) -> None:
    """Worked by hand: sqrt(2 (1/4 + 1/12)) = 0.816; sqrt(2 (4 + 25/12)) = 3.49; times 4.645."""
    reference = from_baseline(5000, SET, scale, scale, VALUES.spread)
    assert smallest_sure(reference.deviation, VALUES) == pytest.approx(sure, rel=0.001)


sizes = some.floats(5, 400)
pieces_of = some.lists(
    some.builds(lambda each, many: Piece("x", each, many, many), sizes, some.integers(0, 3)),
    min_size=1, max_size=6,
)  # fmt: skip
apart = some.floats(-500, 500)


@given(pieces_of, apart, some.floats(0.3, 20), some.integers(0, 3))
def test_the_same_as_trying_every_combination(
    pieces: list[Piece], difference: float, deviation: float, changes: int
) -> None:
    shares, other = by_enumeration(pieces, difference, deviation, VALUES, changes)
    found = explain(pieces, difference, deviation, VALUES, changes)
    ours = {one.changes: one.share for one in found.found}
    # One at the very edge of what is kept may be in for one and out for the other.
    for key in shares.keys() | ours.keys():
        assert ours.get(key, 0) == pytest.approx(shares.get(key, 0), abs=1e-9) or edge(
            key, pieces, difference, deviation
        )
    assert found.other == pytest.approx(other, rel=0.02)


def edge(
    key: tuple[tuple[int, int], ...], pieces: list[Piece], difference: float, deviation: float
) -> bool:
    mean = sum(n * (pieces[i].each_g or 0) for i, n in key)
    spread = sum(abs(n) * (VALUES.spread * (pieces[i].each_g or 0)) ** 2 for i, n in key)
    z = abs(difference - mean) / math.sqrt(deviation**2 + spread)
    return abs(z - weigh_check.KEPT_Z) < 1e-9


def test_the_same_for_sets_of_twelve_lines_with_siblings() -> None:
    random = Random(17)
    for _ in range(3):
        pieces = [Piece(f"n{i}", round(random.lognormvariate(4, 0.6), 1), q, q)
                  for i, q in enumerate(random.choices((1, 2, 4), k=12))]  # fmt: skip
        gone = -(pieces[0].each_g or 0) - 0.3
        shares, _ = by_enumeration(pieces, gone, 0.8, VALUES, 1)
        found = explain(pieces, gone, 0.8, VALUES, 1)
        assert {one.changes: one.share for one in found.found} == pytest.approx(shares, abs=1e-12)


@given(pieces_of, apart, some.floats(0.3, 20))
def test_shares_are_of_one_whole(pieces: list[Piece], difference: float, deviation: float) -> None:
    found = explain(pieces, difference, deviation, VALUES)
    total = math.fsum([found.other, *(one.share for one in found.found)])
    assert total == pytest.approx(1)


@given(some.permutations(SET), apart)
def test_the_order_of_lines_changes_nothing(pieces: list[Piece], difference: float) -> None:
    assert told(explain(pieces, difference, 1.0, VALUES), pieces) == told(
        explain(SET, difference, 1.0, VALUES)
    )


@given(some.floats(-150, 150), some.sampled_from([0.5, 2.0, 28.35]))
def test_another_unit_of_weight_changes_nothing(difference: float, unit: float) -> None:
    pieces = [replace(one, each_g=(one.each_g or 0) * unit) for one in SET]
    values = replace(VALUES, window_g=VALUES.window_g * unit)
    assert explain(pieces, difference * unit, unit, values).other == pytest.approx(
        explain(SET, difference, 1.0, VALUES).other, rel=1e-6
    )


@given(some.floats(-150, 150))
def test_missing_and_too_many_are_mirrored_where_one_of_each_is_missed(difference: float) -> None:
    """Of single pieces, one change at a time, with the odds exchanged."""
    single = [replace(one, quantity=1) for one in SET]
    turned = replace(VALUES, missing=VALUES.extra, extra=VALUES.missing)
    there = explain(single, difference, 1.0, VALUES, 1)
    back = explain(single, -difference, 1.0, turned, 1)
    assert there.other == pytest.approx(back.other, rel=1e-9)


class TestAlarm:
    def test_at_the_deviations_of_the_policy_and_not_before(self) -> None:
        reference = Reference(5000, 1.0)
        assert not check(4997.0, reference, SET, VALUES).alarm
        assert check(4996.9, reference, SET, VALUES).alarm

    def test_at_so_many_of_its_own_deviations(self) -> None:
        """Three of 2 g are 6 g."""
        assert check(5000, Reference(5000, 2.0), SET, VALUES).alarm_g == 6

    def test_though_nothing_wrong_is_the_best_explanation(self) -> None:
        """V2 at two deviations: 0.997 for nothing, and it is recounted all the same."""
        answer = check(4997.1, Reference(5000, 1.0), SET, replace(VALUES, deviations=2.0))
        assert answer.alarm and answer.named[0].kind == "nothing"

    def test_without_one_nothing_is_named(self) -> None:
        assert check(5001, Reference(5000, 1.0), SET, VALUES).named == ()


def answer(difference: float, pieces: list[Piece] = SET) -> Answer:
    return check(5000 + difference, Reference(5000, 1.0), pieces, VALUES)


class TestList:
    def test_the_shortest_that_holds_the_share(self) -> None:
        (one,) = answer(-55.1).named
        assert (one.name, one.pieces, round(one.share, 3)) == ("D", -1, 0.922)

    def test_several_items_are_never_named(self) -> None:
        said = list_words(answer(-70.3))
        assert said == ["Several items may be involved (over 99 %): recount all of it."]

    def test_too_many_are_counted_and_not_listed(self) -> None:
        alike = [Piece(f"x{n}", 50.0, 1, 1) for n in range(9)]
        found = answer(-50, alike)
        assert (found.named, found.needed) == ((), 9)
        assert list_words(found) == ["Too many explanations (9): recount all of it."]

    def test_what_was_never_weighed_is_named_by_none_and_always_said(self) -> None:
        pieces = [*SET, Piece("Q", None, 1, 1)]
        assert answer(-35.2, pieces).unweighed == answer(0, pieces).unweighed == ("Q",)
        said = answer_json(answer(0, pieces))["cannot_see"]
        assert "Weight not known, so never named: Q." in said

    def test_three_changes_are_looked_for_when_asked_and_not_in_a_long_sheet(self) -> None:
        assert answer(-160).named[0].kind != "several"
        asked = check(4840, Reference(5000, 1.0), SET, VALUES, changes=3)
        assert asked.named[0].kind == "several"
        long = SET + [Piece(f"h{n}", None, 1, 1) for n in range(100)]
        assert check(1e6 - 160, Reference(1e6, 1.0), long, VALUES, changes=3).named[0].kind != (
            "several"
        )

    def test_what_was_not_looked_at_is_said(self, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr(weigh_check, "MOST_HYPOTHESES", 1)
        assert explain(SET, -55.1, 1.0, VALUES).capped
        monkeypatch.setattr(weigh_check, "MOST_HYPOTHESES", 2)
        assert not explain(SET, -55.1, 1.0, VALUES).capped


class TestReference:
    def test_what_is_said_to_be_short_is_taken_off(self) -> None:
        pieces = [replace(SET[0], quantity=1), *SET[1:]]
        reference = from_baseline(5000, pieces, Scale(1, 0.5), Scale(1, 0.5), 0.01)
        assert reference.grams == 4980
        assert reference.deviation == pytest.approx(math.sqrt(2 * (0.25 + 1 / 12) + 0.04))

    def test_two_scales_are_each_their_own(self) -> None:
        reference = from_baseline(5000, SET, Scale(1, 0.5), Scale(5, 2), 0.01)
        assert reference.deviation == pytest.approx(math.sqrt(0.25 + 1 / 12 + 4 + 25 / 12))

    def test_what_changed_and_was_never_weighed_is_not_comparable(self) -> None:
        assert not_comparable([Piece("Q", None, 0, 1), Piece("R", None, 1, 1)]) == ("Q",)

    def test_the_weights_on_record_stand_in_where_copies_hardly_differ(self) -> None:
        """Worked by hand: 120 + 2·20 + 4·35 + 50 + 2·55 = 460, tare 1000."""
        near = replace(VALUES, spread=0.005)
        found = from_catalog(1000, SET, Scale(1, 0), near)
        assert found is not None and found.grams == 1460
        copies = 2 * 0.1**2 + 4 * 0.175**2 + 0.25**2 + 2 * 0.275**2 + 0.6**2
        assert found.deviation == pytest.approx(math.sqrt(1 / 12 + copies))

    def test_and_not_otherwise(self) -> None:
        near = replace(VALUES, spread=0.005)
        assert from_catalog(1000, SET, Scale(1, 0), VALUES) is None
        assert from_catalog(1000, [Piece("Q", None, 1, 1)], Scale(1, 0), near) is None

    def test_less_than_the_basket_is_a_wrong_scale(self) -> None:
        """All instruments weigh 460 g: below 4,540 not even the basket is there."""
        assert not answer(-455).scale_wrong and answer(-475).scale_wrong
        assert headline(answer(-475)).startswith("It reads less than the empty basket")
        assert not answer(-475, [*SET, Piece("Q", None, 1, 1)]).scale_wrong

    @pytest.mark.parametrize(("reading", "below"), [(4524.2, False), (4524.1, True)])
    def test_three_deviations_of_scale_and_copies_below_the_basket(
        self, reading: float, below: bool
    ) -> None:
        """Worked by hand: copies 2·0.2² + 4·0.35² + 0.5² + 2·0.55² + 1.2² = 2.865 g², the scale
        5² = 25: 4,540 - 3·sqrt(27.865) = 4,524.16 g."""
        assert below_tare(reading, Reference(5000, 5.0), SET, 0.01) is below


@pytest.mark.parametrize(
    "wrong",
    [lambda: Scale(0, 1), lambda: Scale(1, -1), lambda: Piece("A", 0, 1, 1),
     lambda: Piece("A", 5, -1, 1), lambda: explain(SET, 1, 0, VALUES),
     lambda: explain(SET, 1, 1, VALUES, 4)],
)  # fmt: skip
def test_what_cannot_be_is_refused(wrong) -> None:
    with pytest.raises(ValueError, match="more"):
        wrong()


def test_the_shipped_scale_is_that_of_the_policy() -> None:
    assert scale_of(default_policy(ON)) == Scale(1, 0.5, 1)
