"""Materials and methods that published guidance rules out; the source beside each."""

from __future__ import annotations

import pytest

from assembly.rules.methods.materials import Answer, ask
from catalog.vocabulary import Material, Method


@pytest.mark.parametrize(
    ("material", "method", "temperature"),
    [
        # SF2S; a table adapted from CDC 2008, Table 1: no cellulose in peroxide
        (Material.PAPER_FILM, Method.H2O2, None),
        (Material.CELLULOSE, Method.H2O2, None),
        # a table adapted from CDC 2008, Table 1: no textiles in peroxide
        (Material.TEXTILE, Method.H2O2, None),
        # packaging guidance as restated: polyolefin softens in 134 degree steam
        (Material.POLYOLEFIN_FILM, Method.STEAM, 134),
    ],
)
def test_ruled_out(material, method, temperature):
    assert ask(material, method, temperature).answer is Answer.NO


@pytest.mark.parametrize("material", [Material.PAPER_FILM, Material.CELLULOSE])
def test_no_label_lets_cellulose_into_peroxide(material):
    """SF2S good practice; a table adapted from CDC guideline 2008, Table 1."""
    assert ask(material, Method.H2O2, None, frozenset({Method.H2O2})).answer is Answer.NO


def test_polyolefin_in_121_steam_only_where_labelled():
    """Published sources differ: only where the maker says so."""
    assert ask(Material.POLYOLEFIN_FILM, Method.STEAM, 121).answer is Answer.IF_LABELLED
