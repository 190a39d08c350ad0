"""The loads' pages: begun, filled by scan, started, released; and what a package says of it."""

from __future__ import annotations

import re

import pytest
from django.test import Client

from assembly.models import Load, Package
from assembly.packages import shelf
from assembly.packages.standing import load_of
from assembly.sterilizing import gathering
from catalog.models import Instrument
from tests.factories import bench as at
from tests.factories import loads
from tests.factories import requests as ask

pytestmark = pytest.mark.django_db


@pytest.fixture
def package(instrument: Instrument) -> Package:
    return ask.a_package(instrument)


def press(client: Client, load: Load, act: str, **sent: str) -> str:
    answer = client.post(f"/loads/{load.pk}/act/", {"act": act, "key": at.key(), **sent},
                         follow=True)  # fmt: skip
    return answer.content.decode()


def answered(**answers: str) -> dict[str, str]:
    given = loads.all_yes(**answers)
    return {f"check:{key}": answer for key, answer in given.items()} | {"asked": list(given)}  # type: ignore[dict-item]


def begin(client: Client, cycle: str) -> str:
    sterilizer, programme = loads.a_sterilizer(), loads.a_programme()
    sent = {"sterilizer": sterilizer.code, "programme": programme.code, "cycle": cycle}
    answer = client.post("/loads/begin/", {**sent, "key": at.key()}, follow=True)
    return answer.content.decode()


def test_a_load_is_begun_from_its_sterilizer(technician: Client) -> None:
    assert "What goes in?" in begin(technician, "17")


@pytest.mark.parametrize("cycle", ["", "4a", "١٢", "12345678"])
def test_a_cycle_that_is_none_is_read_back(technician: Client, cycle: str) -> None:
    said = re.sub("</?bdi>", "", begin(technician, cycle))
    assert f"“{cycle}” is no cycle number" in said


def test_without_a_sterilizer_it_says_where_one_is_added(technician: Client) -> None:
    assert "No sterilizer is on record" in technician.get("/loads/").content.decode()


def test_a_scan_puts_a_package_in(technician: Client, package: Package) -> None:
    load = loads.a_load()
    Load.objects.update(programme=package.method)
    sent, script = {"words": package.code.lower(), "key": at.key()}, {"HX-Request": "true"}
    page = technician.post(f"/loads/{load.pk}/", sent, headers=script).content.decode()
    assert load_of(package) == load
    assert re.findall(r'id="(said|start|inside)"', page) == ["said", "start", "inside"]
    assert "Start: 1 package" in page and "<html" not in page  # its parts alone


def test_a_scan_into_a_load_that_runs_meanwhile_gets_the_page(
    technician: Client, package: Package
) -> None:
    load = loads.a_load(package)
    gathering.start(at.person(), load.pk, at.key())
    sent, script = {"words": package.code, "key": at.key()}, {"HX-Request": "true"}
    page = technician.post(f"/loads/{load.pk}/", sent, headers=script).content.decode()
    assert "<html" in page and 'id="start"' not in page


def test_a_scan_that_is_refused_says_why(technician: Client, package: Package) -> None:
    load = loads.a_load()
    Load.objects.update(runs={**load.runs, "temperature_c": 121})
    answer = technician.post(f"/loads/{load.pk}/", {"words": package.code, "key": at.key()})
    assert f"{package.code} is packed for" in answer.content.decode()


def test_started_it_asks_before_the_release(technician: Client, package: Package) -> None:
    load = loads.a_load(package)
    assert "Before it is released" in press(technician, load, "start")


def test_all_answered_it_is_released(technician: Client, package: Package) -> None:
    load = loads.running(package)
    press(technician, load, "release", biological="none", **answered())
    load.refresh_from_db()
    assert load.state == "released"


def test_refused_it_keeps_what_was_answered(technician: Client, package: Package) -> None:
    page = press(technician, loads.running(package), "release", biological="not read",
                 **answered(implant="yes"))  # fmt: skip
    assert 'value="not read" checked' in page


def test_a_package_page_offers_the_load_being_gathered(
    technician: Client, package: Package
) -> None:
    load = loads.a_load()
    Load.objects.update(programme=package.method)
    page = technician.get(f"/packages/{package.code}/").content.decode()
    assert f"Put it into load {load}" in page


def test_a_package_page_says_that_it_is_not_sterile(technician: Client, package: Package) -> None:
    assert "it was not sterilized" in technician.get(f"/packages/{package.code}/").content.decode()


def test_a_recalled_load_names_what_went_out(technician: Client, package: Package) -> None:
    load = loads.released(package)
    shelf.hand_over(at.person(), package, "OR 3", at.key())
    page = press(technician, load, "recall", reason="indicator grew")
    assert "Recalled, went to OR 3" in page


def test_a_press_that_is_none_is_said(technician: Client, package: Package) -> None:
    assert "nothing this page does" in press(technician, loads.a_load(package), "bake")


def test_what_serves_only_just_says_so(technician: Client, package: Package) -> None:
    package.instrument.cycles.update(exposure_max=None)
    load, packed = loads.a_load(), ask.a_package(package.instrument)
    answer = technician.post(f"/loads/{load.pk}/", {"words": packed.code, "key": at.key()})
    assert "no maximum exposure, this gives 4" in answer.content.decode()


def test_the_record_is_typed_and_held_against_the_cycle(
    technician: Client, package: Package
) -> None:
    load = loads.running(package)
    typed = {"least_c": "134,1", "exposure_min": "4", "drying_min": "12"}
    page = press(technician, load, "release", biological="none", **typed, **answered())
    assert "Drying 12 min, the cycle asks 20 min" in page and 'value="134,1"' in page
    press(technician, load, "release", biological="none", why="dried on the cart", **typed,
          **answered())  # fmt: skip
    load.refresh_from_db()
    assert (load.state, load.record["least_c"]) == ("released", 134.1)


@pytest.mark.parametrize(
    ("name", "text", "words"),
    [
        ("ended", "half past", "“half past” is no time of day. Write it as 21:42."),
        ("least_c", "warm", "“warm” is no number"),
    ],
)
def test_a_reading_that_is_none_is_read_back(
    technician: Client, package: Package, name: str, text: str, words: str
) -> None:
    load = loads.running(package)
    sent = answered() | {name: text}
    assert words in press(technician, load, "release", biological="none", **sent)


def test_a_wet_package_is_named_by_one_press(technician: Client, package: Package) -> None:
    load = loads.running(package)
    page = press(technician, load, "wet", words=package.code, cause="dripped")
    assert "Wet, and not to be used" in page and "dripped on from above" in page


def test_the_numbers_that_the_sterilizer_shows_are_sent_with_the_start(
    technician: Client, package: Package
) -> None:
    load = loads.a_load(package)
    press(technician, load, "start", cycle="812", number="4007")
    load.refresh_from_db()
    assert (load.cycle, load.number) == (812, 4007)
