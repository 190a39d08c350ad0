"""Every field that finds something, with everything that may be scanned or typed into it.

The same input means the same thing everywhere. A field that wants packages alone refuses
the rest in words; a guess is listed and never taken.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta
from http.cookies import SimpleCookie
from typing import Any

import pytest
from django.contrib.messages import get_messages
from django.db import transaction
from django.test import Client
from django.utils import timezone

from assembly.bench.tally import tally_of
from assembly.consequences.policy_actions import override_value
from assembly.models import Build, Load, Package, Request
from assembly.persons import person_of
from assembly.requests import working
from catalog.actions import Actor, add_identifier
from catalog.models import CountSheet, InstrumentSet, Line
from catalog.scans.scanning import read_scan
from tests.conftest import kept_meanwhile, user_in
from tests.factories import bench as at
from tests.factories import catalog as make
from tests.factories import loads
from tests.factories import requests as ask

pytestmark = [pytest.mark.django_db, pytest.mark.xdist_group("fields that find")]

GTIN = "09501101530003"  # GS1 DataMatrix guideline, its example
HIBC = "+A123BJC5D6E71G"  # hibcc.org's example of a primary code
OUR_PREFIX = "0614141"  # the example company prefix of GS1's documents
PATIENT = "(8018)123456789012345675"
HTMX = {"headers": {"HX-Request": "true"}}


@dataclass(frozen=True)
class Room:
    """A needle holder in a set being assembled, in a draft, and packed singly."""

    client: Client
    package: Package
    build: Build
    load: Load
    request: Request

    def draft(self) -> CountSheet:
        return CountSheet.objects.get(state="draft")


@pytest.fixture(scope="module")
def made(django_db_setup: None, django_db_blocker: Any) -> Iterator[Room]:
    with kept_meanwhile(django_db_blocker):
        yield _made()


@pytest.fixture
def room(made: Room) -> Room:
    """With a browser that has seen nothing yet."""
    client = Client()
    client.cookies = SimpleCookie(made.client.cookies.output(header="", sep=";"))
    return replace(made, client=client)


def _made() -> Room:
    user, client = user_in("coordinator"), Client()
    client.force_login(user)
    bea = Actor("bea", reason="issued to us")
    holder = make.Instrument(
        item_number="T-1", name="Needle holder, Mayo-Hegar 180 mm", also_known_as="stitcher",
        length_mm=180,
    )  # fmt: skip
    make.Instrument(item_number="T-2", name="Bone mallet")
    for code in (f"(01){GTIN}", HIBC):
        add_identifier(bea, holder, read_scan(code).identifiers[0], "on the instrument")
    override_value(bea, "gs1_company_prefix", OUR_PREFIX, since=date(2020, 1, 1), source="GS1")
    one = at.a_set("TS-1")
    Line.objects.filter(count_sheet=one.current, order=1).update(instrument=holder)
    make.CountSheet(instrument_set=one, revision=2, state="draft")
    package, request = ask.a_package(holder), ask.a_request(holder)
    working.take(person_of(user), request.pk, at.key())
    return Room(client, package, at.a_build(one, person_of(user)), loads.a_load(), request)


# --- the fields: each answers "takes", "lists", or the sentence that refuses -----------


def shown(things: Any, said: str) -> str:
    return "lists" if [str(one.item_number) for one in things] == ["T-1"] else said


def anywhere(room: Room, words: str) -> str:
    answer = room.client.get("/find/", {"q": words})
    if answer.status_code == 302:
        return "takes" if answer["Location"] == "/instruments/T-1/" else answer["Location"]
    return shown(answer.context["found"].instruments, answer.context["found"].problem)


def instrument_list(room: Room, words: str) -> str:
    answer = room.client.get("/instruments/", {"q": words})
    return shown(
        [row.record for row in answer.context["table"].rows], answer.context["filter"].said
    )


def editor_find(room: Room, words: str) -> str:
    answer = room.client.get("/sets/TS-1/count-sheets/2/find/", {"q": words})
    return shown(answer.context["offered"], answer.context["found"].problem)


def editor_add(room: Room, words: str) -> str:
    sent = {"do": "add", "q": words}
    answer = room.client.post("/sets/TS-1/count-sheets/2/edit/", sent, **HTMX)  # type: ignore[arg-type]
    if room.draft().lines.filter(instrument__item_number="T-1").exists():
        return "takes"
    return shown(answer.context["outcome"].offered, answer.context["outcome"].said)


def editor_stand_in(room: Room, words: str) -> str:
    line = make.Line(count_sheet=room.draft())
    sent = {"do": "stand_in", "line": line.pk, "q": words}
    answer = room.client.post("/sets/TS-1/count-sheets/2/edit/", sent, **HTMX)  # type: ignore[arg-type]
    if line.substitutes.filter(item_number="T-1").exists():
        return "takes"
    return shown(answer.context["outcome"].offered, answer.context["outcome"].said)


def asking(room: Room, words: str) -> str:
    answer = room.client.get("/requests/find/", {"q": words})
    return shown(answer.context["instruments"], answer.context["found"].problem)


def something_was_wrong(room: Room, words: str) -> str:
    answer = room.client.get("/wrong/", {"q": words})
    if answer.status_code == 302:
        return answer["Location"]
    found = answer.context["found"]
    return shown([found.one] if found.one else found.instruments, found.problem)


def counting(room: Room, words: str) -> str:
    answer = room.client.post(
        f"/builds/{room.build.pk}/scan/", {"words": words, "key": at.key()}, **HTMX
    )  # type: ignore[arg-type]
    said = answer.context["said"]
    if tally_of(room.build).inside:
        return "takes"
    return "marks" if [offer.act for offer in said.offers] == ["count"] else said.words


def level(room: Room, words: str) -> str:
    return said_of(room, "/shelf/level/", {"item": words, "low": "3"}) or "takes"


def said_of(room: Room, address: str, sent: dict[str, str]) -> str:
    """What the next page says of what was sent."""
    answer = room.client.post(address, sent)
    room.client.cookies.pop("messages", None)  # no page takes it from there
    return " ".join(map(str, get_messages(answer.wsgi_request)))


def at_the_shelf(room: Room, words: str) -> str:
    """The package was released, see ``answers``."""
    answer = room.client.post("/shelf/", {"words": words, "key": at.key()})
    said = answer.context["said"].words
    return "takes" if "where to? Scan the place." in said else said


def loading(room: Room, words: str) -> str:
    answer = room.client.post(f"/loads/{room.load.pk}/", {"words": words, "key": at.key()})
    said = answer.context["said"]
    return said.words if said.tone == "wrong" else "takes"


def tying(room: Room, words: str) -> str:
    sent = {"act": "add", "words": words, "key": at.key()}
    said = said_of(room, f"/requests/{room.request.pk}/act/", sent)
    return "takes" if room.request.ties.exists() else said


Field = Callable[[Room, str], str]
TAKES: tuple[Field, ...] = (anywhere, editor_add, editor_stand_in, counting)
LISTS: tuple[Field, ...] = (instrument_list, editor_find, asking, something_was_wrong)
PACKAGES: tuple[Field, ...] = (at_the_shelf, loading, tying)


def answers(room: Room, field: Field, inputs: Mapping[str, str]) -> dict[str, str]:
    """What a field answers to each input, everything as it was before each."""
    found = {}
    if field is at_the_shelf:
        loads.released(room.package)
    for name, words in inputs.items():
        with transaction.atomic():
            found[name] = field(room, words)
            transaction.set_rollback(True)
    return found


def named(*fields: Field) -> Any:
    return pytest.mark.parametrize("field", fields, ids=lambda field: field.__name__)


# --- the inputs ------------------------------------------------------------------------

CODES = {
    "own code": "t-1",
    "plain Data Matrix mark": "]d1T-1",
    "plain Code 128 mark": "]C0T-1",
    "GS1-128 mark": "]C1T-1",
    "DataBar mark": "]e0T-1",
    "Code 39 mark and stars": "]A0*T-1*",
    "Code 39 stars": "*T-1*",
    "line end": "T-1\r\n",
    "GTIN": GTIN,
    "GS1 with date and lot": f"]d201{GTIN}1727063010A213B1\x1d211234",
    "HIBC": HIBC,
    "HIBC in Code 39": f"*{HIBC}*",
    "our prefix": f"]d28004{OUR_PREFIX}T-1",
    "our prefix, no mark": f"8004{OUR_PREFIX}T-1",
    "our prefix as printed": f"(8004) {OUR_PREFIX}T-1",
}
WORDS = {"nickname": "stitcher", "name": "mayo-hegar", "other order": "hegar holder needle"}
GUESSES = {
    "synonym": "needle driver",
    "misspelled": "neddle holdr",
    "misspelled nickname": "sticher",
    "a word too many": "mayo needle grabber",
}
LABELS = {
    "as printed": "{}",
    "plain Data Matrix mark": "]d1{}",
    "plain Code 128 mark and line end": "]C0{}\r",
    "Code 39 stars": "*{}*",
    "our prefix": "]d28004" + OUR_PREFIX + "{}",
}


def labels(room: Room) -> dict[str, str]:
    return {name: form.format(room.package.code) for name, form in LABELS.items()}


def all_say(inputs: Mapping[str, str], answer: str) -> dict[str, str]:
    return dict.fromkeys(inputs, answer)


@named(*TAKES, level)
def test_a_code_is_taken(room: Room, field: Field) -> None:
    assert answers(room, field, CODES) == all_say(CODES, "takes")


@named(*LISTS)
def test_a_code_is_shown(room: Room, field: Field) -> None:
    assert answers(room, field, CODES) == all_say(CODES, "lists")


@named(*PACKAGES)
def test_an_instruments_code_is_no_package(room: Room, field: Field) -> None:
    found = answers(room, field, CODES | WORDS | GUESSES)
    assert [name for name, said in found.items() if "Scan the package's label." not in said] == []


@named(anywhere, editor_add, editor_stand_in)
def test_words_that_fit_one_thing_take_it(room: Room, field: Field) -> None:
    assert answers(room, field, WORDS) == all_say(WORDS, "takes")


def test_letters_mark_a_line_and_count_nothing(room: Room) -> None:
    assert answers(room, counting, WORDS) == all_say(WORDS, "marks")


@named(*LISTS)
def test_words_show_what_they_fit(room: Room, field: Field) -> None:
    assert answers(room, field, WORDS | GUESSES) == all_say(WORDS | GUESSES, "lists")


@named(anywhere, editor_add, editor_stand_in)
def test_a_guess_is_listed_and_never_taken(room: Room, field: Field) -> None:
    assert answers(room, field, GUESSES) == all_say(GUESSES, "lists")


@named(counting, level)
def test_a_guess_counts_nothing(room: Room, field: Field) -> None:
    found = answers(room, field, GUESSES)
    assert [name for name, said in found.items() if "Nothing was c" not in said] == []


@named(*PACKAGES)
def test_a_package_is_taken_where_packages_are_wanted(room: Room, field: Field) -> None:
    assert answers(room, field, labels(room)) == all_say(LABELS, "takes")


def test_a_package_opens_from_the_head(room: Room) -> None:
    assert answers(room, anywhere, labels(room)) == all_say(
        LABELS, f"/packages/{room.package.code}/"
    )


def test_a_package_opens_where_something_was_wrong(room: Room) -> None:
    there = f"/packages/{room.package.code}/?wrong=1#wrong"
    assert answers(room, something_was_wrong, labels(room)) == all_say(LABELS, there)


def test_a_package_shows_what_is_in_it_where_something_is_asked_for(room: Room) -> None:
    assert answers(room, asking, labels(room)) == all_say(LABELS, "lists")


@named(instrument_list, editor_find, editor_add, editor_stand_in, counting)
def test_a_package_is_no_instrument(room: Room, field: Field) -> None:
    found = answers(room, field, labels(room))
    assert [name for name, said in found.items() if "label of" not in said] == []


@named(*TAKES, *LISTS, *PACKAGES)
def test_what_is_wrong_with_a_code_is_said(room: Room, field: Field) -> None:
    code = room.package.code
    wrong = {
        "misread": code[:-1] + ("0" if code[-1] != "0" else "1"),
        "wrong check digit": f"]d201{GTIN[:-1]}4",
        "This code identifies a patient": PATIENT,
    }
    found = answers(room, field, wrong)
    kept = {name for name, said in found.items() if name in said or "is the label of" in said}
    assert kept == set(wrong)


@pytest.mark.parametrize(
    ("address", "name"),
    [("/find/", "q"), ("/instruments/", "q"), ("/sets/", "q"), ("/requests/ask/", "q"),
     ("/requests/day/", "q"), ("/wrong/", "q"), ("/sets/TS-1/count-sheets/2/find/", "q")],
)  # fmt: skip
def test_a_patients_code_is_not_shown_again(room: Room, address: str, name: str) -> None:
    page = room.client.get(address, {name: PATIENT}).content.decode()
    assert "123456789012345675" not in page


@pytest.mark.parametrize("words", ["TS-1", "]d1TS-1", "*ts-1*\r", f"]d28004{OUR_PREFIX}TS-1"])
def test_a_set_is_found_by_its_code_in_its_list(room: Room, words: str) -> None:
    rows = room.client.get("/sets/", {"q": words}).context["table"].rows
    assert [row.record.code for row in rows] == ["TS-1"]


@pytest.mark.parametrize("words", ["TS-1", "]d1TS-1", "*ts-1*\r", f"]d28004{OUR_PREFIX}TS-1"])
def test_a_set_is_needed_by_its_code(room: Room, words: str) -> None:
    tomorrow = timezone.localtime() + timedelta(days=1)
    sent = {"code": words, "time": f"{tomorrow:%Y-%m-%dT%H:%M}"}
    room.client.post("/shelf/need/", sent)
    assert InstrumentSet.objects.get(needs__isnull=False).code == "TS-1"


@pytest.mark.parametrize("words", ["A1", "]d1a1", "*A1*\r"])
def test_a_place_is_scanned_at_the_shelf(room: Room, words: str) -> None:
    ask.a_place("A1")
    answer = room.client.post("/shelf/", {"words": words, "key": at.key()})
    assert answer.context["place"].code == "A1"


def test_a_label_with_a_prefix_of_earlier_days_is_still_read(room: Room) -> None:
    bea = Actor("bea", reason="merged")
    override_value(bea, "gs1_company_prefix", "9501101", since=date(2021, 1, 1), source="GS1")
    assert anywhere(room, f"]d28004{OUR_PREFIX}T-1") == "takes"


def test_a_code_that_is_marked_wrongly_sends_to_the_scanner_test(room: Room) -> None:
    assert "Set the scanner: see Scanner test." in anywhere(room, "]C1HF-1042")


def test_a_lot_without_a_number_says_what_to_scan(room: Room) -> None:
    assert "no number of the instrument in it, only lot A213B1" in anywhere(room, "]d210A213B1")


def test_a_serial_lost_in_a_lot_is_named(room: Room) -> None:
    other = "51022222233336"
    assert "Separator missing?" in anywhere(room, f"]d201{other}10A213B1211234")
