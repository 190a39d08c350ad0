"""Where it could come from, in order; what is not known never counts as there."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest
from django.test import Client
from django.utils import timezone

from assembly.models import Package
from assembly.packages import levels, shelf
from assembly.requests import working
from assembly.requests.sources import can_serve, complete_sets, sources_for, sterile_single
from catalog.lookup.finding import find
from catalog.models import Instrument
from tests.factories import bench as at
from tests.factories import catalog as make
from tests.factories import loads
from tests.factories import requests as ask

pytestmark = pytest.mark.django_db


@pytest.fixture
def instrument() -> Instrument:
    return make.Instrument(item_number="T-1", name="Metzenbaum scissors", also_known_as="Metz")


def soon(hours: float = 1) -> datetime:
    return timezone.now() + timedelta(hours=hours)


def answers(instrument: Instrument) -> list[tuple[str, str]]:
    return [(one.kind, one.answer) for one in sources_for(instrument, None, soon())]


def set_on_shelf() -> Package:
    package = at.signed(at.a_build(at.a_set("TS-9")))
    loads.released(package)
    shelf.put_away(at.person(), package, ask.a_place("B1"), at.key())
    return package


def of_set(package: Package) -> Instrument:
    return Instrument.objects.get(item_number=package.contents[0]["item_number"])


def test_they_stand_in_the_order_in_which_they_are_tried(instrument: Instrument) -> None:
    assert [kind for kind, _ in answers(instrument)] == [
        "Sterile single package", "Loose spare", "Complete set", "Accepted substitute"
    ]  # fmt: skip


def test_a_package_on_the_shelf_has_count_and_place(instrument: Instrument) -> None:
    for place in ("A1", "A1", "B2"):
        ask.on_shelf(instrument, place)
    found = sterile_single(instrument)
    assert (found.count, found.place) == (3, "A1 (2), B2 (1)")


def test_a_package_nobody_put_away_is_not_on_the_shelf(instrument: Instrument) -> None:
    ask.a_package(instrument)
    assert sterile_single(instrument).answer == "none"


def test_a_promised_package_is_not_there_for_others(instrument: Instrument) -> None:
    package, one = ask.on_shelf(instrument), ask.a_request(instrument)
    working.take(at.person(), one.pk, at.key())
    working.tie(at.person(), one.pk, package)
    assert sterile_single(instrument).answer == "none"


def test_uncounted_spares_never_pass(instrument: Instrument) -> None:
    assert not can_serve(sources_for(instrument, None, soon()))


def test_spares_that_taken_requests_pack_are_promised(instrument: Instrument) -> None:
    Instrument.objects.update(spares_on_hand=1)
    instrument.refresh_from_db()
    working.take(at.person(), ask.a_request(instrument).pk, at.key())
    assert ("Loose spare", "none") in answers(instrument)


def test_a_set_whose_need_nobody_noted_cannot_be_told() -> None:
    found = complete_sets(of_set(set_on_shelf()), soon())
    assert [(one.answer, one.place) for one in found] == [("cannot tell", "B1 (1)")]


@pytest.mark.parametrize(("needed", "answer"), [(0.5, "none"), (24, "there")])
def test_a_set_spares_what_is_not_needed_before_then(needed: float, answer: str) -> None:
    package = set_on_shelf()
    assert package.build is not None
    levels.say_when_needed(at.person(), package.build.instrument_set, soon(needed))
    assert complete_sets(of_set(package), soon())[0].answer == answer


def test_the_set_that_came_up_short_spares_nothing() -> None:
    package = set_on_shelf()
    assert complete_sets(of_set(package), soon(), opened=package)[0].answer == "none"


def test_an_accepted_substitute_names_the_set_that_accepts_it(instrument: Instrument) -> None:
    line = make.Line(instrument=instrument, count_sheet__instrument_set__code="TS-7")
    other = make.Instrument(spares_on_hand=3)
    line.substitutes.add(other)
    last = sources_for(instrument, None, soon())[-1]
    assert (last.number, last.count, "accepted on TS-7" in last.words) == (
        other.item_number, 3, True
    )  # fmt: skip


def test_a_substitute_of_another_set_is_not_accepted_here(instrument: Instrument) -> None:
    make.Line(instrument=instrument).substitutes.add(make.Instrument(spares_on_hand=3))
    here = make.Line(instrument=instrument).count_sheet.instrument_set
    assert sources_for(instrument, None, soon(), missing_from=here)[-1].answer == "none"


@pytest.mark.parametrize("typed", ["Metz", "metzembaum", "sissors", "metzenbam sicssors"])
def test_the_spelling_is_forgiven(instrument: Instrument, typed: str) -> None:
    make.Instrument(name="Bone mallet")
    found = find(typed)
    assert found.one == instrument or list(found.instruments) == [instrument]


@pytest.mark.parametrize("typed", ["xylophone", "zz", "????"])
def test_nothing_alike_is_nothing(instrument: Instrument, typed: str) -> None:
    assert find(typed).nothing


def test_a_scanned_package_leads_to_the_lines_of_its_set(technician: Client) -> None:
    package = at.signed(at.a_build(at.a_set("TS-9")))
    page = technician.get("/requests/ask/", {"q": package.code})
    assert (page.context["opened"].code, len(page.context["lines"])) == ("TS-9", 2)
