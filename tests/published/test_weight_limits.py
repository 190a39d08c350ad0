"""Weight limits as published, each on its own basis; the source beside each number."""

from __future__ import annotations

from dataclasses import replace

import pytest

from assembly.rules.facts.instruments import Box
from assembly.rules.findings import Status
from assembly.rules.kinds.wraps import wrap_candidate
from assembly.rules.limits.textiles import heaviest_by_density, textile_density_finding
from assembly.rules.limits.weights import (
    Piece,
    gross_finding,
    load_finding,
    net_finding,
    rating_finding,
    weigh,
)
from tests.rules.given import ON, instrument, policy, preset_policy, question, routes, wrap

POUND = 453.59237  # grams, exactly: international yard and pound agreement 1959


def loaded(net: float, tare: float = 0.0):
    return weigh([Piece(name="instruments", quantity=1, weight_g=net)]).plus("tare", tare, "")


class TestTwentyFivePounds:
    """Gross 25 lb, container and contents: ANSI/AAMI ST77, 4.3.5."""

    def test_stored_in_grams(self):
        assert policy().number("gross_limit_g") == 11_339.81  # 25 x 453.59237 = 11 339.80925

    @pytest.mark.parametrize(
        ("pounds", "status"),
        [(25.0, Status.MET), (25.1, Status.NOT_MET)],  # ST77: 25 lb
    )
    def test_gross(self, pounds, status):
        assert gross_finding(loaded(pounds * POUND), preset_policy("us", ON)).status is status


class TestTenKilogramsInAThreeKilogramContainer:
    """10 kg of load (prEN 868-8, 4.2.8; DIN 58953-9, 5.1 note) is 13 kg gross (ST77: 25 lb)."""

    def test_europe_load_is_met(self):
        assert load_finding(loaded(10_000), preset_policy("eu", ON)).status is Status.MET

    def test_europe_asks_no_gross(self):
        found = gross_finding(loaded(10_000, 3000), preset_policy("eu", ON))
        assert found.status is Status.DOES_NOT_APPLY

    def test_united_states_gross_is_not_met(self):
        found = gross_finding(loaded(10_000, 3000), preset_policy("us", ON))
        assert found.status is Status.NOT_MET

    def test_europe_a_gram_more_is_not_met(self):
        assert load_finding(loaded(10_001), preset_policy("eu", ON)).status is Status.NOT_MET


class TestOtherCountries:
    @pytest.mark.parametrize(
        ("grams", "status"),
        [(7000, Status.MET), (7100, Status.NOT_MET)],  # NZNO page on the 7 kg project
    )
    def test_new_zealand(self, grams, status):
        assert gross_finding(loaded(grams), preset_policy("nz-au", ON)).status is status

    @pytest.mark.parametrize(
        ("grams", "status"),
        [(8500, Status.MET), (8501, Status.NOT_MET)],  # Dutch guideline as quoted: 8.5 kg net
    )
    def test_netherlands(self, grams, status):
        assert net_finding(loaded(grams), preset_policy("nl", ON)).status is status

    @pytest.mark.parametrize(
        ("grams", "wrapped", "status"),
        [
            (8000, True, Status.MET),  # Swiss note as quoted: wrapped tray 8 kg
            (8001, True, Status.NOT_MET),
            (10_000, False, Status.MET),  # Swiss note as quoted: container 10 kg
            (10_001, False, Status.NOT_MET),
        ],
    )
    def test_switzerland(self, grams, wrapped, status):
        found = gross_finding(loaded(grams), preset_policy("ch", ON), wrapped)
        assert found.status is status


class TestTextilePack:
    """12 lb, 12 x 12 x 20 in, 7.2 lb/ft3: ST79 as taught; the three agree exactly."""

    pack = Box(length_mm=20 * 25.4, width_mm=12 * 25.4, height_mm=12 * 25.4)

    def test_largest_at_the_highest_density_weighs_12_pounds(self):
        assert heaviest_by_density(self.pack, policy()) / POUND == pytest.approx(12.0, abs=1e-9)

    @pytest.mark.parametrize(
        ("pounds", "status"),
        [(12.0, Status.MET), (12.01, Status.NOT_MET)],  # ST79 as taught
    )
    def test_density(self, pounds, status):
        found = textile_density_finding(self.pack, pounds * POUND, policy())
        assert found.status is status


class TestTextileWrapper:
    """A reusable wrapper of 36 in holds 5.8 lb: FDA 510(k) K250321."""

    @pytest.mark.parametrize(
        ("pounds", "status"),
        [(5.8, Status.MET), (5.81, Status.NOT_MET)],  # K250321: 5.8 lb
    )
    def test_36_inches(self, pounds, status):
        assert rating_finding(pounds * POUND, 5.8 * POUND, "wrap").status is status


class TestTheLowestLimitRules:
    """A basket for 25 lb in a wrap for 6 lb: 6 lb (K203177; K223600: SMS of 20 to 48 in, 6 lb)."""

    tray = instrument(250, 140, 40)
    sheet = wrap(1200, rated_g=6 * POUND)

    def in_wrap(self, pounds: float):
        item = replace(self.tray, weight_g=pounds * POUND)
        return wrap_candidate(question(item, self.sheet), self.sheet, routes(), policy())

    @pytest.mark.parametrize(
        ("pounds", "status"),
        [(6.0, Status.MET), (6.01, Status.NOT_MET)],  # K223600: 6 lb
    )
    def test_the_wrap_rules(self, pounds, status):
        assert self.in_wrap(pounds).status is status

    def test_though_the_gross_limit_is_far_off(self):
        found = self.in_wrap(6.01)
        assert [f.rule for f in found.reasons] == ["contents weight"]
