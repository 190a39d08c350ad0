"""The pages of the bench as forms alone: what they do without any script."""

from __future__ import annotations

import re
from datetime import date

import pypdfium2
import pytest
import zxingcpp
from django.contrib.auth.models import User
from django.http import HttpResponse
from django.test import Client

from assembly.bench import builds, signing
from assembly.bench.tally import tally_of
from assembly.judging.policy_actions import override_value
from assembly.models import Build, Package
from assembly.persons import person_of
from catalog.actions import Actor
from catalog.models import CycleOption, Instrument
from tests.conftest import user_in
from tests.factories import bench as at
from tests.factories import catalog as make

pytestmark = pytest.mark.django_db
PASSWORD = "for-the-tests"


def text(answer: HttpResponse) -> str:
    return re.sub(r"\s+", " ", answer.content.decode())


def words_on(pdf: bytes) -> str:
    page = pypdfium2.PdfDocument(pdf)[0].get_textpage().get_text_range()
    return re.sub(r"\s+", " ", page)


def me() -> User:
    return User.objects.get(username="a-technician")


def checks_on(client: Client, path: str) -> list[str]:
    return re.findall(r'name="asked" value="([^"]+)"', client.get(path).content.decode())


class TestCounting:
    def test_a_scan_without_a_script_counts(self, technician: Client) -> None:
        at.a_set()
        page = technician.post("/sets/TS-1/build/", {"key": at.key()}, follow=True)
        build = Build.objects.get()
        technician.post(f"/builds/{build.pk}/scan/", {"words": "TS-1-1", "key": at.key()})
        assert (page.status_code, tally_of(build).inside) == (200, 1)

    def test_the_same_form_sent_twice_counts_once(self, technician: Client) -> None:
        build = at.a_build(at.a_set(), person_of(me()))
        form = {"words": "TS-1-2", "key": "one-form-sent-twice"}
        for _ in range(2):
            technician.post(f"/builds/{build.pk}/scan/", form)
        assert tally_of(build).inside == 1

    def weigh(self, client: Client, build: Build, reading: str, unit: str) -> str:
        container = build.instrument_set.container
        assert container
        form = {"act": "weigh", "reading": reading, "unit": unit, "key": at.key(),
                "weighed_in": container.code}  # fmt: skip
        return client.post(f"/builds/{build.pk}/act/", form, follow=True).content.decode()

    @pytest.mark.parametrize(
        ("reading", "unit", "grams"),
        [("4320", "g", 4320), ("4,32", "kg", 4320), ("9.5", "lb", 4309.1), ("4.3 kg", "g", 4300)],
    )
    def test_a_reading_is_taken_in_the_unit_of_the_scale(
        self, technician: Client, reading: str, unit: str, grams: float
    ) -> None:
        """A pound is 453.59237 g (international yard and pound agreement 1959)."""
        build = at.a_build(at.a_set(), person_of(me()))
        self.weigh(technician, build, reading, unit)
        assert tally_of(build).reading_g == grams

    @pytest.mark.parametrize(
        ("reading", "unit"), [("14,470", "kg"), ("14.5", ""), ("14.5", "stone"), ("", "kg")]
    )
    def test_one_without_a_clear_unit_or_number_is_refused(
        self, technician: Client, reading: str, unit: str
    ) -> None:
        build = at.a_build(at.a_set(), person_of(me()))
        self.weigh(technician, build, reading, unit)
        assert tally_of(build).reading_g is None

    def test_the_unit_is_remembered(self, technician: Client) -> None:
        build = at.a_build(at.a_set(), person_of(me()))
        assert '<option value="kg" selected>' in self.weigh(technician, build, "4.32", "kg")

    def test_a_slip_of_the_unit_is_said_on_the_page(self, technician: Client) -> None:
        build = at.a_build(at.a_set(), person_of(me()))
        at.complete(build, person_of(me()))
        assert "Unit or scale?" in self.weigh(technician, build, "4.3", "g")

    def test_the_page_names_the_protector_of_a_line(self, technician: Client) -> None:
        build = at.a_build(at.a_set(), person_of(me()))
        Instrument.objects.update(protector="vented, small")
        page = technician.get(f"/builds/{build.pk}/").content.decode()
        assert "protector vented, small" in " ".join(page.split())

    def test_every_form_on_the_page_has_a_key_of_its_own(self, technician: Client) -> None:
        build = at.a_build(at.a_set(), person_of(me()))
        page = technician.get(f"/builds/{build.pk}/").content.decode()
        keys = re.findall(r'name="key" value="(\w+)"', page)
        assert len(keys) > 4 and len(set(keys)) == len(keys)

    def test_a_partial_request_gets_the_counted_part_alone(self, technician: Client) -> None:
        build = at.a_build(at.a_set(), person_of(me()))
        answer = technician.post(
            f"/builds/{build.pk}/scan/", {"words": "TS-1-1", "key": at.key()},
            headers={"hx-request": "true"},
        )  # fmt: skip
        assert answer.content.lstrip().startswith(b'<div id="said"')

    def test_who_does_not_hold_it_counts_nothing(self, technician: Client) -> None:
        build = at.a_build()
        technician.post(f"/builds/{build.pk}/scan/", {"words": "TS-1-1", "key": at.key()})
        assert tally_of(build).inside == 0

    def test_who_does_not_hold_it_sees_who_does(self, technician: Client) -> None:
        build = at.a_build()
        assert "Tam Birkett holds this set" in text(technician.get(f"/builds/{build.pk}/"))

    def test_the_holder_sees_who_asks(self, technician: Client) -> None:
        build = at.a_build(at.a_set(), person_of(me()))
        builds.ask_for(at.person("Ida Crow"), build.pk, at.key())
        assert "Ida Crow asks for this set" in text(technician.get(f"/builds/{build.pk}/"))

    def test_where_nothing_happened_nothing_is_sent(self, technician: Client) -> None:
        build = at.a_build(at.a_set(), person_of(me()))
        seen = tally_of(build).seen
        path = f"/builds/{build.pk}/now/?seen={seen}&held={build.holder_id}"
        assert technician.get(path).status_code == 204

    def test_what_another_device_counted_is_sent(self, technician: Client) -> None:
        build = at.a_build(at.a_set(), person_of(me()))
        seen = tally_of(build).seen
        builds.count(person_of(me()), build.pk, tally_of(build).lines[0].line.pk, 1, at.key())
        path = f"/builds/{build.pk}/now/?seen={seen}&held={build.holder_id}"
        assert technician.get(path).status_code == 200

    def test_a_damaged_piece_takes_the_persons_own_words(self, technician: Client) -> None:
        build = at.a_build(at.a_set(), person_of(me()))
        technician.post(
            f"/builds/{build.pk}/act/",
            {"act": "damaged", "line": tally_of(build).lines[0].line.pk, "key": at.key(),
             "reason": "Bent or broken", "other": "screw loose"},
        )  # fmt: skip
        assert tally_of(build).events[-1].reason == "screw loose"

    @pytest.mark.parametrize("typed", ["abc", "2,0", "", "-1", "1e3", "٣"])
    @pytest.mark.parametrize(("act", "field"), [("count", "quantity"), ("all", "remaining"),
                                                ("short", "quantity")])  # fmt: skip
    def test_a_number_that_cannot_be_read_counts_nothing(
        self, technician: Client, act: str, field: str, typed: str
    ) -> None:
        build = at.a_build(at.a_set(wanted=(3,)), person_of(me()))
        form = {"act": act, "line": tally_of(build).lines[0].line.pk, field: typed,
                "key": at.key()}  # fmt: skip
        page = technician.post(f"/builds/{build.pk}/act/", form, follow=True)
        assert f"“{typed}” is no number of pieces. Type digits" in page.content.decode()
        assert len(tally_of(build).events) == 1

    def test_a_number_that_is_not_sent_counts_nothing(self, technician: Client) -> None:
        build = at.a_build(at.a_set(wanted=(3,)), person_of(me()))
        form = {"act": "count", "line": tally_of(build).lines[0].line.pk, "key": at.key()}
        technician.post(f"/builds/{build.pk}/act/", form)
        assert len(tally_of(build).events) == 1

    def test_a_number_is_read_with_white_space_round_it(self, technician: Client) -> None:
        build = at.a_build(at.a_set(wanted=(3,)), person_of(me()))
        form = {"act": "count", "line": tally_of(build).lines[0].line.pk, "quantity": "3 ",
                "key": at.key()}  # fmt: skip
        technician.post(f"/builds/{build.pk}/act/", form)
        assert tally_of(build).events[-1].quantity == 3

    @pytest.mark.parametrize("form", [{"act": "explode"}, {"act": "count", "line": "x"}, {}])
    def test_a_strange_request_changes_nothing(
        self, technician: Client, form: dict[str, str]
    ) -> None:
        build = at.a_build(at.a_set(), person_of(me()))
        technician.post(f"/builds/{build.pk}/act/", {**form, "key": at.key()})
        assert len(tally_of(build).events) == 1

    @pytest.mark.parametrize("lines", [2, 30])
    def test_the_queries_do_not_grow_with_the_lines(
        self, technician: Client, lines: int, django_assert_max_num_queries: object
    ) -> None:
        build = at.complete(at.a_build(at.a_set(wanted=(1,) * lines))).build
        with django_assert_max_num_queries(32):  # type: ignore[operator]
            technician.get(f"/builds/{build.pk}/")


class TestSinglePackage:
    PATH = "/instruments/T-1/pack/"

    @pytest.mark.parametrize("typed", ["abc", "2,0", "", "0"])
    def test_pieces_that_cannot_be_read_pack_nothing(self, technician: Client, typed: str) -> None:
        form = {"key": at.key(), "take": "pouch:P-150", "all": "yes"}
        page = technician.post(f"{self.PATH}?pieces={typed}", form, follow=True)
        assert f"“{typed}” is no number of pieces" in page.content.decode()
        assert not Package.objects.exists()

    @pytest.fixture(autouse=True)
    def instrument(self, db: None) -> object:
        make.Pouch(code="P-150", seal_temperature_c=180)
        return make.Instrument(item_number="T-1")

    def post(self, client: Client, **form: object) -> HttpResponse:
        asked = checks_on(client, self.PATH)
        given = {"key": at.key(), "take": "pouch:P-150", "asked": asked, "all": "yes"}
        return client.post(self.PATH, {**given, **form})

    def test_one_press_records_it_and_leads_to_its_label(self, technician: Client) -> None:
        answer = self.post(technician)
        code = Package.objects.get().code
        assert answer["Location"] == f"/packages/{code}/?print=1"

    def test_its_label_reads_back_as_the_package(self, technician: Client) -> None:
        self.post(technician)
        code = Package.objects.get().code
        pdf = technician.get(f"/packages/{code}/label.pdf").content
        image = pypdfium2.PdfDocument(pdf)[0].render(scale=300 / 72).to_pil()
        assert [found.text for found in zxingcpp.read_barcodes(image)] == [code]

    def test_a_no_says_what_to_do_and_records_nothing(self, technician: Client) -> None:
        answer = self.post(technician, **{"check:air": "no"})
        assert "Press it out before it is closed" in text(answer)
        assert not Package.objects.exists()

    def test_a_check_that_the_page_did_not_show_is_not_answered(self, technician: Client) -> None:
        asked = [key for key in checks_on(technician, self.PATH) if key != "air"]
        assert "air pressed out" in text(self.post(technician, asked=asked))

    def test_the_seal_setting_is_the_pouchs_own(self, technician: Client) -> None:
        assert "Seal at 180 °C" in text(technician.get(self.PATH))

    def test_an_alternative_can_be_taken(self, technician: Client) -> None:
        make.Pouch(code="P-200", outer_width_mm=200, inner_width_mm=184)
        self.post(technician, take="pouch:P-200")
        assert "P-200" in Package.objects.get().supply

    def refused(self, client: Client, reason: str, **form: object) -> HttpResponse:
        """A pouch that is too narrow, each finding on the page accepted for this reason."""
        make.Pouch(code="P-75", outer_width_mm=75, inner_width_mm=59)
        page = client.get(f"{self.PATH}?take=pouch:P-75")
        keys = [one["key"] for one in page.context["open"]]
        given = {f"because:{key}": reason for key in keys}
        return self.post(client, take="pouch:P-75", accept=keys, **given, **form)

    def test_a_technician_alone_does_not_override(self, technician: Client) -> None:
        self.refused(technician, "none left")
        assert not Package.objects.exists()

    def test_a_coordinator_overrides_with_a_reason(self, coordinator: Client) -> None:
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
        self.refused(technician, "none left", override_name=name,
                     override_password=word)  # fmt: skip
        assert not Package.objects.exists()

    def test_what_is_not_known_is_named_before_the_label_prints(
        self, technician: Client, instrument: object
    ) -> None:
        type(instrument).objects.update(weight_g=None)  # type: ignore[attr-defined]
        assert "Not known, and on the label" in text(technician.get(self.PATH))

    def test_scanned_on_the_bench_it_opens(self, technician: Client) -> None:
        self.post(technician)
        code = Package.objects.get().code
        assert technician.get(f"/find/?q={code}")["Location"] == f"/packages/{code}/"

    def test_void_it_says_so_on_its_page(self, technician: Client) -> None:
        self.post(technician)
        code = Package.objects.get().code
        page = technician.post(f"/packages/{code}/void/", {"reason": "seal torn"}, follow=True)
        assert "Do not use this package" in text(page)

    def test_void_it_says_so_on_its_label(self, technician: Client) -> None:
        self.post(technician)
        code = Package.objects.get().code
        technician.post(f"/packages/{code}/void/", {"reason": "seal torn"})
        assert "VOID" in words_on(technician.get(f"/packages/{code}/label.pdf").content)

    def test_today_lists_it(self, technician: Client) -> None:
        self.post(technician)
        assert Package.objects.get().code in text(technician.get("/"))


class TestSetPackage:
    def packed(self, build: Build) -> str:
        at.complete(build, person_of(me()))
        return f"/builds/{build.pk}/pack/"

    def pack(self, client: Client, build: Build, **form: object) -> HttpResponse:
        path = self.packed(build)
        asked = checks_on(client, path)
        answer = signing.answer_for(tally_of(build))
        assert answer is not None
        given = {"key": at.key(), "act": "pack", "asked": asked, "all": "yes"}
        return client.post(path, {**given, **form}, follow=True)

    @pytest.fixture
    def build(self, technician: Client) -> Build:
        return at.a_build(at.a_set(), person_of(me()))

    def test_packed_and_signed_in_two_presses(self, technician: Client, build: Build) -> None:
        self.pack(technician, build)
        technician.post(f"/builds/{build.pk}/pack/", {"act": "sign", "key": at.key()})
        assert Package.objects.get().pieces == 3

    def test_the_papers_are_both_on_the_page(self, technician: Client, build: Build) -> None:
        self.pack(technician, build)
        page = technician.post(
            f"/builds/{build.pk}/pack/", {"act": "sign", "key": at.key()}, follow=True
        ).content.decode()
        assert re.findall(r'data-print href="[^"]+/([a-z-]+\.pdf)"', page) == [
            "label.pdf",
            "count-sheet.pdf",
        ]

    def test_papers_may_be_framed_by_our_pages_only(self, technician: Client) -> None:
        code = at.signed().code
        answer = technician.get(f"/packages/{code}/label.pdf")
        assert answer["X-Frame-Options"] == "SAMEORIGIN"

    def test_a_second_person_signs_where_the_policy_asks(
        self, technician: Client, build: Build
    ) -> None:
        override_value(Actor("bea", reason="trial"), "second_check", True,
                       since=date(2026, 1, 1), source="SOP 4")  # fmt: skip
        user_in("coordinator")
        self.pack(technician, build)
        technician.post(f"/builds/{build.pk}/pack/", {"act": "sign", "key": at.key(),
            "checker_name": "a-coordinator", "checker_password": PASSWORD})  # fmt: skip
        assert Package.objects.get().checked_by == "a-coordinator"

    def test_a_conflict_names_the_instruments_and_the_split(
        self, technician: Client, build: Build
    ) -> None:
        make.models.Programme.objects.create(
            code="S121", method="steam", temperature_c=121, exposure_min=15, drying_min=20
        )
        instrument = tally_of(build).lines[1].line.instrument
        CycleOption.objects.filter(instrument=instrument).update(temperature_c=121, exposure_min=15)
        page = text(technician.get(self.packed(build)))
        assert "It would go in parts" in page and "and no cycle serves both" in page

    def short_by_one(self, may_go_without: bool = True) -> Build:
        build = at.a_build(at.a_set(may_go_without=may_go_without), person_of(me()))
        line = tally_of(build).lines[0].line
        builds.short(person_of(me()), build.pk, line.pk, 1, "", at.key())
        line = tally_of(build).lines[1].line
        builds.count(person_of(me()), build.pk, line.pk, 2, at.key())
        return build

    def test_a_shortage_is_on_the_label(self, technician: Client) -> None:
        build = self.short_by_one()
        signing.pack(person_of(me()), build.pk, at.all_yes(build), at.key())
        code = signing.sign(person_of(me()), build.pk, at.key()).code
        label = words_on(technician.get(f"/packages/{code}/label.pdf").content)
        assert "GOES WITH SHORTAGES" in label and "TS-1-1" in label

    def test_a_shortage_is_on_the_count_sheet(self, technician: Client) -> None:
        build = self.short_by_one()
        signing.pack(person_of(me()), build.pk, at.all_yes(build), at.key())
        code = signing.sign(person_of(me()), build.pk, at.key()).code
        sheet = words_on(technician.get(f"/packages/{code}/count-sheet.pdf").content)
        assert "Short: 1 of 1" in sheet

    def test_more_shortages_than_the_label_holds_are_still_named(self, technician: Client) -> None:
        package = at.signed()
        package.shortages = [
            f"Short: 1 of 2 Very long name of an instrument number {n}, TS-1-{n}" for n in range(40)
        ]
        package.save()
        label = words_on(technician.get(f"/packages/{package.code}/label.pdf").content)
        assert "40 lines short: see the count sheet" in label

    def test_a_line_it_may_not_go_without_holds_it_back(self, technician: Client) -> None:
        build = self.short_by_one(may_go_without=False)
        page = text(technician.get(f"/builds/{build.pk}/pack/"))
        assert "The set may not go without" in page

    def test_reopened_its_old_label_is_void_when_scanned(self, technician: Client) -> None:
        package = at.signed()
        form = {"reason": "wrong basket", "key": at.key()}
        technician.post(f"/builds/{package.build_id}/reopen/", form)
        page = text(technician.get(f"/find/?q={package.code}", follow=True))
        assert "Do not use this package" in page


class TestBench:
    def test_my_build_and_others_are_apart(self, technician: Client) -> None:
        at.a_build(at.a_set("TS-1"), person_of(me()))
        at.a_build(at.a_set("TS-2"))
        mine, waiting = text(technician.get("/")).split("Others are assembling", 1)
        assert ("TS-1" in mine, "TS-2" in mine, "TS-2" in waiting) == (True, False, True)

    def test_a_set_being_built_says_by_whom(self, technician: Client) -> None:
        at.a_build()
        assert "Tam Birkett assembles it: 0 of 3 in" in text(technician.get("/sets/TS-1/"))

    def test_sound_can_be_switched_off(self, technician: Client) -> None:
        technician.post("/bench/settings/", {"name": "sound"})
        assert "Switch sound on" in text(technician.get("/"))

    def test_a_request_is_settled(self, technician: Client) -> None:
        build = at.a_build(at.a_set(), person_of(me()))
        line = tally_of(build).lines[0].line
        builds.damaged(person_of(me()), build.pk, line.pk, "Bent", at.key())
        repair = line.instrument.repairs.get()
        technician.post(f"/requests/repair/{repair.pk}/close/")
        assert "Settled" not in text(technician.get("/"))

    def test_markup_in_a_reason_stays_text(self, technician: Client) -> None:
        build = at.a_build(at.a_set(), person_of(me()))
        line = tally_of(build).lines[0].line
        builds.damaged(person_of(me()), build.pk, line.pk, "<script>alert(1)</script>", at.key())
        assert "<script>alert(1)" not in text(technician.get(f"/builds/{build.pk}/"))


class TestOverrideOfASet:
    """A cycle is chosen first; then each finding of that choice is accepted by itself."""

    @pytest.fixture
    def path(self, coordinator: Client) -> str:
        build = at.complete(at.a_build()).build
        user = User.objects.get(username="a-coordinator")
        Build.objects.update(holder_id=user.pk)
        return f"/builds/{build.pk}/pack/"

    def page(self, coordinator: Client, path: str, **cycle: object) -> HttpResponse:
        """The page once the second instrument's IFU names another cycle."""
        Instrument.objects.get(item_number="TS-1-2").cycles.update(**cycle)
        return coordinator.get(path)

    def test_without_a_cycle_the_page_asks_for_one(self, coordinator: Client, path: str) -> None:
        page = self.page(coordinator, path, temperature_c=121)
        assert "Choose the one it is to go in" in text(page)
        assert [one.code for one, _ in page.context["cycles"]] == ["S134"]

    def test_with_it_its_findings_are_shown(self, coordinator: Client, path: str) -> None:
        [(_, address)] = self.page(coordinator, path, temperature_c=121).context["cycles"]
        [one] = coordinator.get(f"{path}?{address}").context["open"]
        assert "asks for 121 °C, this runs at 134 °C (S134)" in one["sentence"]

    def test_where_no_ifu_names_it_the_parts_are_offered(
        self, coordinator: Client, path: str
    ) -> None:
        page = text(self.page(coordinator, path, method="eo"))
        assert "No cycle can be taken for it, and no reason lifts that. Pack it in parts" in page
