"""A load is within what its cycle is claimed for: pieces with a lumen, and what it weighs."""

from __future__ import annotations

from datetime import date
from types import SimpleNamespace
from typing import Any

import pytest

from assembly.ledger import Refused
from assembly.models import LoadState, Package
from assembly.rules.deciding.carried import Carried, as_json
from assembly.rules.facts.instruments import Instrument
from assembly.rules.policy.values import default_policy
from assembly.sterilizing import gathering
from assembly.sterilizing.serving import check_claims
from catalog.models import Instrument as Row
from catalog.vocabulary import LumenMaterial
from tests.factories import bench as at
from tests.factories import loads
from tests.factories import requests as ask

CLAIM = {"material": "steel", "channels": 1, "bore_mm": 0.7, "length_mm": 500, "most_in_load": 10}
HEAVY = CLAIM | {"load_g": 9000}
POLICY = default_policy(date(2026, 12, 1))
NO_LUMEN: dict[str, Any] = {"lumen_mm": None, "lumen_length_mm": None}


def facts(pieces: int, gross_g: float | None, bare: tuple[str, ...], **more: Any) -> dict[str, Any]:
    lumen = {"lumen_mm": 1, "lumen_length_mm": 300, "lumen_material": LumenMaterial.STEEL,
             "channels": 1} | more  # fmt: skip
    tube = Instrument(name="tube", pieces=pieces, **lumen)
    return as_json(Carried(inside=(tube,), around=(), gross_g=gross_g, not_weighed=bare))


def package(code: str, pieces: int, gross_g: float | None = 100, *bare: str, **more: Any) -> Any:
    return SimpleNamespace(code=code, serves=facts(pieces, gross_g, bare, **more))


def check(claims: list[dict[str, Any]], *inside: Any) -> None:
    runs = {"code": "V", "method": "h2o2", "cycle_name": "P1", "claims": claims}
    load: Any = SimpleNamespace(runs=runs)
    check_claims(inside, load, POLICY, "Put it into another load.")


def test_the_most_that_is_claimed_goes_in() -> None:
    check([CLAIM], package("A", 5), package("B", 5))


def test_one_more_is_refused_with_the_count() -> None:
    with pytest.raises(Refused, match="11 with a lumen in one load, 10 are claimed"):
        check([CLAIM], package("A", 5), package("B", 6))


def test_what_has_no_lumen_is_not_counted() -> None:
    check([CLAIM], package("A", 5), package("B", 11, **NO_LUMEN))


def test_a_cycle_without_claims_counts_nothing() -> None:
    check([], package("A", 11), package("B", 6))


class TestTheGreatestLoad:
    def test_equal_is_met(self) -> None:
        check([HEAVY], package("A", 1, 4000), package("B", 1, 5000))

    def test_what_has_no_lumen_weighs_too(self) -> None:
        with pytest.raises(Refused, match=r"Too heavy a load for a lumen: 9.00 kg.* another load"):
            check([HEAVY], package("A", 1, 4000), package("B", 1, 5000.1, **NO_LUMEN))

    def test_without_a_lumen_no_claim_is_asked(self) -> None:
        check([HEAVY], package("A", 1, 9999, **NO_LUMEN))

    def test_what_nobody_weighed_cannot_be_told(self) -> None:
        with pytest.raises(Refused, match=r"cannot be told.*not wholly weighed: B\."):
            check([HEAVY], package("A", 1, 100), package("B", 1, None))

    def test_over_it_is_too_heavy_whatever_is_unknown(self) -> None:
        with pytest.raises(Refused, match="Too heavy"):
            check([HEAVY], package("A", 1, 9001), package("B", 1, None))

    def test_a_package_from_before_these_facts_is_not_weighed(self) -> None:
        old = SimpleNamespace(code="OLD", serves={})
        with pytest.raises(Refused, match="not wholly weighed: OLD"):
            check([HEAVY], package("A", 1, 100), old)

    def test_far_from_it_bare_packaging_counts_for_nothing(self) -> None:
        check([HEAVY], package("A", 1, 8100, "P-1"))

    def test_near_it_bare_packaging_cannot_be_told(self) -> None:
        with pytest.raises(Refused, match="not wholly weighed: A"):
            check([HEAVY], package("A", 1, 8101, "P-1"))


@pytest.mark.django_db
class TestAtTheSterilizer:
    """The verbs ask it: when a package is put in, and again when the cycle is started."""

    def load(self, package: Package, gross_g: float | None) -> Any:
        load = loads.a_load(package)
        load.runs = load.runs | {"claims": [HEAVY]}
        load.save()
        package.serves = facts(1, gross_g, ())
        package.save()
        return load

    def test_a_package_that_makes_it_too_heavy_does_not_go_in(self, instrument: Row) -> None:
        load = self.load(ask.a_package(instrument), 5000)
        other = ask.a_package(instrument)
        other.serves = other.serves | {"gross_g": 4001}
        other.save()
        with pytest.raises(Refused, match=f"Too heavy.*Put {other.code} into another load"):
            gathering.add(at.person(), load.pk, other, at.key())

    def test_it_is_asked_again_before_the_cycle_runs(self, instrument: Row) -> None:
        load = self.load(ask.a_package(instrument), None)
        with pytest.raises(Refused, match=r"cannot be told.*before it is started"):
            gathering.start(at.person(), load.pk, at.key())

    def test_within_the_claim_it_runs(self, instrument: Row) -> None:
        load = self.load(ask.a_package(instrument), 9000)
        assert gathering.start(at.person(), load.pk, at.key()).state == LoadState.RUNNING
