"""The one page of a single package as a form alone: what it does without any script."""

from __future__ import annotations

import re
from datetime import date
from typing import Any

import pypdfium2
import pytest
import zxingcpp
from django.contrib.auth.models import User
from django.http import HttpResponse
from django.test import Client

from assembly.consequences.policy_actions import override_value
from assembly.models import Package, Proposal, Repair
from assembly.packages.standing import Word, standing_of
from assembly.questions import proposing
from catalog.actions import Actor
from catalog.models import Instrument
from reports.drawing.fitting import PrintRefused
from reports.drawing.stocks import Stock
from reports.pages import before_recording
from tests.conftest import user_in
from tests.factories import bench as at
from tests.factories import catalog as make

pytestmark = pytest.mark.django_db
PASSWORD = "for-the-tests"
PATH = "/instruments/T-1/"


def text(answer: HttpResponse) -> str:
    return re.sub(r"\s+", " ", answer.content.decode())


def words_on(pdf: bytes) -> str:
    page = pypdfium2.PdfDocument(pdf)[0].get_textpage().get_text_range()
    return re.sub(r"\s+", " ", page)


@pytest.fixture(autouse=True)
def instrument(db: None) -> Instrument:
    make.Pouch(code="P-150", seal_temperature_c=180)
    made: Instrument = make.Instrument(item_number="T-1", hollow=False, parts_apart="")
    return made


def fields(client: Client, path: str = PATH) -> dict[str, list[str]]:
    """The checks that the page asks, all and by their groups."""
    found: dict[str, list[str]] = {}
    page = client.get(path).content.decode()
    for name, value in re.findall(r'name="(asked|of:\w+)" value="([^"]+)"', page):
        found.setdefault(name, []).append(value)
    return found


def post(client: Client, path: str = PATH, **form: Any) -> HttpResponse:
    """The press of the last group, the piece looked at before it."""
    asked = fields(client, path)
    looked_at = {f"check:{key}": "yes" for key in asked.get("of:piece", [])}
    given = {"key": at.key(), "take": "pouch:P-150", "group": "package", **asked, **looked_at}
    return client.post(path, {**given, **form})


class TestPressing:
    def test_the_press_of_the_last_group_records_it_and_leads_to_its_label(
        self, technician: Client
    ) -> None:
        answer = post(technician)
        assert answer["Location"] == f"/packages/{Package.objects.get().code}/?print=1"

    def test_what_has_no_label_on_this_workstations_stock_is_not_recorded(
        self, technician: Client, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """With another stock in its printer it is."""
        tried: list[str] = []

        def fitting(package: Package, on: Stock, **_: Any) -> None:
            tried.append(on.key)
            if on.key == "roll-70x35":
                raise PrintRefused("contents", "the words do not fit. Use a larger label.")

        monkeypatch.setattr(before_recording, "fitting_label", fitting)
        technician.cookies["stock"] = "roll-70x35"
        answer = post(technician, copies=2)
        assert answer.status_code == 422
        assert "Its label cannot be printed. Contents: the words do not fit." in text(answer)
        assert not Package.objects.exists()
        technician.cookies["stock"] = "label-100x50"
        post(technician, copies=2)
        assert (Package.objects.count(), tried) == (2, ["roll-70x35", "label-100x50"])

    def test_where_the_stock_was_taken_out_of_use_nothing_is_recorded(
        self, technician: Client
    ) -> None:
        technician.cookies["stock"] = "papyrus"
        assert "“papyrus” is no label stock in use here. Choose" in text(post(technician))
        assert not Package.objects.exists()

    def test_a_stock_with_no_place_on_the_film_is_said_before_a_check_with_those_that_have_one(
        self, technician: Client
    ) -> None:
        technician.cookies["stock"] = "roll-100x60"
        assert technician.get(PATH).context["no_place"] is None
        override_value(Actor("bea", reason="tried"), "label_film_share", 0.2,
                       since=date(2026, 1, 1), source="SOP 7")  # fmt: skip
        page = technician.get(PATH)
        assert "would cover more than 20% of its film" in text(page)
        assert "Roll, 100 x 60 mm is wider than the pouch" in text(page)
        assert "roll-50x25" in dict(page.context["no_place"].fit)
        kept = {"stock": "roll-50x25", "next": PATH}
        technician.post("/papers/keep/", kept)
        assert technician.get(PATH).context["no_place"] is None

    @pytest.mark.parametrize(
        ("name", "said"),
        [
            ("Scissors \u2702\ufe0f sh\u00adarp", "Scissors \u2702 sharp"),
            ("\u16a0\u16a2", "T-1 [?]"),
            ("x" * 90, "x" * 90),
        ],
    )
    def test_whatever_its_name_a_package_has_its_label(
        self, technician: Client, instrument: Instrument, name: str, said: str
    ) -> None:
        Instrument.objects.update(name=name)
        post(technician)
        label = technician.get(f"/packages/{Package.objects.get().code}/label.pdf").content
        assert said.replace(" ", "") in words_on(label).replace(" ", "")

    def test_no_press_answers_all(self, technician: Client) -> None:
        asked = fields(technician)
        form = {"key": at.key(), "take": "pouch:P-150", "group": "package", **asked}
        answer = technician.post(PATH, form)
        assert "Answer every check: Is it clean" in text(answer)
        assert not Package.objects.exists()

    def test_the_press_of_the_piece_answers_the_piece_alone(self, technician: Client) -> None:
        form = {"key": at.key(), "take": "pouch:P-150", "group": "piece", **fields(technician)}
        answer = technician.post(PATH, form)
        given = {one["key"]: one["given"] for each in answer.context["groups"]
                 for one in each["checks"]}  # fmt: skip
        assert answer.status_code == 200 and not Package.objects.exists()
        assert {key for key, word in given.items() if word == "yes"} == {"clean", "dry", "works"}

    def test_then_the_next_group_has_the_press(self, technician: Client) -> None:
        form = {"key": at.key(), "take": "pouch:P-150", "group": "piece", **fields(technician)}
        groups = technician.post(PATH, form).context["groups"]
        assert [one["key"] for one in groups if one["next"]] == ["package"]

    @pytest.mark.parametrize(
        ("key", "then"),
        [("clean", "Send it back to cleaning"), ("dry", "Dry it"), ("works", "Send it to repair"),
         ("air", "Press it out before it is closed")],
    )  # fmt: skip
    def test_a_no_says_what_to_do_and_records_nothing(
        self, technician: Client, key: str, then: str
    ) -> None:
        answer = post(technician, **{f"check:{key}": "no"})
        assert answer.status_code == 422 and then in text(answer)
        assert not Package.objects.exists()

    def test_a_check_that_the_page_did_not_show_is_not_answered(self, technician: Client) -> None:
        asked = [key for key in fields(technician)["asked"] if key != "air"]
        assert "air pressed out" in text(post(technician, asked=asked))

    def test_who_only_looks_sends_nothing(self, roles: None, client: Client) -> None:
        client.force_login(user_in("OR liaison"))
        assert client.post(PATH, {"key": at.key()}).status_code == 403

    @pytest.mark.parametrize("typed", ["abc", "2,0", "", "0"])
    def test_pieces_that_cannot_be_read_pack_nothing(self, technician: Client, typed: str) -> None:
        form = {"key": at.key(), "take": "pouch:P-150"}
        page = technician.post(f"{PATH}?pieces={typed}", form, follow=True)
        assert f"“{typed}” is no number of pieces" in page.content.decode()
        assert not Package.objects.exists()


class TestWhatItSays:
    def test_the_address_of_the_old_page_leads_here(self, technician: Client) -> None:
        answer = technician.get(f"{PATH}pack/?for=shelf")
        assert (answer.status_code, answer["Location"]) == (301, f"{PATH}?for=shelf")

    def test_the_seal_setting_is_the_pouchs_own(self, technician: Client) -> None:
        assert "Seal at 180 °C" in text(technician.get(PATH))

    def test_no_label_is_offered_for_what_is_no_package(self, technician: Client) -> None:
        assert "label.pdf" not in text(technician.get(PATH))

    def test_ordinary_forceps_are_asked_six(self, technician: Client) -> None:
        assert len(fields(technician)["asked"]) == 6

    def test_a_liaison_is_offered_to_ask_and_not_to_pack(self, roles: None, client: Client) -> None:
        client.force_login(user_in("OR liaison"))
        page = text(client.get(PATH))
        assert "/requests/ask/?item=T-1" in page and 'name="asked"' not in page

    def test_what_is_retired_is_not_packed(self, technician: Client) -> None:
        assert "Box empty?" in text(technician.get(PATH))
        Instrument.objects.update(retired=True)
        page = text(technician.get(PATH))
        assert fields(technician) == {} and "This instrument is retired." in page
        assert "Box empty?" not in page and "P-150" not in page and "Instead" not in page

    def test_an_alternative_can_be_taken(self, technician: Client) -> None:
        make.Pouch(code="P-200", outer_width_mm=200, inner_width_mm=184)
        post(technician, take="pouch:P-200")
        assert "P-200" in Package.objects.get().supply


class TestMeasureItFirst:
    @pytest.fixture(autouse=True)
    def unknown(self, instrument: Instrument) -> None:
        Instrument.objects.update(length_mm=None, width_mm=None, height_mm=None, weight_g=None)

    def test_where_nothing_is_known_the_headline_says_so(self, technician: Client) -> None:
        page = text(technician.get(PATH))
        assert '<h2 class="big">Measure it first</h2>' in page
        assert fields(technician) == {}

    def test_the_fields_to_type_it_are_there(self, technician: Client) -> None:
        assert 'name="length_mm"' in text(technician.get(PATH))

    def test_what_is_proposed_decides_nothing_and_shows_what_it_would_be(
        self, technician: Client, instrument: Instrument
    ) -> None:
        sizes = {"length_mm": 140, "width_mm": 68, "height_mm": 11, "weight_g": 40}
        proposing.propose(at.person("Ida Crow"), instrument.pk, sizes, at.key())
        page = text(technician.get(PATH))
        assert "Measure it first" in page
        assert "With what Ida Crow measured, not confirmed yet, it would be: Take pouch" in page
        assert fields(technician) == {}

    def test_what_is_not_known_is_named_before_the_label_prints(self, technician: Client) -> None:
        page = technician.get(f"{PATH}?take=pouch:P-150")
        assert any(one["status"] == "cannot tell" for one in page.context["open"])


class TestItHasNone:
    @pytest.fixture(autouse=True)
    def unknown(self, instrument: Instrument) -> None:
        Instrument.objects.update(parts_apart=None, hollow=None, hinged=None)

    @pytest.mark.parametrize(
        ("lacks", "column", "value"),
        [("hinged", "hinged", False), ("hollow", "hollow", False), ("parts", "parts_apart", "")],
    )
    def test_one_press_proposes_it(
        self, technician: Client, lacks: str, column: str, value: object
    ) -> None:
        post(technician, none=lacks)
        proposal = Proposal.objects.get()
        assert (proposal.values, proposal.state) == ({column: value}, "proposed")
        assert not Package.objects.exists()

    def test_until_a_coordinator_confirms_it_is_asked(
        self, technician: Client, instrument: Instrument
    ) -> None:
        post(technician, none="parts")
        assert "parts" in fields(technician)["asked"]
        proposing.confirm(at.person(), Proposal.objects.get().pk, at.key())
        assert "parts" not in fields(technician)["asked"]

    def test_what_was_answered_stays_answered(self, technician: Client) -> None:
        answer = post(technician, none="parts")
        piece = answer.context["groups"][0]["checks"]
        assert all(one["given"] == "yes" for one in piece if one["key"] != "lumen")


class TestToRepair:
    def test_one_press_sends_it_with_the_reason(self, technician: Client) -> None:
        answer = post(technician, repair="Bent or broken")
        repair = Repair.objects.get()
        assert (repair.item_number, repair.reason) == ("T-1", "Bent or broken")
        assert answer.status_code == 302 and not Package.objects.exists()

    def test_or_with_the_persons_own_words(self, technician: Client) -> None:
        post(technician, repair="own", damage="screw loose")
        assert Repair.objects.get().reason == "screw loose"

    def test_without_any_words_it_is_refused(self, technician: Client) -> None:
        answer = post(technician, repair="own", damage=" ")
        assert "Say what is wrong with it" in text(answer)
        assert not Repair.objects.exists()

    def test_sent_twice_it_is_one(self, technician: Client) -> None:
        for _ in range(2):
            post(technician, repair="Bent or broken", key="one-form-sent-twice")
        assert Repair.objects.count() == 1


class TestOverriding:
    def refused(self, client: Client, reason: str, **form: object) -> HttpResponse:
        """A pouch that is too narrow, each finding on the page accepted for this reason."""
        make.Pouch(code="P-75", outer_width_mm=75, inner_width_mm=59)
        path = f"{PATH}?take=pouch:P-75"
        keys = [one["key"] for one in client.get(path).context["open"]]
        given = {f"because:{key}": reason for key in keys}
        return post(client, path, take="pouch:P-75", accept=keys, **given, **form)

    def test_a_technician_alone_does_not(self, technician: Client) -> None:
        self.refused(technician, "none left")
        assert not Package.objects.exists()

    def test_a_coordinator_does_with_a_reason(self, coordinator: Client) -> None:
        self.refused(coordinator, "none left")
        assert Package.objects.get().override_reason == "none left"

    def test_a_coordinator_without_a_reason_does_not(self, coordinator: Client) -> None:
        self.refused(coordinator, "")
        assert not Package.objects.exists()

    def test_a_coordinator_signs_at_the_technicians_bench(self, technician: Client) -> None:
        user_in("coordinator")
        self.refused(technician, "none left", override_name="a-coordinator",
                     override_password=PASSWORD)  # fmt: skip
        assert Package.objects.get().override_by == "a-coordinator"

    @pytest.mark.parametrize(("name", "word"), [("a-coordinator", "wrong"), ("a-tech2", PASSWORD)])
    def test_nobody_else_signs_for_a_coordinator(
        self, technician: Client, name: str, word: str
    ) -> None:
        user_in("coordinator")
        User.objects.create_user("a-tech2", password=PASSWORD)
        self.refused(technician, "none left", override_name=name, override_password=word)
        assert not Package.objects.exists()


class TestItsPackage:
    @pytest.fixture
    def code(self, technician: Client) -> str:
        post(technician)
        return Package.objects.get().code

    def test_it_waits_for_its_seal(self, code: str) -> None:
        assert standing_of(Package.objects.get()).word == Word.UNSEALED

    def test_its_label_reads_back_as_the_package(self, technician: Client, code: str) -> None:
        pdf = technician.get(f"/packages/{code}/label.pdf").content
        image = pypdfium2.PdfDocument(pdf)[0].render(scale=300 / 72).to_pil()
        assert [found.text for found in zxingcpp.read_barcodes(image)] == [code]

    def test_scanned_anywhere_it_opens(self, technician: Client, code: str) -> None:
        assert technician.get(f"/find/?q={code}")["Location"] == f"/packages/{code}/"

    def test_void_it_says_so_on_its_page(self, technician: Client, code: str) -> None:
        page = technician.post(f"/packages/{code}/void/", {"reason": "seal torn"}, follow=True)
        assert "Do not use this package" in text(page)

    def test_void_it_says_so_on_its_label(self, technician: Client, code: str) -> None:
        technician.post(f"/packages/{code}/void/", {"reason": "seal torn"})
        assert "VOID" in words_on(technician.get(f"/packages/{code}/label.pdf").content)


def test_what_is_passed_over_is_put_into_words_when_it_is_opened(technician: Client) -> None:
    make.Instrument(item_number="PO-1")
    for code, length in (("SHORT", 100), ("FITS", 255)):
        make.Pouch(code=code, outer_length_mm=300, inner_length_mm=length)
    page = technician.get("/instruments/PO-1/?pieces=1").content.decode()
    assert 'hx-get="/instruments/PO-1/passed-over/?pieces=1"' in page
    assert "Passed over: 1 supply, with every reason" in page
    assert "Reasons" not in page
    opened = technician.get("/instruments/PO-1/passed-over/?pieces=1").content.decode()
    assert "pouch SHORT" in opened and "Too short" in opened and "pouch FITS" not in opened
