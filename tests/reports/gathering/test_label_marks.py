"""What stands reversed on the label of a package, where it sticks, and which tray it is.

Flags implant, loaner and missing item: PAHO 2009, ST79, APIC, OSAP and a German guide as publicly
reported. 7 kg: the New Zealand 7 kg project, target 2016.
"""

from __future__ import annotations

import html
from dataclasses import replace
from datetime import date, timedelta

import pytest
from django.test import Client
from django.utils import timezone

from assembly.bench import signing
from assembly.consequences.policy_actions import override_value
from assembly.judging.decisions import decide_for_instrument
from assembly.ledger import Refused
from assembly.models import Package
from assembly.packages.recording import pack_single
from assembly.packages.standing import standing_of
from assembly.upkeep import loaners
from assembly.upkeep.loaners import Lent
from catalog.actions import Actor
from catalog.models import Instrument
from reports.drawing.fitting import PrintRefused
from reports.drawing.stocks import stock
from reports.gathering.count_sheets import built_sheet_document
from reports.gathering.labels.packages import film_of, fitting_label, package_label_document
from reports.pages.before_recording import why_no_label
from tests.factories import bench as at
from tests.factories import catalog as make
from tests.factories import requests as ask
from tests.reports.examples import page_texts

pytestmark = pytest.mark.django_db
SMALL, LARGE, HIGH = (stock(key) for key in ("roll-50x25", "label-100x50", "roll-100x60"))
IN_VAIN = {"status": "not met", "sentence": "", "reason": "the maker agreed", "source": ""}


@pytest.fixture
def instrument() -> Instrument:
    return make.Instrument(item_number="T-1")


@pytest.fixture
def package(instrument: Instrument) -> Package:
    return ask.a_package(instrument)


def flags(package: Package) -> tuple[str, ...]:
    return package_label_document(package).flags


def test_nothing_is_flagged_without_a_reason(package: Package) -> None:
    assert flags(package) == ()


def test_an_implant_by_its_record_is_flagged_and_so_is_a_set_with_one(
    package: Package, instrument: Instrument
) -> None:
    Instrument.objects.filter(pk=instrument.pk).update(implant=True)
    assert flags(package) == ("IMPLANT",)
    build = at.a_build(at.a_set("TS-9"))
    inside = build.lines.first()
    assert inside
    Instrument.objects.filter(pk=inside.instrument_id).update(implant=True)
    assert flags(at.signed(build)) == ("IMPLANT",)


def test_what_was_lent_when_it_was_packed_is_flagged(instrument: Instrument) -> None:
    before = ask.a_package(instrument)
    lent = Lent("Drill", "Calder Implants", instrument=instrument, ifu_reference="CI-1")
    one = loaners.take_in(at.person(), lent, at.key())
    during = ask.a_package(instrument)
    type(one).objects.filter(pk=one.pk).update(state="returned", ended_at=timezone.now())
    after = ask.a_package(instrument)
    assert [flags(each) for each in (before, during, after)] == [(), ("LOANER",), ()]


def test_a_set_that_is_lent_is_flagged(db: None) -> None:
    one = at.a_set("TS-8")
    lent = Lent("Tray", "Calder Implants", instrument_set=one, ifu_reference="CI-1")
    loaners.take_in(at.person(), lent, at.key())
    assert flags(at.signed(at.a_build(one))) == ("LOANER",)


@pytest.mark.parametrize(("rule", "words"), [
    ("common cycle", "CYCLE NOT THE MAKER'S"), ("published minimum", "CYCLE NOT THE MAKER'S"),
    ("gross weight", "OVER THE WEIGHT LIMIT"), ("width", "LESS ROOM THAN THE RULE"),
    ("protector", "PROTECTOR NOT AS THE RULE"), ("allowed", "PACKAGE NOT ONE THE MAKER ALLOWS"),
    ("something new", "AGAINST THE RULE “something new”"),
])  # fmt: skip
def test_what_was_accepted_is_called_by_what_it_is_with_who_did(
    package: Package, rule: str, words: str
) -> None:
    package.accepted = [{**IN_VAIN, "rule": rule, "by": "Bea Hartsop"}]
    package.override_by = "Bea Hartsop"
    assert flags(package) == (f"{words}: ACCEPTED BY Bea Hartsop",)


def test_what_nobody_could_tell_is_not_called_wrong(package: Package) -> None:
    package.accepted = [{**IN_VAIN, "rule": "plan", "status": "cannot tell", "by": "Bea Hartsop"}]
    assert flags(package) == ("NOT KNOWN WHEN PACKED: plan: ACCEPTED BY Bea Hartsop",)


def test_of_an_old_record_it_says_that_rules_were_overridden(package: Package) -> None:
    package.accepted, package.override_by = [{"by": "Bea Hartsop", "reason": "x"}], "Bea Hartsop"
    assert flags(package) == ("RULES OVERRIDDEN: ACCEPTED BY Bea Hartsop",)


def test_page_list_and_record_say_what_was_accepted_as_its_label_does(
    package: Package, coordinator: Client
) -> None:
    package.accepted = [{**IN_VAIN, "rule": "common cycle", "by": "Bea Hartsop"}]
    package.override_by, package.override_reason = "Bea Hartsop", "the maker agreed"
    package.save()
    [mark] = flags(package)
    assert mark == "CYCLE NOT THE MAKER'S: ACCEPTED BY Bea Hartsop"
    assert mark in standing_of(package).words
    for page in ("", "record/"):
        said = html.unescape(coordinator.get(f"/packages/{package.code}/{page}").content.decode())
        assert mark in said and "overrid" not in said
    paper = coordinator.get(f"/packages/{package.code}/record.pdf").content
    assert mark in " ".join(" ".join(page_texts(paper)).split())


@pytest.mark.parametrize(("grams", "words"), [(7001.0, "7.0 kg"), (8400.0, "8.4 kg"), (6999, "")])
def test_what_is_heavier_than_seven_kilograms_says_its_weight(
    package: Package, grams: float, words: str
) -> None:
    package.decided.body = {"findings": []}
    package.serves = {**package.serves, "gross_g": grams, "not_weighed": []}
    assert package_label_document(package).weight == words
    package.serves["not_weighed"] = ["wrap"]
    assert package_label_document(package).weight == (f"over {words}" if words else "")


# --- which of several trays ----------------------------------------------------------------


@pytest.mark.parametrize(
    ("typed", "kept"), [("2/3", "2 of 3"), ("tray 2 of 3", "2 of 3"), ("", "")]
)
def test_the_tray_is_kept_with_the_package_and_on_its_label(typed: str, kept: str) -> None:
    build = at.a_build()
    at.complete(build)
    signing.pack(at.person(), build.pk, replace(at.all_yes(build), tray=typed), at.key())
    package = signing.sign(at.person(), build.pk, at.key())
    words = package_label_document(package).count_words
    assert (package.tray, words[0]) == (kept, f"Tray {kept}" if kept else "3 pieces")


@pytest.mark.parametrize("typed", ["4 of 3", "red", "0", "2 of"])
def test_what_is_no_tray_number_is_refused_and_nothing_is_packed(typed: str) -> None:
    build = at.a_build()
    at.complete(build)
    with pytest.raises(Refused, match=f"“{typed}” is no tray number"):
        signing.pack(at.person(), build.pk, replace(at.all_yes(build), tray=typed), at.key())
    build.refresh_from_db()
    assert build.state == build.State.OPEN


# --- where it sticks -----------------------------------------------------------------------


@pytest.fixture
def small(db: None) -> Package:
    make.Pouch(outer_width_mm=100, inner_width_mm=84, outer_length_mm=200, inner_length_mm=170)
    instrument = make.Instrument(length_mm=80, width_mm=20, height_mm=6)
    answer, by = decide_for_instrument(instrument), replace(at.person(), stock=SMALL.key)
    return at.sealed(pack_single(by, instrument, answer, at.plan_for(instrument), at.key()))


def test_a_stock_wider_than_the_pouch_is_refused_with_those_that_fit(small: Package) -> None:
    package = small
    assert film_of(package) == (170, 84)
    with pytest.raises(PrintRefused) as refusal:
        fitting_label(package, HIGH)
    assert refusal.value.field == "label stock" and "84 x 170 mm inside" in str(refusal.value)
    assert "These fit: Roll, 70 x 35 mm;" in str(refusal.value)
    assert "Roll, 100 x 60 mm" not in str(refusal.value).partition("These fit")[2]
    assert fitting_label(package, SMALL).what == package.what


def test_how_much_of_the_film_a_label_covers_is_the_departments(small: Package) -> None:
    override_value(Actor("bea", reason="tried"), "label_film_share", 0.75,
                   since=date(2026, 1, 1), source="SOP 7")  # fmt: skip
    assert fitting_label(small, HIGH).what == small.what


def test_a_void_label_sticks_nowhere_and_is_not_refused(small: Package) -> None:
    package = small
    package.void_at, package.void_reason = timezone.now() - timedelta(hours=1), "torn"
    assert fitting_label(package, HIGH).void == "torn"


def test_what_is_in_no_pouch_takes_any_stock(db: None) -> None:
    assert film_of(at.signed()) is None


def test_copies_of_a_label_are_printed(package: Package, technician: Client) -> None:
    pdf = technician.get(f"/packages/{package.code}/label.pdf?copies=2").content
    assert [package.code in text for text in page_texts(pdf)] == [True, True]


def test_on_the_workstations_stock_it_is_refused_before_it_is_on_record(small: Package) -> None:
    assert "These fit: Roll, 70 x 35 mm;" in why_no_label(small, HIGH.key)
    assert why_no_label(small, SMALL.key) == ""


def test_where_nobody_said_the_stock_it_is_tried_on_the_one_that_prints(
    small: Package, technician: Client
) -> None:
    """Recorded all the same, its label was refused when it was printed."""
    assert technician.get(f"/packages/{small.code}/label.pdf").status_code == 422
    assert "These fit: Roll, 70 x 35 mm;" in why_no_label(small, "")


def test_a_filled_sheet_says_what_was_accepted_as_the_label_does(db: None) -> None:
    package = at.signed()
    package.accepted = [{**IN_VAIN, "rule": "gross weight", "by": "Bea Hartsop"}]
    package.override_by, package.override_reason = "Bea Hartsop", "the scale is away"
    said = built_sheet_document(package, "Tam Birkett").notices
    assert said == ("OVER THE WEIGHT LIMIT: ACCEPTED BY Bea Hartsop: the scale is away.",)
