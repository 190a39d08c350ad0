"""The shelf by scan, its levels, and putting things back where they went short."""

from __future__ import annotations

import csv
import io
from datetime import date

import pytest
from django.test import Client

from assembly.ledger import Refused
from assembly.models import Package, Shortfall
from assembly.packages import levels, shelf
from assembly.requests import asking, working
from assembly.requests.asking import Wanted
from assembly.shelf_pages.scanning import AWAY, HAND, scan
from assembly.shortfalls import causes, plot
from assembly.shortfalls.causes import Week
from catalog.models import Change, Instrument
from tests.factories import bench as at
from tests.factories import catalog as make
from tests.factories import requests as ask

pytestmark = pytest.mark.django_db


@pytest.fixture
def package(instrument: Instrument) -> Package:
    return ask.a_sterile_package(instrument)


def scanned(words: str, mode: str = AWAY, **more: object) -> tuple[bool, str]:
    said = scan(at.person(), words, mode, at.key(), **more)  # type: ignore[arg-type]
    return said.right, said.words


class TestScanning:
    def test_a_place_then_a_package(self, package: Package) -> None:
        said = scan(at.person(), ask.a_place("A1").code.lower(), AWAY, at.key())
        assert "put away to A1" in scanned(package.code, place=said.place)[1]

    def test_at_another_place_it_is_moved(self, package: Package) -> None:
        scanned(package.code, place=ask.a_place("A1"))
        assert "moved to B2" in scanned(package.code, place=ask.a_place("B2"))[1]

    def test_a_package_then_its_place(self, package: Package) -> None:
        said = scan(at.person(), package.code, AWAY, at.key())
        assert said.words == f"{package.code} {package.what}: where to? Scan the place."
        place = ask.a_place("A1")
        assert "put away to A1" in scanned(place.code, package=said.package)[1]

    def test_what_is_not_sterile_is_refused_before_its_place(self, instrument: Instrument) -> None:
        right, words = scanned(ask.a_package(instrument).code)
        assert not right and "not sterilized" in words

    def test_a_misread_label_is_refused(self, package: Package) -> None:
        misread = package.code[:-1] + ("0" if package.code[-1] != "0" else "1")
        assert "misread" in scanned(misread, place=ask.a_place())[1]

    def test_handed_over_it_is_gone(self, package: Package) -> None:
        scanned(package.code, place=ask.a_place())
        scanned(package.code, HAND, to="OR 3")
        assert not shelf.on_the_shelf().exists()

    def test_handed_over_twice_says_who_had_it(self, package: Package) -> None:
        scanned(package.code, HAND, to="OR 3")
        right, words = scanned(package.code, HAND, to="OR 4")
        assert not right and "handed over to OR 3 by Tam Birkett" in words

    def test_a_requests_package_ends_its_request(
        self, package: Package, instrument: Instrument
    ) -> None:
        one = ask.a_request(instrument)
        working.take(at.person(), one.pk, at.key())
        working.send(at.person(), one.pk, at.key(), package)
        scanned(package.code, HAND)
        one.refresh_from_db()
        assert one.state == "handed over"


class TestTakingOff:
    @pytest.mark.parametrize("state", ["damaged", "recalled"])
    def test_it_needs_a_reason(self, package: Package, state: str) -> None:
        with pytest.raises(Refused, match="reason"):
            shelf.take_off(at.person(), package, state, at.key())

    def test_what_was_handed_over_can_be_recalled(self, package: Package) -> None:
        shelf.hand_over(at.person(), package, "OR 3", at.key())
        assert (
            shelf.take_off(at.person(), package, "recalled", at.key(), "load 12").state
            == "recalled"
        )

    def test_recalled_it_is_not_put_away(self, package: Package) -> None:
        shelf.take_off(at.person(), package, "recalled", at.key(), "load 12")
        with pytest.raises(Refused, match="was recalled"):
            shelf.put_away(at.person(), package, ask.a_place(), at.key())


class TestLevels:
    def test_under_its_level_it_is_to_be_packed(self, instrument: Instrument) -> None:
        ask.on_shelf(instrument)
        levels.set_level(at.person(), instrument, 3)
        assert [(row.count, row.short_by) for row in shelf.stock()] == [(1, 2)]

    def test_at_its_level_it_is_not(self, instrument: Instrument) -> None:
        ask.on_shelf(instrument)
        levels.set_level(at.person(), instrument, 1)
        assert [row.short_by for row in shelf.stock()] == [0]

    def test_void_packages_do_not_count(self, instrument: Instrument) -> None:
        Package.objects.filter(pk=ask.on_shelf(instrument).pk).update(
            void_at="2026-01-01T00:00Z", void_reason="torn"
        )
        assert shelf.stock() == []


class TestCauses:
    @pytest.fixture
    def missing(self) -> Instrument:
        """Two sets wait for one instrument: one packed short, one missed in the OR since."""
        found = Shortfall.objects.get(package=ask.short_set("TS-5")).instrument
        other = make.InstrumentSet(code="TS-6")
        asking.ask(ask.liaison(), Wanted(found, missing_from=other), ask.ask_for(), at.key())
        return found

    def test_the_oldest_waits_first(self, missing: Instrument) -> None:
        assert [one.instrument_set.code for one in causes.waiting_for(missing)] == ["TS-5", "TS-6"]

    def test_the_set_shows_it_until_it_is_back(
        self, missing: Instrument, technician: Client
    ) -> None:
        before = technician.get("/sets/TS-5/").content.decode()
        back = {f"back:{one.key}": "1" for one in causes.waiting_for(missing)}
        technician.post(f"/requests/back/{missing.item_number}/", {"key": at.key(), **back})
        after = technician.get("/sets/TS-5/").content.decode()
        words = "Went short and is not back"
        assert (words in before, words in after) == (True, False)

    def test_again_and_again_is_repeated(self, missing: Instrument) -> None:
        rows = causes.repeated(causes.shortfalls(), causes.by_instrument)
        assert [(row.times, row.often) for row in rows] == [(2, True)]

    def test_both_kinds_stand_in_this_week(self, missing: Instrument) -> None:
        found = list(causes.shortfalls())
        week = causes.weekly(found, found[-1].opened_at.date())[-1]
        assert (week.packed_short, week.missed) == (1, 1)

    def test_the_export_runs_nothing(self, missing: Instrument, technician: Client) -> None:
        Shortfall.objects.update(name="=HYPERLINK(1)")
        text = technician.get("/requests/causes.csv").content.decode("utf-8-sig")
        rows = list(csv.reader(io.StringIO(text)))
        assert rows[1][3] == "'=HYPERLINK(1)"


def test_the_plot_draws_a_bar_for_each_kind() -> None:
    drawn = plot.bars([Week(date(2026, 3, 2), 2, 1), Week(date(2026, 3, 9), 0, 0)])
    assert drawn.count("<rect") == 2


class TestLevelsOfSets:
    def send(self, client: Client, **sent: str) -> str:
        page = client.post("/shelf/level/", {"item": "TS-1"} | sent, follow=True)
        return page.content.decode()

    def test_under_its_level_it_is_to_be_assembled(self, coordinator: Client) -> None:
        at.a_set("TS-1")
        page = self.send(coordinator, low="2")
        assert "Assemble TS-1" in page
        assert Change.objects.filter(object_key="TS-1", after__low=2).exists()

    def test_taken_back_it_has_none(self, coordinator: Client) -> None:
        at.a_set("TS-1")
        self.send(coordinator, low="2")
        assert "Assemble TS-1" not in self.send(coordinator, low="")

    def test_a_set_has_no_loose_spares(self, coordinator: Client) -> None:
        at.a_set("TS-1")
        assert "has no loose spares" in self.send(coordinator, low="2", spares_place="cabinet 4")

    def test_only_who_sets_levels_may(self) -> None:
        with pytest.raises(Refused, match="may not do this"):
            levels.set_level(at.person(role="technician"), at.a_set("TS-1"), 2)
