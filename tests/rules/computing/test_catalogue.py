"""The whole-catalog evaluation equals the scalar rules, pair by pair; those are the referee."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from random import Random

import numpy as np
import pytest

from assembly.rules.computing.catalogue import NONE, UNDECIDED, evaluate
from assembly.rules.computing.columns import columns_from
from assembly.rules.deciding.choose import decide
from assembly.rules.facts.instruments import Instrument
from assembly.rules.facts.question import Question
from assembly.rules.facts.supplies import Pouch
from assembly.rules.findings import Outcome, Status
from assembly.rules.kinds.pouches import pouch_candidate
from assembly.rules.methods.routes import routes_for
from assembly.rules.policy.values import default_policy
from catalog.vocabulary import Material, Method
from tests.rules.computing.catalogue_facts import CYCLES, PROGRAMMES, instrument, pouches

DAY = date(2026, 1, 1)
POLICY = default_policy(DAY)
PLAIN = default_policy(DAY, {"fill_reading": "plain", "fill_limit": 0.2})
TIGHT = default_policy(
    DAY,
    {
        "side_clearance_mm": 5,
        "closing_clearance_mm": 25,
        "base_clearance_mm": 5,
        "fill_limit": 0.3,
    },
)
TURNED = default_policy(DAY, {"allow_rotate": True})
TODAY = default_policy(date(2026, 12, 1))
ALL_WAYS = default_policy(date(2026, 12, 1), {"allow_rotate": True, "bulky_pieces": 2})
each_policy = pytest.mark.parametrize(
    "policy",
    [POLICY, PLAIN, TIGHT, TURNED, TODAY, ALL_WAYS],
    ids=["default", "plain", "tight", "turned", "today", "all ways"],
)


def facts(seed: int, rows: int = 300, columns: int = 12):
    random = Random(seed)
    stock = pouches(random, columns, unknown=0.08)
    return [instrument(random, stock) for _ in range(rows)], stock


def by_scalar(items, stock, programmes, policy):
    """The reasons of every pair, by the rules for one package."""
    found = []
    for item in items:
        routes = routes_for(item.cycles, programmes, policy, item.contents)
        candidates = [pouch_candidate(item, pouch, routes, policy) for pouch in stock]
        found.append(
            [tuple((f.rule, f.status) for f in candidate.reasons) for candidate in candidates]
        )
    return found


@pytest.mark.parametrize("programmes", [None, PROGRAMMES, ()], ids=["any", "some", "none"])
@each_policy
def test_every_pair_has_the_same_reasons_as_by_the_scalar_rules(programmes, policy):
    items, stock = facts(seed=1, rows=120)
    found = evaluate(columns_from(items), stock, programmes, policy)
    pairs = [
        [found.reasons(row, column) for column in range(len(stock))] for row in range(len(items))
    ]
    assert pairs == by_scalar(items, found.pouches, programmes, policy)


@each_policy
def test_the_smallest_is_the_one_that_is_decided(policy):
    items, stock = facts(seed=2, rows=150)
    found = evaluate(columns_from(items), stock, PROGRAMMES, policy)
    assert [answer(found, row) for row in range(len(items))] == [
        decided(item, stock, policy) for item in items
    ]


def answer(found, row: int) -> str:
    names = {NONE: Outcome.NONE, UNDECIDED: Outcome.UNDECIDED}
    column = int(found.best[row])
    return str(names[column]) if column < 0 else found.pouches[column].code


def decided(item, stock, policy) -> str:
    question = Question(instrument=item, supplies=tuple(stock), programmes=PROGRAMMES)
    decision = decide(question, policy)
    return decision.recommended.code if decision.recommended else str(decision.outcome)


def test_the_facts_of_these_tests_hold_every_answer():
    items, stock = facts(seed=2, rows=150)
    found = evaluate(columns_from(items), stock, PROGRAMMES, POLICY)
    assert {NONE, UNDECIDED, 0} <= set(np.minimum(found.best, 0).tolist())


def test_status_follows_from_the_reasons():
    items, stock = facts(seed=3, rows=80)
    found = evaluate(columns_from(items), stock, None, POLICY)
    routes = [routes_for(item.cycles, None, POLICY, item.contents) for item in items]
    for row, item in enumerate(items):
        for column, pouch in enumerate(found.pouches):
            candidate = pouch_candidate(item, pouch, routes[row], POLICY)
            assert found.status(row, column) is candidate.status


@pytest.mark.parametrize("chunk", [1, 7, 299, 300, 301])
def test_the_size_of_the_chunk_changes_nothing(chunk):
    items, stock = facts(seed=4)
    whole = evaluate(columns_from(items), stock, None, POLICY)
    parts = evaluate(columns_from(items), stock, None, POLICY, chunk=chunk)
    assert all(
        np.array_equal(getattr(whole, name), getattr(parts, name))
        for name in ("best", "not_met", "cannot_tell")
    )


def test_the_order_of_the_stock_changes_nothing():
    items, stock = facts(seed=5)
    found = evaluate(columns_from(items), stock, None, POLICY)
    mixed = evaluate(columns_from(items), stock[::-1], None, POLICY)
    assert (mixed.pouches, mixed.best.tolist()) == (found.pouches, found.best.tolist())


def test_an_instrument_of_which_nothing_is_known_never_passes():
    _, stock = facts(seed=6)
    found = evaluate(columns_from([Instrument(name="odd")]), stock, None, POLICY)
    assert found.best.tolist() == [UNDECIDED]


def test_an_empty_stock_has_none():
    items, _ = facts(seed=7, rows=3)
    assert evaluate(columns_from(items), [], None, POLICY).best.tolist() == [NONE] * 3


def test_an_empty_catalog_is_no_mistake():
    _, stock = facts(seed=8)
    assert evaluate(columns_from([]), stock, None, POLICY).best.tolist() == []


EXACT = Pouch(code="P", inner_width_mm=132, inner_length_mm=227, rated_g=110,
              material=Material.PAPER_FILM, methods=frozenset({Method.STEAM}))  # fmt: skip


@pytest.mark.parametrize(
    ("change", "expected"),
    [
        ({}, Status.MET),
        ({"width_mm": 70.02}, Status.NOT_MET),
        ({"length_mm": 160.02}, Status.NOT_MET),
        ({"weight_g": 110.06}, Status.NOT_MET),
        ({"height_mm": None}, Status.CANNOT_TELL),
        ({"height_mm": None, "width_mm": 83}, Status.NOT_MET),
        ({"weight_g": None}, Status.CANNOT_TELL),
    ],
)
def test_an_exact_fit_passes_and_an_unknown_does_not(change, expected):
    sizes = {"length_mm": 160, "width_mm": 70, "height_mm": 12, "weight_g": 110} | change
    item = Instrument(name="clamp", sharp=False, cycles=CYCLES[1], **sizes)
    assert evaluate(columns_from([item]), [EXACT], None, POLICY).status(0, 0) is expected


def test_of_two_ways_that_fail_the_one_that_lacks_the_smaller_share_is_told():
    """Along 110 are needed of 100 wide (9 % lack), across 205 of 190 long (7 % lack)."""
    rules = default_policy(DAY, {"allow_rotate": True, "side_clearance_mm": 5,
                                 "base_clearance_mm": 5, "closing_clearance_mm": 100})  # fmt: skip
    item = Instrument(name="plate", sharp=False, cycles=CYCLES[1], length_mm=79, width_mm=99,
                      height_mm=1, weight_g=50)  # fmt: skip
    supply = replace(EXACT, inner_width_mm=100, inner_length_mm=190)
    found = evaluate(columns_from([item]), [supply], None, rules)
    assert found.reasons(0, 0) == (("length", Status.NOT_MET),)


def test_no_pouch_has_the_number_that_says_none_or_undecided():
    """Pouches are counted from 0."""
    assert NONE < 0 and UNDECIDED < 0 and NONE != UNDECIDED
