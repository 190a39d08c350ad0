"""The record of one package: all that was written down, and nothing that changed since."""

from __future__ import annotations

import re
from datetime import datetime, timedelta
from importlib import import_module

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.utils import timezone

from assembly.bench import builds, signing
from assembly.bench.tally import tally_of
from assembly.complaints import saying
from assembly.consequences.policy_actions import override_value
from assembly.models import Load, Package, ShelfPlace
from assembly.packages import lots, shelf
from assembly.requests import asking, working
from assembly.requests.asking import Wanted
from catalog.actions import Actor
from catalog.models import (
    Container,
    CountSheet,
    Instrument,
    InstrumentSet,
    Line,
    Pouch,
    Programme,
    Sealer,
    Sterilizer,
)
from reports.drawing.records import draw_record
from reports.gathering.package_record import package_record
from tests.factories import bench as at
from tests.factories import catalog as make
from tests.factories import loads
from tests.factories import requests as ask
from tests.reports.examples import page_texts, squeezed

pytestmark = pytest.mark.django_db
MADE = datetime(2026, 3, 6, 14, 5)


@pytest.fixture
def package() -> Package:
    """A set that went short of one piece, was sterilized, handed over, and was wet."""
    build = at.a_build(at.a_set("TS-1", (2, 2), may_go_without=True))
    first, second = tally_of(build).lines
    builds.count(at.person(), build.pk, first.line.pk, 1, at.key())
    builds.short(at.person(), build.pk, first.line.pk, 1, "", at.key())
    builds.count(at.person(), build.pk, second.line.pk, 2, at.key())
    checker = at.person("Ola Brandt")
    signing.pack(at.person(), build.pk, at.all_yes(build), at.key(), checker)
    made = at.sealed(signing.sign(at.person(), build.pk, at.key()))
    loads.released(made)
    shelf.put_away(at.person(), made, ask.a_place("B1"), at.key())
    wanted = Wanted(instrument_set=build.instrument_set)
    one = asking.ask(ask.liaison(), wanted, ask.ask_for(), at.key())
    working.take(at.person(), one.pk, at.key())
    working.send(at.person(), one.pk, at.key(), made, "short by one, as told")
    working.hand_over(at.person(), one.pk, at.key())
    saying.say(ask.liaison(), made.pk, "wet", at.key(), "drops inside")
    return Package.objects.get(pk=made.pk)


@pytest.fixture
def single() -> Package:
    """An instrument in a pouch that heat closes, with the lot of its pouch."""
    loads.a_sealer()
    pouch = make.Pouch(seal_temperature_c=180, seal_tolerance_c=5)
    lots.open_lot(at.person(), f"pouch:{pouch.code}", "L-77", at.key())
    return ask.on_shelf(make.Instrument(item_number="T-1", name="Needle holder"))


def said(package: Package) -> str:
    record = package_record(package.code)
    return "\n".join(" | ".join((section.heading, *row)) for section in record.sections
                     for row in section.rows)  # fmt: skip


def test_it_says_all_that_happened(package: Package) -> None:
    words, load = said(package), Load.objects.get()
    line = package.counted["lines"][0]
    for one in (
        "Count sheet TS-1, revision 1",
        f"{line['item_number']} | {line['name']} | 2 | 1 | 1 | ",
        "Second person, before the lid | Ola Brandt",
        "Packed by | Tam Birkett",
        f"Load {load} | Sterilizer | ST1, cycle no. {load.cycle}",
        "Released | Tam Birkett",
        "On the shelf: B1",
        "Handed over to OR 3, Main ORs",
        "Damaged | Lis Mellor | Wet: drops inside",
        "for OR 3, Main ORs, asked for by Lis Mellor; handed over",
        "Wet: drops inside. It was: Handed over",
    ):
        assert one in words, one
    assert package_record(package.code).loud == "Damaged. Do not use this package."


def test_a_single_names_its_sealer_and_its_lot(single: Package) -> None:
    words = said(single)
    assert re.search(r"Sealer \| PS1\. .*180", words) and "Lot | L-77, " in words
    assert "Inside | 1 × Needle holder, T-1" in words


def test_a_set_from_before_has_its_count_sheet_too(package: Package) -> None:
    """The migration works out the same from what such a package already kept."""
    assert import_module("assembly.migrations.0025_complaints").counted(package) == {
        name: said for name, said in package.counted.items() if name != "container"
    }


def changed_everywhere() -> None:
    """Every row of the catalog, the policy and the accounts says something else, or is gone."""
    for model, fields in (
        (Instrument, ("name", "item_number")), (InstrumentSet, ("name", "code", "service")),
        (Sterilizer, ("code",)), (Sealer, ("code",)), (Programme, ("code",)),
        (ShelfPlace, ("name", "code")), (Container, ("name", "code")),
    ):  # fmt: skip
        for row in model._default_manager.all():
            values = dict.fromkeys(fields, f"changed {row.pk}")
            model._default_manager.filter(pk=row.pk).update(**values)
    Line.objects.all().delete()
    Pouch.objects.all().delete()
    CountSheet.objects.update(revision=9, state="retired", approved_by="somebody")
    Sealer.objects.update(active=False)
    User.objects.update(first_name="Changed", last_name="Name")
    override_value(
        Actor("bea", reason="try"),
        "release_on_record",
        False,
        since=timezone.localdate(),
        source="x",
    )


@pytest.mark.parametrize("kind", ["package", "single"])
def test_nothing_that_changed_since_changes_it(
    kind: str, request: pytest.FixtureRequest, technician: Client
) -> None:
    """The document, its page and its PDF, byte for byte."""
    package: Package = request.getfixturevalue(kind)

    def now() -> tuple[object, str, bytes]:
        record = package_record(package.code)
        page = technician.get(f"/packages/{package.code}/record/").content.decode()
        return record, page[page.index("<main"):page.index("</main>")], draw_record(
            record, MADE, "Bea")  # fmt: skip

    before = now()
    changed_everywhere()
    assert now() == before


def test_only_its_own_day_makes_it_past_its_date(single: Package) -> None:
    Package.objects.update(use_by=timezone.localdate() - timedelta(days=1))
    assert package_record(single.code).loud == "Past its date. Do not use this package."


def test_its_paper_names_it_on_every_page(package: Package, technician: Client) -> None:
    answer = technician.get(f"/packages/{package.code}/record.pdf")
    texts = page_texts(answer.content)
    assert all(f"Record of {package.code}" in one for one in texts) and len(texts) > 1
    assert squeezed("Something was wrong") in squeezed(" ".join(texts))
