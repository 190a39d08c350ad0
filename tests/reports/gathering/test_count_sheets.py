"""What a set's count sheet shows, and what it says of what is not known."""

from __future__ import annotations

import pytest
from django.test import Client

from assembly.bench import signing
from assembly.models import Package
from catalog.chain.guards import let_through
from catalog.models import Change, InstrumentSet, Line
from reports.documents.count_sheets import CountSheetLine
from reports.gathering.count_sheets import built_sheet_document, count_sheet_document
from tests.factories import bench as at
from tests.factories import catalog as make
from tests.factories import loads

pytestmark = pytest.mark.django_db
SHOWS = {"sheet_other_names": "Metz", "sheet_maker_numbers": "Ravelstone C0178",
         "sheet_weights": "each 112 g", "sheet_substitutes": "or Mayo scissors, T-OTHER",
         "sheet_notes": "Lay flat."}  # fmt: skip


@pytest.fixture
def whole() -> InstrumentSet:
    """One line of which everything is on record."""
    one = at.a_set("TS-1", (1,), note="Lay flat.")
    line = Line.objects.get()
    known = {"also_known_as": "Metz", "maker": "Ravelstone", "maker_catalog_number": "C0178",
             "weight_g": 112, "protector": "vented, small"}  # fmt: skip
    type(line.instrument).objects.filter(pk=line.instrument_id).update(**known)
    line.substitutes.add(make.Instrument(item_number="T-OTHER", name="Mayo scissors"))
    return one


def only_line(one: InstrumentSet) -> CountSheetLine:
    [line] = count_sheet_document(InstrumentSet.objects.get(pk=one.pk), "T. Birkett").lines
    return line


def test_a_sheet_shows_what_most_want(whole: InstrumentSet) -> None:
    assert only_line(whole).details == (
        "protector vented, small", "Metz", "or Mayo scissors, T-OTHER", "Lay flat.",
    )  # fmt: skip


@pytest.mark.parametrize("shows", SHOWS)
@pytest.mark.parametrize("wanted", [True, False])
def test_a_set_says_what_its_sheet_shows(whole: InstrumentSet, shows: str, wanted: bool) -> None:
    InstrumentSet.objects.update(**{shows: wanted})
    assert (SHOWS[shows] in only_line(whole).details) is wanted


def test_what_a_sheet_shows_is_changed_by_hand_and_on_record(
    whole: InstrumentSet, coordinator: Client
) -> None:
    page = coordinator.get(f"/sets/{whole.code}/edit/")
    assert "On its count sheet" in page.content.decode()
    form = {name: value for name, value in page.context["form"].initial.items() if value}
    coordinator.post(f"/sets/{whole.code}/edit/", {**form, "sheet_weights": "on"})
    assert InstrumentSet.objects.get().sheet_weights
    change = Change.objects.get(object_key=whole.code, verb=Change.Verb.CHANGED)
    assert change.after["sheet_weights"] is True and change.actor


def test_changing_a_set_keeps_what_its_page_asks_of_pouches(
    whole: InstrumentSet, coordinator: Client
) -> None:
    InstrumentSet.objects.update(pouches_inside=True)
    page = coordinator.get(f"/sets/{whole.code}/edit/").content.decode()
    assert 'name="pouches_inside"' in page and 'name="pouches_validated"' in page


def test_no_importers_message_is_on_a_paper_for_the_or(whole: InstrumentSet) -> None:
    sheet = whole.current
    assert sheet is not None
    sheet.left_out = ["row 18: 2 x Poole. Enter the instrument first"]
    sheet.save()
    notices = " ".join(count_sheet_document(whole, "T. Birkett").notices)
    assert "row 18" not in notices and "1 line of an earlier list is not on this one" in notices


def test_a_name_on_three_lines_is_named_once() -> None:
    one = at.a_set("TS-1", (1, 2, 3))
    assert one.current is not None
    instrument = make.Instrument(name="Uterine sound", weight_g=None)
    one.current.lines.update(instrument=instrument)
    [words] = [n for n in count_sheet_document(one, "Bea").notices if n.startswith("Not weighed")]
    assert words.count("Uterine sound") == 1


class TestOfAPackage:
    @pytest.fixture
    def package(self) -> Package:
        return at.signed()

    def test_in_no_load_nothing_is_said_of_one(self, package: Package) -> None:
        assert built_sheet_document(package, "Bea").run == ()

    def test_its_load_is_said(self, package: Package) -> None:
        load = loads.a_load(package)
        said = dict(built_sheet_document(package, "Bea").run)
        assert said["Lot"] == load.lot
        assert said["Sterilizer, cycle no."].startswith(f"{load.sterilizer_code}, {load.cycle}, ")

    def test_of_several_alike_its_number_is_said(self, package: Package) -> None:
        package.tray = "2 of 3"
        assert built_sheet_document(package, "Bea").run == (("Tray", "2 of 3"),)

    def test_who_looked_before_the_lid_has_a_day_of_their_own(self) -> None:
        build = at.a_build()
        at.complete(build)
        bea = at.person("Bea Hartsop")
        signing.pack(at.person(), build.pk, at.all_yes(build), at.key(), bea)
        signed = built_sheet_document(signing.sign(at.person(), build.pk, at.key()), "Bea").signed
        assert (signed.assembled_by, signed.checked_by) == ("Tam Birkett", "Bea Hartsop")
        assert signed.assembled_at and signed.checked_at

    def test_it_stays_as_it_was_counted(self, package: Package) -> None:
        """A reopened assembly is counted anew; the paper of the old package does not change."""
        build = package.build
        assert build is not None
        before = [line.counted for line in built_sheet_document(package, "Bea").lines]
        with let_through():
            build.steps.filter(kind="counted").delete()
        assert [line.counted for line in built_sheet_document(package, "Bea").lines] == before
