"""What to stock: from the packages of a year, or the spares of the catalog where they are few."""

from __future__ import annotations

import json
from datetime import timedelta
from io import StringIO
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.utils import timezone

from assembly.ledger import Refused
from assembly.models import Package
from assembly.stock import planning
from assembly.stock.planning import Planned, planned, read_sizes
from catalog.chain.guards import let_through
from tests.factories import catalog as make
from tests.factories import requests as ask

pytestmark = pytest.mark.django_db


@pytest.fixture
def two_pouches() -> None:
    """One that the forceps of the factory fits, and a larger one."""
    make.Pouch(code="P-1", cost="0.10")
    make.Pouch(code="P-2", outer_width_mm=250, outer_length_mm=400, inner_width_mm=234,
               inner_length_mm=355, in_stock=False)  # fmt: skip


def found(*args: Any) -> Planned:
    made = planned(*args)
    assert made is not None
    return made


def command(*args: str) -> dict[str, Any]:
    out = StringIO()
    call_command("stock_plan", *args, "--json", stdout=out)
    told: dict[str, Any] = json.loads(out.getvalue())
    return told


@pytest.mark.usefixtures("two_pouches")
class TestDemand:
    def test_packages_of_a_year_are_counted_by_what_they_need(
        self, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr(planning, "ENOUGH", 2)
        instrument = make.Instrument()
        old, *_ = [ask.a_package(instrument) for _ in range(3)]
        with let_through():
            Package.objects.filter(pk=old.pk).update(
                packed_at=timezone.now() - timedelta(days=planning.DAYS + 1)
            )
        one = found().demand
        assert (one.packed, one.packages, one.days) == (True, 2, 1)

    def test_few_packages_leave_it_to_the_spares_on_record(self) -> None:
        ask.a_package(make.Instrument(spares_on_hand=7))
        make.Instrument(spares_on_hand=None)
        one = found().demand
        assert (one.packed, one.packages) == (False, 7)
        assert one.left_out == ((1, "instruments whose loose spares nobody counted"),)

    def test_a_plan_is_kept_until_a_package_more_is_recorded(
        self, monkeypatch: pytest.MonkeyPatch, settings: Any
    ) -> None:
        kept = "django.core.cache.backends.locmem.LocMemCache"
        settings.CACHES = {**settings.CACHES, "lists": {"BACKEND": kept, "LOCATION": "planning"}}
        monkeypatch.setattr(planning, "ENOUGH", 1)
        instrument = make.Instrument()
        ask.a_package(instrument)
        assert found().demand.packages == 1
        with monkeypatch.context() as patch:
            patch.delattr(planning, "demand")
            assert found().demand.packages == 1
        ask.a_package(instrument)
        assert found().demand.packages == 2


@pytest.mark.usefixtures("two_pouches")
def test_a_size_out_of_stock_is_planned_with_but_is_not_todays() -> None:
    make.Instrument(spares_on_hand=3)
    make.Instrument(spares_on_hand=2, length_mm=280)
    pouches = found().pouches
    assert (pouches.today.codes, pouches.today.lost) == (("P-1",), 2)
    assert [one.codes for one in pouches.plans] == [("P-2",), ("P-1", "P-2")]


@pytest.mark.usefixtures("two_pouches")
def test_what_cannot_be_told_is_left_out_by_name() -> None:
    make.Instrument(item_number="T-9", spares_on_hand=1, height_mm=None)
    assert [one["item_number"] for one in command()["unknown"]] == ["T-9"]


@pytest.mark.usefixtures("two_pouches")
class TestCommand:
    def test_json_has_the_curve_and_its_proof(self) -> None:
        make.Instrument(spares_on_hand=3)
        told = command()
        [one] = told["sizes"]
        assert told["proved"] and one["codes"] == ["P-1"]
        assert (one["k"], one["material"], one["money"]) == (1, 13.5, pytest.approx(0.3))

    def test_a_further_size_that_takes_less_is_taken(self) -> None:
        make.Instrument(spares_on_hand=3)
        [one] = command("--sizes", "140 x 290")["sizes"]
        assert (one["codes"], one["money"]) == (["140x290"], None)

    def test_a_further_size_with_the_code_of_a_supply_is_refused(self) -> None:
        make.Pouch(code="100x200")
        with pytest.raises(CommandError, match="on record"):
            command("--sizes", "100x200")

    def test_at_most_so_many_sizes(self) -> None:
        make.Instrument(spares_on_hand=3)
        make.Instrument(spares_on_hand=2, length_mm=280)
        assert [one["k"] for one in command("--k", "1")["sizes"]] == [1]
        assert [one["k"] for one in command("--k", "5")["sizes"]] == [2]

    def test_words(self) -> None:
        make.Instrument(spares_on_hand=3)
        out = StringIO()
        call_command("stock_plan", stdout=out)
        assert "1: 14 dm², cost 0.30, proved: P-1" in out.getvalue()

    @pytest.mark.parametrize(
        ("args", "problem"),
        [(("--k", "0"), "read 0"), (("--sizes", "100"), "“100” is no size"),
         (("--sizes", "10x10"), "seals take all")],
    )  # fmt: skip
    def test_what_cannot_be_planned_is_refused(self, args: tuple[str, ...], problem: str) -> None:
        with pytest.raises(CommandError, match=problem):
            command(*args)


@pytest.mark.parametrize(
    ("text", "sizes"),
    [("", ()), ("100x200,150 X 300", ((100, 200), (150, 300))),
     ("6x10 in", ((152.4, 254),)), ("10cm × 20cm; Roll 6 in", ((100, 200), (152.4,))),
     ("100x200, 100 x 200", ((100, 200),))],
)  # fmt: skip
def test_sizes_as_they_are_typed(text: str, sizes: tuple[tuple[float, ...], ...]) -> None:
    assert read_sizes(text) == sizes


@pytest.mark.parametrize(
    "text", ["150", "100x200x300", "roll", "axb", "12,5x30", "roll 10x20", "-1x20", "1x2," * 41]
)
def test_what_is_no_size_is_refused_by_name(text: str) -> None:
    with pytest.raises(Refused, match=r"were read|is no size"):
        read_sizes(text)
