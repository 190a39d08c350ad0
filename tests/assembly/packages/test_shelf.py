"""The shelf by scan, its levels, and putting things back where they went short."""

from __future__ import annotations

import csv
import io
import re
from datetime import date, datetime, time, timedelta

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from assembly.ledger import Refused
from assembly.models import Package, Shortfall
from assembly.packages import levels, shelf
from assembly.packages.search import place_at
from assembly.requests import asking, working
from assembly.requests.asking import Wanted
from assembly.shelf_pages.scanning import AWAY, HAND, scan
from assembly.shortfalls import causes, plot, views
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
    return said.tone == "right", said.words


def stock() -> list[shelf.Stock]:
    return shelf.stock(pk for pk, *_ in shelf.stocked())


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
        assert "put away to A1" in scanned(place.code, packages=said.packages)[1]

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
        assert [(row.count, row.short_by) for row in stock()] == [(1, 2)]

    def test_at_its_level_it_is_not(self, instrument: Instrument) -> None:
        ask.on_shelf(instrument)
        levels.set_level(at.person(), instrument, 1)
        assert [row.short_by for row in stock()] == [0]

    def test_void_packages_do_not_count(self, instrument: Instrument) -> None:
        Package.objects.filter(pk=ask.on_shelf(instrument).pk).update(
            void_at="2026-01-01T00:00Z", void_reason="torn"
        )
        assert stock() == []


def test_the_answer_to_a_scan_is_the_parts_that_it_changes(
    package: Package, technician: Client
) -> None:
    ask.a_place("A1")
    sent = {"words": package.code, "place": "A1", "key": at.key()}
    page = technician.post("/shelf/", sent, headers={"HX-Request": "true"}).content.decode()
    parts = re.findall(r'id="(said|place|package|ask|places|lying)"', page)
    assert sorted(parts) == ["ask", "lying", "package", "place", "places", "said"]
    assert "put away to A1" in page and "<html" not in page and 'id="needs"' not in page


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
        rows = causes.repeated(causes.shortfalls(), causes.BY_INSTRUMENT, 9)
        name = f"{missing.item_number} {missing.name}"
        assert [(row.label, row.times, row.pieces, row.open, row.often) for row in rows] == [
            (name, 2, 2, 2, True)
        ]

    def test_by_set_and_by_department_each_is_one(self, missing: Instrument) -> None:
        found = causes.shortfalls()
        sets = [row.label.split()[0] for row in causes.repeated(found, causes.BY_SET, 9)]
        who = {row.label for row in causes.repeated(found, causes.BY_DEPARTMENT, 9)}
        assert sorted(sets) == ["TS-5", "TS-6"]
        assert who == {one.department or "not on record" for one in found}

    def test_what_is_not_shown_is_said(
        self, missing: Instrument, technician: Client, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr(views, "MOST_OFTEN", 1)
        monkeypatch.setattr(views, "MOST_ROWS", 1)
        page = technician.get("/requests/causes/").content.decode()
        assert page.count("The 1 most frequent; there are more.") == 2  # sets, departments
        assert "Page 1" in page and "TS-5" in page
        assert "TS-6" in technician.get("/requests/causes/?page=2").content.decode()

    def test_both_kinds_stand_in_this_week(self, missing: Instrument) -> None:
        week = causes.weekly(timezone.localdate())[-1]
        assert (week.packed_short, week.missed) == (1, 1)

    def test_what_went_short_before_counts_no_more(self, missing: Instrument) -> None:
        """The week of 26 weeks ago is gone, its last moment too; the next one stands first."""
        today = timezone.localdate()
        first = causes.weekly(today)[0].monday
        begin = timezone.make_aware(datetime.combine(first, time.min))
        of_a_set, of_a_case = causes.shortfalls()
        Shortfall.objects.filter(pk=of_a_set.pk).update(opened_at=begin - timedelta(seconds=1))
        Shortfall.objects.filter(pk=of_a_case.pk).update(opened_at=begin)
        assert [one.pk for one in causes.recent(today)] == [of_a_case.pk]
        assert causes.weekly(today)[0] == Week(first, 0, 1)

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


class TestSeveral:
    """Packages first, then the one place of them all."""

    def test_they_are_put_away_in_one_scan(self, package: Package, instrument: Instrument) -> None:
        other = ask.a_sterile_package(instrument)
        said = scan(at.person(), package.code, AWAY, at.key())
        said = scan(at.person(), other.code, AWAY, at.key(), packages=said.packages)
        assert "2 in all" in said.words
        said = scan(at.person(), ask.a_place("B2").code, AWAY, at.key(), packages=said.packages)
        assert f"{package.code}, {other.code}: put away to B2" in said.words
        assert shelf.on_the_shelf().filter(shelved__place__code="B2").count() == 2

    def test_where_one_is_refused_none_is(self, package: Package, instrument: Instrument) -> None:
        bad = ask.a_package(instrument)
        right, words = scanned(ask.a_place().code, packages=(package, bad))
        assert (right, "not sterilized" in words) == (False, True)
        assert not shelf.on_the_shelf().exists()

    def test_the_same_press_again_moves_nothing(
        self, package: Package, instrument: Instrument
    ) -> None:
        both, key = (package, ask.a_sterile_package(instrument)), at.key()
        for _ in "12":
            shelf.put_away_all(at.person(), both, ask.a_place(), key)
        assert package.steps.count() == 1

    def test_scanned_twice_before_its_place_it_waits_once(self, package: Package) -> None:
        said = scan(at.person(), package.code, AWAY, at.key(), packages=(package,))
        assert said.packages == (package,)


class TestFirstInFirstOut:
    @pytest.fixture
    def older(self, instrument: Instrument) -> Package:
        return ask.on_shelf(instrument, "B2")

    def test_what_is_wanted_is_named_with_its_place(
        self, older: Package, instrument: Instrument
    ) -> None:
        ask.on_shelf(instrument, "A1")
        said = scan(at.person(), instrument.item_number, HAND, at.key(), to="OR 3")
        assert (said.tone, f"take {older.code} at B2" in said.words) == ("note", True)

    def test_of_what_does_not_lie_there_it_says_so(self, instrument: Instrument) -> None:
        assert "none lies on the shelf" in scanned(instrument.item_number, HAND)[1]

    def test_a_newer_one_goes_at_its_second_scan_only(
        self, older: Package, instrument: Instrument
    ) -> None:
        newer = ask.on_shelf(instrument, "A1")
        said = scan(at.person(), newer.code, HAND, at.key(), to="OR 3")
        assert (said.tone, f"Take {older.code} at B2" in said.words) == ("note", True)
        again = scan(at.person(), newer.code, HAND, at.key(), packages=said.packages, to="OR 3")
        assert "handed over to OR 3" in again.words

    def test_the_oldest_goes_at_once(self, older: Package, instrument: Instrument) -> None:
        ask.on_shelf(instrument, "A1")
        assert "handed over to OR 3" in scanned(older.code, HAND, to="OR 3")[1]


class TestPlaces:
    def test_each_says_what_stands_there(self, technician: Client, instrument: Instrument) -> None:
        old, _ = ask.on_shelf(instrument, "A1"), ask.on_shelf(instrument, "A1")
        Package.objects.filter(pk=old.pk).update(use_by="2026-01-01")
        [row] = technician.get("/shelf/places/").context["table"].data
        assert (row.code, row.lying, row.spoiled) == ("A1", 2, 1)

    def test_what_stands_at_one_is_listed_oldest_first(
        self, technician: Client, instrument: Instrument
    ) -> None:
        ask.on_shelf(instrument, "B2")
        here = [ask.on_shelf(instrument, "A1") for _ in "12"]
        table = technician.get("/shelf/packages/?place=A1").context["table"]
        assert list(table.data) == here

    def test_only_a_page_of_them_is_read(
        self, technician: Client, instrument: Instrument, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr("assembly.shelf_pages.lists.PackageList.paginate_by", 1)
        for _ in "12":
            ask.on_shelf(instrument)
        with CaptureQueriesContext(connection) as queries:
            technician.get("/shelf/packages/")
        read = [one["sql"] for one in queries if 'FROM "assembly_package"' in one["sql"]]
        assert any(sql.endswith("LIMIT 1") and "ORDER BY" in sql for sql in read)

    def test_a_code_that_no_scanner_reads_is_refused(self) -> None:
        with pytest.raises(Refused, match="cannot be a code to scan"):
            levels.add_place(at.person(), "FÄCH 1")


class TestAPlaceThatIsUsedNoLonger:
    def test_while_something_lies_there_it_is_refused(self, instrument: Instrument) -> None:
        first = ask.on_shelf(instrument)
        ask.on_shelf(instrument)
        with pytest.raises(Refused, match=f"{first.code} and 1 more lie at A1. Move"):
            levels.retire_place(at.person(), ask.a_place())
        assert not ask.a_place().retired

    def test_it_is_offered_nowhere_and_takes_nothing(
        self, coordinator: Client, package: Package
    ) -> None:
        """Also where somebody scanned it before."""
        scanned_before = ask.a_place("A1")
        coordinator.post("/shelf/place/retire/", {"code": "a1"})
        page = coordinator.get("/shelf/").content.decode()
        assert not place_at("A1") and 'value="A1"' not in page
        with pytest.raises(Refused, match="no longer in use"):
            shelf.put_away(at.person(), package, scanned_before, at.key())
        assert Change.objects.filter(object_name="A1", verb="retired").exists()

    def test_added_again_it_is_the_same_place(self) -> None:
        place = levels.retire_place(at.person(), levels.add_place(at.person(), "A1", "cabinet"))
        back = levels.add_place(at.person(), "a1")
        assert (back.pk, back.retired, back.name) == (place.pk, False, "cabinet")

    def test_one_that_is_none_is_refused(self, coordinator: Client) -> None:
        page = coordinator.post("/shelf/place/retire/", {"code": "Z9"}, follow=True)
        assert "“Z9” is no place in use" in page.content.decode()
