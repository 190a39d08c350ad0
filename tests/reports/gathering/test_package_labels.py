"""The label of a recorded package: what its record, its load and the policy make of it."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import Any

import pytest
from django.test import Client
from django.utils.timezone import localdate

from assembly.bench import builds, signing
from assembly.bench.tally import tally_of
from assembly.consequences.policy_actions import override_value
from assembly.judging.facts_from_catalog import shelf_lives
from assembly.models import Load, Package
from assembly.packages import shelf
from assembly.rules.days import day_words
from assembly.rules.telling.labelling import use_by
from assembly.sterilizing import recalling
from catalog.actions import Actor
from catalog.models import Instrument
from reports.documents.count_sheets import CountSheetDocument, Substitute
from reports.documents.giving_way import without_drying
from reports.documents.labels import LabelDocument
from reports.documents.papers import MissingElement, PrintError
from reports.drawing.sheets.count_sheets import draw_count_sheet
from reports.drawing.stocks import stock
from reports.gathering.count_sheets import built_sheet_document
from reports.gathering.labels import packages as gathered
from reports.gathering.labels.packages import fitting_label, package_label_document
from tests.conftest import kept_meanwhile
from tests.factories import bench as at
from tests.factories import catalog as make
from tests.factories import loads
from tests.factories import requests as ask
from tests.reports.examples import page_texts

pytestmark = pytest.mark.django_db
LARGE = stock("label-100x50")


@pytest.fixture
def instrument() -> Instrument:
    return make.Instrument(item_number="T-1")


@pytest.fixture
def package(instrument: Instrument) -> Package:
    return ask.a_package(instrument)


def own(name: str, value: object) -> None:
    override_value(Actor("a lead", reason="tried"), name, value, since=date(2020, 1, 2),
                   source="our manual")  # fmt: skip


def test_in_no_load_its_fields_are_left_to_write_in(package: Package) -> None:
    label = package_label_document(package)
    assert (label.sterilizer, label.cycle, label.load, label.lot_number) == ("", "", "", "")


def test_the_policy_asks_for_lines_to_write_them_on(package: Package) -> None:
    """Sterilizer, cycle or load: PAHO 2009, ST79, APIC, OSAP as publicly reported."""
    fields = package_label_document(package).load_fields
    assert fields == [("Sterilizer", ""), ("Cycle", ""), ("Date", "")]


def test_printed_from_the_load_the_lines_are_filled(package: Package, technician: Client) -> None:
    load = loads.a_load(package)
    (text,) = page_texts(technician.get(f"/loads/{load.pk}/labels.pdf").content)
    day = day_words(load.day)
    assert f"Sterilizer {load.sterilizer_code} · Cycle {load.cycle} · Date {day} · Lot" in text


def test_the_load_is_what_the_sterilizer_counts_never_a_row_of_ours(package: Package) -> None:
    load = loads.a_load(package)
    own("label_required", ["contents", "cycle", "load"])
    assert [name for name, _ in package_label_document(package).load_fields] == [
        "Sterilizer", "Cycle", "Date",
    ]  # fmt: skip
    Load.objects.filter(pk=load.pk).update(number=417)
    assert package_label_document(package).load == "417"


def test_what_is_left_to_write_is_said_beside_it(package: Package, technician: Client) -> None:
    page = technician.get(f"/packages/{package.code}/label/").content.decode()
    assert "To write on it: sterilizer, cycle, date" in page


def test_a_policy_without_them_prints_no_line(package: Package) -> None:
    own("label_required", ["contents", "packer"])
    assert package_label_document(package).load_fields == []


def test_in_a_load_it_states_the_lot(package: Package) -> None:
    load = loads.a_load(package)
    assert package_label_document(package).lot_number == load.lot


def test_the_lot_stays_when_the_policy_moves_on(package: Package) -> None:
    load = loads.released(package)
    own("lot_pattern", ["day of year", "cycle"])
    assert package_label_document(package).lot_number == load.lot


def test_the_lot_is_read_back_from_the_paper(package: Package, technician: Client) -> None:
    load = loads.a_load(package)
    pdf = technician.get(f"/packages/{package.code}/label.pdf").content
    assert f"Lot {load.lot}" in page_texts(pdf)[0]


def test_single_is_said_where_the_policy_asks_for_it(package: Package) -> None:
    assert package_label_document(package).single_or_double == ""
    own("label_required", ["contents", "single or double"])
    assert package_label_document(package).single_or_double == "single"


def test_a_set_is_neither(db: None) -> None:
    assert package_label_document(at.signed()).single_or_double == ""


def test_what_the_policy_requires_and_nobody_knows_is_named(package: Package) -> None:
    own("label_required", ["contents", "packer", "lot number"])
    with pytest.raises(MissingElement, match="the lot number"):
        package_label_document(package)


def test_required_and_in_a_load_it_prints(package: Package) -> None:
    own("label_required", ["contents", "packer", "lot number"])
    loads.a_load(package)
    assert package_label_document(package).lot_number


def test_what_is_missing_is_said_on_the_page(package: Package, technician: Client) -> None:
    own("label_required", ["contents", "packer", "lot number"])
    answer = technician.get(f"/packages/{package.code}/label.pdf")
    assert (answer.status_code, "the lot number" in answer.content.decode()) == (422, True)


def test_the_packagings_ifu_gives_the_date(instrument: Instrument) -> None:
    make.Pouch(shelf_life_months=6)
    package = ask.a_package(instrument)
    assert package_label_document(package).expires_on == use_by(localdate(), [6])


def test_without_one_it_is_event_related(package: Package) -> None:
    assert package_label_document(package).expires_on is None


def test_a_packaging_of_no_known_life_says_none(package: Package) -> None:
    assert shelf_lives("pouch", ["NO-SUCH"]) == []


def test_a_recalled_load_makes_its_labels_void(package: Package) -> None:
    load = loads.released(package)
    recalling.recall_load(at.person(), load.pk, at.key(), "indicator grew")
    assert package_label_document(package).void == f"load {load} recalled"


def test_a_long_reason_never_keeps_a_void_label_from_printing(package: Package) -> None:
    package.void_at, package.void_reason = package.packed_at, "torn at the seal " * 17
    assert fitting_label(package, stock("roll-70x35")).void


@pytest.mark.parametrize("key", ["roll-70x35", "a4-3x8", "letter-3x7"])
def test_void_it_prints_on_the_smallest_stock_whatever_is_flagged(
    package: Package, key: str
) -> None:
    loads.a_load(package)
    package.what = "Needle holder, Mayo-Hegar, curved, with carbide jaws, 180 mm"
    package.shortages = ["MISSING 1 Bench forceps (2 of 3 in the set)"]
    package.override_by = "Bea Hartsop"
    package.void_at, package.void_reason = package.packed_at, "opened again"
    assert fitting_label(package, stock(key)).void


def test_where_there_is_room_the_method_stands_in_full(package: Package) -> None:
    package.method = "S134-3 (steam 134 °C)"
    assert fitting_label(package, LARGE).method == "S134-3 (steam 134 °C)"


def test_on_a_sheet_it_takes_the_first_free_position(package: Package, technician: Client) -> None:
    first = technician.get(f"/packages/{package.code}/label.pdf?stock=a4-3x8&start=1").content
    fifth = technician.get(f"/packages/{package.code}/label.pdf?stock=a4-3x8&start=5").content
    assert page_texts(first) == page_texts(fifth) and first != fifth


def test_where_it_is_stuck_is_said_beside_it(package: Package, technician: Client) -> None:
    page = technician.get(f"/packages/{package.code}/label/").content.decode()
    assert "film side, not over a seal" in page


def test_a_load_prints_a_label_for_each_package(
    package: Package, instrument: Instrument, technician: Client
) -> None:
    load = loads.a_load(package, ask.a_package(instrument))
    assert len(page_texts(technician.get(f"/loads/{load.pk}/labels.pdf").content)) == 2


def test_a_damaged_package_has_no_good_label(package: Package) -> None:
    shelf.take_off(at.person(), package, "damaged", at.key(), "pouch torn")
    assert package_label_document(Package.objects.get()).void == "damaged"


def test_past_its_date_its_label_is_void(package: Package) -> None:
    package.use_by = date(2020, 1, 1)
    assert package_label_document(package).void.startswith("past its date")


def test_an_empty_load_has_no_labels(technician: Client) -> None:
    answer = technician.get(f"/loads/{loads.a_load().pk}/labels.pdf")
    assert (answer.status_code, answer.content) == (422, b"Nothing is in this load yet.")


def test_single_or_double_is_asked_of_pouches_alone() -> None:
    own("label_required", ["contents", "single or double"])
    assert package_label_document(at.signed()).single_or_double == ""


def test_nothing_is_asked_of_a_void_label(package: Package) -> None:
    own("label_required", ["contents", "lot number"])
    package.void_at, package.void_reason = package.packed_at, "torn"
    assert package_label_document(package).void == "torn"


def test_where_it_goes_can_be_written_on_its_page(package: Package, technician: Client) -> None:
    own("label_required", ["contents", "destination"])
    refused = technician.get(f"/packages/{package.code}/label.pdf")
    pdf = technician.get(f"/packages/{package.code}/label.pdf", {"for": "OR 9"}).content
    assert refused.status_code == 422 and "For: OR 9" in page_texts(pdf)[0]


def test_in_a_load_the_package_that_lacks_something_is_named(
    package: Package, technician: Client
) -> None:
    load = loads.a_load(package)
    own("label_required", ["contents", "destination"])
    answer = technician.get(f"/loads/{load.pk}/labels.pdf")
    assert answer.content.decode().startswith(f"{package}: The label was not printed")


def test_of_a_load_each_label_is_printed_as_often_as_asked_up_to_a_roll(
    package: Package, technician: Client
) -> None:
    other = ask.a_package(make.Instrument(name="Good scissors"))
    at_load = f"/loads/{loads.a_load(package, other).pk}/labels"
    file = technician.get(f"{at_load}/?copies=2").context["file"]
    on_each = [code for text in page_texts(technician.get(file).content)
               for code in (package.code, other.code) if code in text]  # fmt: skip
    assert on_each == [package.code, package.code, other.code, other.code]
    refused = technician.get(f"{at_load}.pdf?copies=251")
    assert (refused.status_code, "251 copies of 2 labels are more than the 500" in
            refused.content.decode()) == (422, True)  # fmt: skip


def test_a_label_that_cannot_be_printed_takes_no_other_of_its_load(
    package: Package, technician: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    other = ask.a_package(make.Instrument(name="Good scissors"))
    load = loads.a_load(package, other)

    def refusing(one: Package, *given: Any) -> LabelDocument:
        if one == package:
            raise PrintError("Not printed. Contents: too many words.")
        return fitting_label(one, *given)

    monkeypatch.setattr(gathered, "fitting_label", refusing)
    bad, good = page_texts(technician.get(f"/loads/{load.pk}/labels.pdf").content)
    assert ("NO LABEL" in bad, package.code in bad) == (True, True)
    assert "Good scissors" in good
    page = technician.get(f"/loads/{load.pk}/labels/").content.decode()
    assert f"<li>{package}: Contents: too many words.</li>" in page
    assert f"<li>{other}</li>" in page


@pytest.fixture(scope="class")
def sheet(django_db_setup: None, django_db_blocker: Any) -> Iterator[CountSheetDocument]:
    with kept_meanwhile(django_db_blocker):
        one = at.a_set("TS-1", (1, 2, 3), may_go_without=True)
        build = at.a_build(one)
        first, second, third = tally_of(build).lines
        other = make.Instrument(item_number="T-OTHER", name="Spare forceps")
        first.line.substitutes.add(other)
        builds.substitute(at.person(), build.pk, first.line.pk, other.pk, 1, at.key())
        builds.count(at.person(), build.pk, second.line.pk, 2, at.key())
        builds.count(at.person(), build.pk, third.line.pk, 2, at.key())
        builds.short(at.person(), build.pk, third.line.pk, 1, "", at.key())
        signing.pack(at.person(), build.pk, at.all_yes(build), at.key())
        package = signing.sign(at.person(), build.pk, at.key())
        yield built_sheet_document(package, "Bea Hartsop")


@pytest.mark.xdist_group("filled-sheet")
class TestFilledSheet:
    """The count sheet of a signed set says what is in it."""

    def test_the_total_is_what_is_in(self, sheet: CountSheetDocument) -> None:
        assert sheet.total_words == "3 lines, 5 of 6 pieces, 1 of them a substitute"

    def test_each_line_has_its_count(self, sheet: CountSheetDocument) -> None:
        assert [line.counted for line in sheet.lines] == ["0 + 1 substitute", "2", "2 of 3"]

    def test_what_stands_in_is_on_its_line(self, sheet: CountSheetDocument) -> None:
        assert sheet.lines[0].instead == (Substitute(1, "Spare forceps", "T-OTHER"),)

    def test_what_is_missing_is_told(self, sheet: CountSheetDocument) -> None:
        assert sheet.missing == (f"MISSING 1 {sheet.lines[2].name} (2 of 3 in the set)",)

    def test_its_code_is_the_packages(self, sheet: CountSheetDocument) -> None:
        assert sheet.code == Package.objects.get().code

    def test_whoever_signed_stands_on_the_lines(self, sheet: CountSheetDocument) -> None:
        assert sheet.signed.assembled_by == "Tam Birkett" and sheet.signed.assembled_at

    def test_whoever_prints_it_printed_it(self, sheet: CountSheetDocument) -> None:
        assert sheet.printed_by == "Bea Hartsop"

    def test_the_weight_stands_against_its_limit(self, sheet: CountSheetDocument) -> None:
        assert sheet.decided.weight.endswith("under the limit of 11.34 kg")

    def test_it_is_drawn(self, sheet: CountSheetDocument) -> None:
        assert "5 of 6 pieces" in " ".join(page_texts(draw_count_sheet(sheet)))


def test_the_filled_sheet_has_the_departments_columns() -> None:
    own("count_sheet_columns", ["Packed", "In the OR"])
    assert built_sheet_document(at.signed(), "Bea").tick_columns == ("Packed", "In the OR")


class TestSeveralCycles:
    """While several cycles serve it the label names what they have in common."""

    @pytest.fixture
    def package(self, instrument: Instrument) -> Package:
        for code, minutes in (("S134-3", 3), ("S134-4", 4)):
            loads.a_programme(code, exposure_min=minutes)
        return ask.a_package(instrument)

    def test_in_no_load_it_says_method_and_temperature(self, package: Package) -> None:
        words = package_label_document(package).method
        assert words.endswith("steam 134 °C") and "S134" not in words

    def test_in_a_load_it_says_the_loads_cycle(self, package: Package) -> None:
        load = loads.a_load(package)
        assert package_label_document(package).method == without_drying(load.programme)
