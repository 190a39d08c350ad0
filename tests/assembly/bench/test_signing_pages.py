"""Packing and signing a set as forms alone: what the pages do without any script."""

from __future__ import annotations

import re
from datetime import date

import pypdfium2
import pytest
from django.contrib.auth.models import User
from django.http import HttpResponse
from django.test import Client

from assembly.bench import builds, signing
from assembly.bench.tally import tally_of
from assembly.consequences.policy_actions import override_value
from assembly.models import Build, Package
from assembly.packages import printable
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


class TestSetPackage:
    def packed(self, build: Build) -> str:
        at.complete(build, person_of(me()))
        return f"/builds/{build.pk}/pack/"

    def pack(self, client: Client, build: Build, **form: object) -> HttpResponse:
        """One press that answers each group that ``form`` names, as the page has them."""
        path = self.packed(build)
        groups = client.get(path).context["groups"]
        of = {one["key"]: [check["key"] for check in one["checks"]] for one in groups}
        given = {f"check:{key}": "yes" for key in of["piece"]}
        given |= {f"of:{group}": keys for group, keys in of.items()}
        given |= {
            "key": at.key(),
            "act": "pack",
            "asked": [*of["piece"], *of["package"]],
            "group": "package",
        }
        return client.post(path, {**given, **form}, follow=True)

    @pytest.fixture
    def build(self, technician: Client) -> Build:
        return at.a_build(at.a_set(), person_of(me()))

    def test_the_press_of_the_last_group_packs_signs_and_prints_both_papers(
        self, technician: Client, build: Build
    ) -> None:
        page = self.pack(technician, build).content.decode()
        assert Package.objects.get().pieces == 3
        assert re.findall(r'data-print href="[^"]+/([a-z-]+\.pdf)"', page) == [
            "label.pdf",
            "count-sheet.pdf",
        ]

    def test_what_has_no_label_is_not_signed_and_can_be_on_another_stock(
        self, technician: Client, build: Build, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        def refusing(package: Package, stock: str) -> str:
            return "Its label cannot be printed." if stock == "small" else ""

        monkeypatch.setattr(printable, "WHY_NOT", [refusing])
        technician.cookies["stock"] = "small"
        page = self.pack(technician, build)
        assert "Its label cannot be printed. Nothing was recorded." in text(page)
        assert not Package.objects.exists()
        technician.cookies["stock"] = "large"
        technician.post(f"/builds/{build.pk}/pack/", {"key": at.key(), "act": "sign"})
        assert Package.objects.get().pieces == 3

    def test_sent_twice_it_is_packed_once(self, technician: Client, build: Build) -> None:
        for _ in range(2):
            self.pack(technician, build, key="one-press-sent-twice")
        assert Package.objects.count() == 1

    def test_the_press_of_the_first_group_packs_nothing_and_answers_no_other(
        self, technician: Client, build: Build
    ) -> None:
        page = self.pack(technician, build, group="piece")
        given = {one["key"]: {check["given"] for check in one["checks"]}
                 for one in page.context["groups"]}  # fmt: skip
        assert given == {"piece": {"yes"}, "package": {""}}
        assert not Package.objects.exists()

    def test_the_last_press_does_not_answer_the_first_group(
        self, technician: Client, build: Build
    ) -> None:
        page = self.pack(technician, build, **{"check:clean": ""})
        assert page.status_code == 422 and not Package.objects.exists()

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
        assert "before the lid" in text(self.pack(technician, build))
        checker = {"checker_name": "a-coordinator", "checker_password": PASSWORD}
        self.pack(technician, build, **checker)
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
        name = build.lines.first().name
        assert label.count("MISSING") == 1 and f"MISSING 1 {name} (0 of 1 in the set)" in label

    def test_a_shortage_is_on_the_count_sheet(self, technician: Client) -> None:
        build = self.short_by_one()
        signing.pack(person_of(me()), build.pk, at.all_yes(build), at.key())
        code = signing.sign(person_of(me()), build.pk, at.key()).code
        sheet = words_on(technician.get(f"/packages/{code}/count-sheet.pdf").content)
        assert "(0 of 1 in the set)" in sheet

    def test_more_shortages_than_the_label_holds_are_still_named(self, technician: Client) -> None:
        package = at.signed()
        package.shortages = [
            f"MISSING 1 Very long name of instrument {n} (1 of 2 in the set)" for n in range(40)
        ]
        package.save()
        label = words_on(technician.get(f"/packages/{package.code}/label.pdf").content)
        assert "MISSING 40 pieces on 40 lines: see the count sheet" in label

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

    def test_what_is_away_is_counted(self, technician: Client) -> None:
        build = at.a_build(at.a_set(), person_of(me()))
        line = tally_of(build).lines[0].line
        builds.damaged(person_of(me()), build.pk, line.pk, "Bent", at.key())
        assert "Away for repair (1)" in text(technician.get("/"))

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
