"""Indicators: type and place by kind of package."""

from __future__ import annotations

from datetime import date

import pytest

from assembly.rules.facts.checks import FactsError
from assembly.rules.policy.values import PolicyError, default_policy
from assembly.rules.telling.indicators import indicators
from catalog.vocabulary import Kind

DAY = date(2026, 1, 1)
POLICY = default_policy(DAY)
ONE_PER_LEVEL = default_policy(DAY, {"container_indicators": "one per level"})


def places(kind: Kind, policy=POLICY, **how) -> list[str]:
    return [indicator.place for indicator in indicators(kind, policy, **how)]


@pytest.mark.parametrize(
    ("kind", "how", "expected"),
    [
        (Kind.POUCH, {}, ["inside the pouch", "outside the pouch"]),
        (Kind.POUCH, {"double": True}, ["inside the inner pouch", "outside the outer pouch"]),
        (Kind.ROLL, {}, ["inside the roll pouch", "outside the roll pouch"]),
        (Kind.WRAP, {}, ["inside the wrapped pack", "outside the wrapped pack"]),
        (
            Kind.WRAP,
            {"levels": 2},
            ["level 1 from the bottom", "level 2 from the bottom", "outside the wrapped pack"],
        ),
        (Kind.WRAP, {"levels": None}, ["each level", "outside the wrapped pack"]),
        (
            Kind.CONTAINER,
            {},
            [
                "inside the basket, one corner",
                "inside the basket, the opposite corner",
                "outside the container",
            ],
        ),
    ],
)
def test_places(kind, how, expected):
    assert places(kind, **how) == expected


def test_two_levels_of_a_container_have_two_corners_each():
    assert len(places(Kind.CONTAINER, levels=2)) == 5


def test_a_container_may_have_one_per_level():
    assert places(Kind.CONTAINER, ONE_PER_LEVEL, levels=2) == [
        "level 1 from the bottom",
        "level 2 from the bottom",
        "outside the container",
    ]


@pytest.mark.parametrize("kind", list(Kind))
def test_the_outside_one_is_a_process_indicator(kind):
    """ANSI/AAMI ST79 as reported: an external type 1 on each package."""
    assert indicators(kind, POLICY)[-1].type == "type 1"


def test_the_inside_type_is_a_setting():
    policy = default_policy(DAY, {"internal_indicator": "type 6"})
    assert indicators(Kind.POUCH, policy)[0].type == "type 6"


def test_an_air_removal_test_is_no_indicator_for_a_package():
    with pytest.raises(PolicyError):
        default_policy(DAY, {"internal_indicator": "type 2"})


@pytest.mark.parametrize("kind", list(Kind))
def test_every_indicator_names_its_source(kind):
    assert all(indicator.source for indicator in indicators(kind, POLICY, levels=3))


@pytest.mark.parametrize("levels", [0, -1, True])
def test_less_than_one_level_is_refused(levels):
    with pytest.raises(FactsError, match="levels"):
        indicators(Kind.WRAP, POLICY, levels=levels)
