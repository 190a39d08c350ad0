"""The lists of what was done: open shortages, packages by load, supplies used by month."""

from __future__ import annotations

import pytest
from django.test import Client

from assembly.bench import builds, signing
from assembly.bench.tally import tally_of
from assembly.models import Package
from assembly.packages import shelf
from assembly.shortfalls import causes
from assembly.shortfalls.replenishing import replenish
from catalog.models import Instrument
from reports.gathering.list_files import KINDS
from reports.pages.list_views import Figure
from tests.conftest import user_in
from tests.factories import bench as at
from tests.factories import catalog as make
from tests.factories import loads
from tests.factories import requests as ask

pytestmark = pytest.mark.django_db


def rows(key: str) -> list[tuple[str, ...]]:
    found = KINDS[key]
    assert found
    return list(found.rows())


@pytest.fixture
def instrument() -> Instrument:
    return make.Instrument(item_number="T-1")


def a_short_set() -> Package:
    build = at.a_build(at.a_set("TS-1", may_go_without=True))
    first, second = tally_of(build).lines
    builds.short(at.person(), build.pk, first.line.pk, 1, "", at.key())
    builds.count(at.person(), build.pk, second.line.pk, 2, at.key())
    signing.pack(at.person(), build.pk, at.all_yes(build), at.key())
    return signing.sign(at.person(), build.pk, at.key())


def test_what_a_set_went_without_is_an_open_shortage() -> None:
    package = a_short_set()
    found = rows("open-shortages")
    assert [(row[0], row[2], row[-1]) for row in found] == [("TS-1-1", "1", package.code)]


def test_put_back_it_is_open_no_longer() -> None:
    a_short_set()
    instrument = Instrument.objects.get(item_number="TS-1-1")
    back = {one.key: 1 for one in causes.waiting_for(instrument)}
    replenish(at.person(), instrument, back, at.key())
    assert rows("open-shortages") == []


def test_each_physical_set_stands_with_what_it_weighs_and_from_where_the_scale_notices() -> None:
    """Worked by hand: sqrt(2 (0.25 + 1/12 + 1)) = 1.633, times 4.645 = 7.6."""
    of = at.a_set()
    at.a_baseline(of, "5432.1", number=2)
    (row,) = rows("baselines")
    assert (row[0], *row[2:4], *row[6:]) == ("TS-1", "2", "5,432.1", "7.6", "in force")
    signing.reopen(at.person(), of.builds.get().pk, "look again", at.key())
    assert rows("baselines")[0][-1].startswith("void: its assembly was opened again")


def test_a_package_stands_with_its_load_and_where_it_is(instrument: Instrument) -> None:
    package = ask.a_package(instrument)
    load = loads.released(package)
    shelf.put_away(at.person(), package, ask.a_place("B2"), at.key())
    row = rows("packages-by-load")[0]
    assert (row[0], row[2], row[3], row[6]) == (
        str(load), "Released", package.code, "On the shelf: B2"
    )  # fmt: skip


def test_a_load_that_was_not_started_is_not_listed(instrument: Instrument) -> None:
    loads.a_load(ask.a_package(instrument))
    assert rows("packages-by-load") == []


def month(package: Package) -> str:
    return f"{package.packed_at:%Y-%m}"


def used() -> dict[str, str]:
    """How many of each supply, by kind and code."""
    return {f"{row[3]}:{row[1]}": row[4] for row in rows("supply-use")}


def test_each_pouch_counts_in_its_month(instrument: Instrument) -> None:
    package, _ = ask.a_package(instrument), ask.a_package(instrument)
    taken = package.decision["taken"]
    assert used() == {taken: "2", "indicator:steam": "2", "label:package": "2"}
    assert {row[0] for row in rows("supply-use")} == {month(package)}


def test_a_void_package_used_its_pouch(instrument: Instrument) -> None:
    package = ask.a_package(instrument)
    Package.objects.update(void_at="2026-01-01T00:00Z", void_reason="torn")
    assert used()[package.decision["taken"]] == "1"


def test_what_is_no_longer_on_record_was_used_all_the_same(instrument: Instrument) -> None:
    package = ask.a_package(instrument)
    package.uses.update(supply="pouch:GONE", length_mm=None)
    assert rows("supply-use") == [(month(package), "GONE", "no longer on record", "pouch", "3", "")]


@pytest.mark.parametrize("form", ["pdf", "xlsx", "csv"])
@pytest.mark.parametrize("key", ["open-shortages", "packages-by-load", "supply-use"])
def test_each_is_had_as_a_file(technician: Client, key: str, form: str) -> None:
    assert technician.get(f"/papers/lists/{key}.{form}").status_code == 200


def test_a_liaison_reads_no_shortages_of_others(roles: None, client: Client) -> None:
    client.force_login(user_in("OR liaison"))
    assert client.get("/papers/lists/open-shortages/").status_code == 403


def test_figures_are_sorted_as_numbers() -> None:
    words = ["10 %", "9 %", "not known", "1,000 g"]
    assert sorted(map(Figure, words)) == ["not known", "9 %", "10 %", "1,000 g"]
