"""What each instrument is packed in by arrays is what the rules for one package say."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from random import Random

import pytest
from hypothesis import given
from hypothesis.strategies import booleans, integers, sampled_from

from assembly.rules.comparing.outcomes import outcomes
from assembly.rules.comparing.sheets import Terms
from assembly.rules.comparing.what_if import Watched, compared
from assembly.rules.computing.columns import catalog_from
from assembly.rules.deciding.choose import decide
from assembly.rules.facts.instruments import Instrument
from assembly.rules.facts.question import Question
from assembly.rules.facts.supplies import Container, Pouch, Protector, Roll, Wrap
from assembly.rules.policy.values import Policy, default_policy
from catalog.vocabulary import (
    Filter,
    ItemClass,
    Kind,
    LumenMaterial,
    Material,
    Method,
    ProtectorMaterial,
)
from tests.conftest import FEWER
from tests.rules.computing.catalogue_facts import CYCLES, PROGRAMMES, instrument, pouches

TODAY = date(2026, 12, 1)


def rolls(random: Random, number: int, unknown: float) -> list[Roll]:
    def known(value: float | None) -> float | None:
        return None if random.random() < unknown else value

    return [
        Roll(
            code=f"R{n:02}",
            nominal_width_mm=known(random.choice([75, 100, 100, 150, 200, 300, 76.2])),
            side_seal_mm=known(random.choice([8, 8, 10, 4])),
            gusset_mm=random.choice([0, 0, 25]),
            material=random.choice([Material.PAPER_FILM, Material.POLYOLEFIN_FILM, None]),
            rated_g=known(random.choice([110, 400, 1200])),
            longest_cut_mm=random.choice([None, None, 300, 600]),
            weight_g_m2=random.choice([None, 130, 130]),
            cost=random.choice([None, 0.1]),
            methods=random.choice([None, frozenset({Method.STEAM, Method.EO})]),
        )
        for n in range(number)
    ]


def wraps(random: Random, number: int) -> list[Wrap]:
    return [
        Wrap(
            code=f"W{n}",
            width_mm=random.choice([300, 450, 600, 900, None]),
            length_mm=random.choice([450, 600, 900]),
            material=random.choice([Material.SMS, Material.SMS, Material.CELLULOSE, None]),
            rated_g=random.choice([250, 5000, 5000, None]),
            layers=random.choice([None, 1, 2]),
            weight_g_m2=random.choice([None, 50]),
            cost=random.choice([None, 0.3]),
            methods=random.choice([None, frozenset({Method.STEAM, Method.EO})]),
        )
        for n in range(number)
    ]


CONTAINER = Container(code="C1", inner_length_mm=560, inner_width_mm=260, inner_height_mm=110,
                      tare_g=2000, rated_g=10000, programmes=("P134", "VH"),
                      filter_material=Filter.POLYPROPYLENE)  # fmt: skip
PROTECTORS = (
    Protector(code="T4", name="silicone 4 mm", bore_mm=4, length_mm=25, wall_mm=1, vented=True,
              methods=frozenset({Method.STEAM, Method.EO}), material=ProtectorMaterial.SILICONE),
    Protector(code="T6", name="silicone 4 mm", bore_mm=6, vented=None, methods=None),
)  # fmt: skip


def asked_of(random: Random, stock, unknown: float) -> Instrument:
    """An instrument of chance, some with a measured tip or a lumen, of any class; most of them
    small and for steam, so that pouches and rolls serve them."""

    def known(value: object) -> object:
        return None if random.random() < unknown else value

    bare = instrument(random, stock, unknown)
    if random.random() < 0.8:
        width = round(random.uniform(3, 90), 1)
        bare = replace(
            bare,
            length_mm=known(round(random.uniform(40, 320), 1)), width_mm=known(width),
            height_mm=known(round(random.uniform(1, 30), 1)),
            weight_g=known(round(random.uniform(5, 700), 1)),
            width_open_mm=known(width * 1.2) if bare.width_open_mm else None,
            sharp=random.choice([None, False, True]),
            forbids=frozenset({Kind.ROLL}) if random.random() < 0.1 else frozenset(),
            cycles=random.choice(CYCLES[1:4]), pieces=1,
        )  # fmt: skip
    lumen = random.random() < 0.2
    return replace(
        bare,
        tip_across_mm=random.choice([None, 3, 5]),
        tip_cover_mm=random.choice([None, 10]),
        lumen_mm=random.choice([None, 1.0]) if lumen else None,
        lumen_length_mm=random.choice([None, 300]) if lumen else None,
        lumen_material=random.choice([None, LumenMaterial.STEEL]) if lumen else None,
        item_class=random.choice([*[ItemClass.INSTRUMENTS] * 6, *ItemClass]),
    )


def terms_of(seed: int, policy: Policy) -> Terms:
    random = Random(seed)
    unknown = random.choice([0.0, 0.1])
    sheets = (*pouches(random, random.choice([3, 8]), unknown),
              *rolls(random, random.choice([0, 3, 5]), unknown))  # fmt: skip
    steam = {"material": Material.PAPER_FILM, "methods": frozenset({Method.STEAM})}
    stock = [replace(one, **steam) if random.random() < 0.7 else one for one in sheets]
    programmes = random.choice([None, PROGRAMMES])
    if random.random() < 0.7:
        stock += [*wraps(random, random.choice([1, 4])), *random.choice([(), (CONTAINER,)])]
    return Terms(tuple(stock), programmes, PROTECTORS, policy)


def items_of(seed: int, rows: int) -> list[Instrument]:
    random = Random(seed)
    stock = pouches(random, 8, 0.1)
    return [asked_of(random, stock, random.choice([0.0, 0.0, 0.1])) for _ in range(rows)]


def decided(item: Instrument, terms: Terms) -> str:
    """The referee: the rules for one package, with all supplies."""
    question = Question(instrument=item, supplies=terms.supplies, programmes=terms.programmes,
                        protectors=terms.protectors)  # fmt: skip
    decision = decide(question, terms.policy)
    taken = decision.recommended
    return f"{taken.kind} {taken.code}" if taken else str(decision.outcome)


POLICIES = {
    "today": {},
    "no giving way": {"pouch_gives_way_share": None, "loose_share": None},
    "loose": {"loose_share": 0.3, "pouch_gives_way_share": 1.0},
    "across": {"allow_rotate": True, "lie_on_side": True, "clearance_height_share": 0.5},
    "plain": {"fill_reading": "plain", "fill_limit": 0.3},
    "light": {"net_limit_g": 500, "gross_limit_g": 600, "near_limit_share": 0.5},
    "bulky": {"bulky_weight_g": 300, "bulky_height_mm": 20},
    "no rolls": {"kinds_in_order": ["pouch", "wrap", "container"]},
    "pouches alone": {"kinds_in_order": ["pouch"]},
    "wraps first": {"kinds_in_order": ["wrap", "pouch", "roll"]},
    "folds": {
        "kinds_in_order": ["wrap", "pouch"],
        "wrap_near": "whole top",
        "square_fold_from_g": 500,
        "square_fold_from_mm": 100,
    },
    "square folds": {
        "kinds_in_order": ["wrap"],
        "wrap_near": "mid-line",
        "square_fold_from_g": 500,
        "square_fold_from_mm": 100,
    },
    "rolls last": {"kinds_in_order": ["pouch", "container", "roll"]},
}


@pytest.mark.parametrize("named", POLICIES)
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_every_outcome_is_that_of_the_rules_for_one_package(seed, named):
    terms = terms_of(seed, default_policy(TODAY, POLICIES[named]))
    items = items_of(seed, 25)
    catalog = catalog_from(items)
    found = outcomes(catalog, terms)
    said = [found.said(row) or found.asked(catalog, row) for row in range(len(items))]
    assert said == [decided(item, terms) for item in items]


def test_the_facts_of_these_tests_hold_every_answer():
    said = []
    for seed in range(1, 9):
        terms = terms_of(seed, default_policy(TODAY))
        found = outcomes(catalog_from(items_of(seed, 25)), terms)
        said += [found.said(row) for row in range(25)]
    answers = {one.split()[0] if one else "asked" for one in said}
    assert answers == {"pouch", "roll", "wrap", "undecided", "none", "asked"}
    assert sum(not one for one in said) < len(said) / 3


def test_a_row_is_had_again_as_facts_without_its_name():
    items = items_of(3, 40)
    catalog = catalog_from(items)
    assert [catalog.facts(row) for row in range(40)] == [
        replace(item, name=catalog.facts(row).name) for row, item in enumerate(items)
    ]


STEAM = Pouch(code="P1", inner_width_mm=100, inner_length_mm=200, outer_width_mm=116,
              outer_length_mm=245, weight_g=5, material=Material.PAPER_FILM, rated_g=400,
              methods=frozenset({Method.STEAM}))  # fmt: skip
WIDE = replace(STEAM, code="P2", inner_width_mm=200, outer_width_mm=216)
PLATE = Instrument(name="plate", length_mm=100, width_mm=70, height_mm=5, weight_g=90, sharp=False,
                   hinged=False, cycles=CYCLES[1])  # fmt: skip


def terms(*supplies, protectors=None, **values) -> Terms:
    return Terms(supplies, PROGRAMMES, protectors, default_policy(TODAY, values))


class TestCompared:
    def test_a_plate_that_needs_more_room_goes_into_the_wider_pouch(self):
        """75 of sheet across, with 10 at each side 95 of 100; with 15 it is 105."""
        one = compared(catalog_from([PLATE]), terms(STEAM, WIDE),
                       terms(STEAM, WIDE, side_clearance_mm=15))  # fmt: skip
        assert [(c.row, c.before, c.after) for c in one.changed] == [(0, "pouch P1", "pouch P2")]

    def test_without_its_pouch_it_has_none(self):
        one = compared(catalog_from([PLATE]), terms(STEAM), terms())
        assert [(c.before, c.after) for c in one.changed] == [("pouch P1", "none")]

    def test_what_is_lent_without_its_ifu_stays_undecided(self):
        both = catalog_from([PLATE, PLATE])
        one = compared(both, terms(STEAM), terms(STEAM, WIDE, side_clearance_mm=15), unread=[0])
        assert [c.row for c in one.changed] == [1]

    @FEWER
    @given(seed=integers(1, 10_000), values=sampled_from([*POLICIES.values()]), stock=booleans())
    def test_it_is_what_the_rules_for_one_package_say_of_each(self, seed, values, stock):
        items, before = items_of(seed, 6), terms_of(seed, default_policy(TODAY))
        left = before.supplies[1:] if stock else before.supplies
        after = replace(before, supplies=left, policy=default_policy(TODAY, values))
        found = compared(catalog_from(items), before, after)
        pairs = [(decided(item, before), decided(item, after)) for item in items]
        expected = [(row, *pair) for row, pair in enumerate(pairs) if pair[0] != pair[1]]
        assert [(c.row, c.before, c.after) for c in found.changed] == expected

    def test_the_rules_are_asked_once_where_nothing_that_they_read_is_another(self):
        textile = replace(PLATE, item_class=ItemClass.TEXTILES, forbids=frozenset({Kind.POUCH}))
        wrap = Wrap(code="W", width_mm=900, length_mm=900, material=Material.SMS, rated_g=5000,
                    layers=2, methods=frozenset({Method.STEAM}))  # fmt: skip
        told = []
        compared(catalog_from([textile]), terms(wrap), terms(wrap, fill_limit=0.6),
                 tell=lambda done, of: told.append((done, of)))  # fmt: skip
        assert told == [(0, 2), (1, 2)]

    def test_a_policy_notes_what_was_read(self):
        watched = Watched(default_policy(TODAY))
        watched.number("fill_limit")
        other = {"fill_limit": 0.6}, {"side_clearance_mm": 15}
        told = [watched.tells_apart(default_policy(TODAY, one)) for one in other]
        assert told == [True, False]
