"""Something was wrong with a package: what is said, what it stops, who is told."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from django.test import Client

from assembly.complaints import saying
from assembly.ledger import Refused
from assembly.models import Complaint, Package, Request, ShelfMove, Wrong
from assembly.models.complaints import HURTS
from assembly.packages import shelf, standing
from assembly.packages.recording import void_package
from assembly.requests import working
from catalog.models import Instrument
from tests.conftest import kept_meanwhile
from tests.factories import bench as at
from tests.factories import catalog as make
from tests.factories import loads
from tests.factories import requests as ask

pytestmark = [pytest.mark.django_db, pytest.mark.xdist_group("saying")]


@pytest.fixture(scope="class")
def shelved(django_db_setup: None, django_db_blocker: Any) -> Iterator[Package]:
    with kept_meanwhile(django_db_blocker):
        yield ask.on_shelf(make.Instrument())


@pytest.fixture
def package(shelved: Package) -> Package:
    return Package.objects.get(pk=shelved.pk)


def said(package: Package, kind: str, key: str = "", **more: object) -> Complaint:
    return saying.say(ask.liaison(), package.pk, kind, key or at.key(), **more)  # type: ignore[arg-type]


def stands(package: Package) -> standing.Standing:
    rows = standing.with_standing(Package.objects.filter(pk=package.pk))
    return standing.standing_of(rows.get())


def word(package: Package) -> str:
    return stands(package).word


class TestWhatItStops:
    @pytest.mark.parametrize("kind", [one for one in Wrong if one != Wrong.OTHER])
    def test_what_could_hurt_is_not_to_be_used(self, package: Package, kind: Wrong) -> None:
        """Wet, holed, dirty, its indicator unchanged: ANSI/AAMI ST79 as publicly reported."""
        said(package, kind)
        used = standing.usable().filter(pk=package.pk).exists()
        assert (used, word(package)) == (
            (False, "damaged") if kind in HURTS else (True, "released")
        )

    def test_anything_else_is_when_it_is_asked_for(self, package: Package) -> None:
        said(package, "label", apart=True, words="names another instrument")
        [move] = ShelfMove.objects.filter(package=package, state="damaged")
        assert (word(package), move.reason) == ("damaged", "Label: names another instrument")

    def test_its_request_learns_it(self, instrument: Instrument) -> None:
        one, package = _handed_over(instrument)
        said(package, "wet")
        last = Request.objects.get(pk=one.pk).steps.last()
        assert f"{package.code} was damaged: Wet. Do not use it." in last.reason

    @pytest.mark.parametrize("before", ["void", "opened", "recalled"])
    def test_what_is_not_used_anyway_stays_so(self, package: Package, before: str) -> None:
        if before == "void":
            void_package(at.person(), package.pk, "torn")
        else:
            shelf.take_off(at.person(), package, before, at.key(), "why")
        assert said(package, "dirty").state == "open" and word(package) == before


class TestOnRecord:
    def test_the_same_key_is_the_same_complaint(self, package: Package) -> None:
        key = at.key()
        assert said(package, "wet", key) == said(package, "wet", key)
        assert ShelfMove.objects.filter(package=package, state="damaged").count() == 1

    def test_it_keeps_load_place_and_line(self) -> None:
        package = at.signed()
        load = loads.released(package)
        shelf.hand_over(at.person(), package, "Day clinic", at.key())
        line = package.counted["lines"][1]
        made = said(package, "missing", item=line["item_number"], words="one of two")
        assert made.said == f"Something missing: {line['name']} ({line['item_number']}): one of two"
        assert (made.load, made.where) == (load, "Handed over, went to Day clinic")

    @pytest.mark.parametrize(
        ("kind", "more", "words"),
        [
            ("odd", {}, "Choose what was wrong"),
            ("other", {"words": " "}, "Write in a few words"),
            ("missing", {"item": "X-9"}, "“X-9” is no line of PK-"),
        ],
    )
    def test_what_cannot_be_read_is_refused(
        self, package: Package, kind: str, more: dict[str, str], words: str
    ) -> None:
        with pytest.raises(Refused, match=words):
            said(package, kind, **more)
        assert not Complaint.objects.exists() and word(package) == "released"

    def test_what_was_found_ends_it_once(self, package: Package) -> None:
        made = said(package, "wet")
        with pytest.raises(Refused, match="Write what was found"):
            saying.look_into(at.person(), made.pk, at.key(), " ")
        saying.look_into(at.person(), made.pk, at.key(), "drain was blocked")
        with pytest.raises(Refused, match=r"looked into: Tam Birkett.*drain was blocked"):
            saying.mistaken(at.person(), made.pk, at.key(), "wrong package")


@pytest.fixture(scope="class")
def three(django_db_setup: None, django_db_blocker: Any) -> Iterator[list[Package]]:
    """Three of one load: one in OR 3, one in the day clinic, one on the shelf."""
    with kept_meanwhile(django_db_blocker):
        instrument = make.Instrument()
        three = [ask.a_package(instrument) for _ in range(3)]
        loads.released(*three)
        shelf.hand_over(at.person(), three[0], "Main ORs", at.key())
        shelf.hand_over(at.person(), three[1], "Day clinic", at.key())
        yield three


class TestWhoIsTold:
    @pytest.fixture
    def others(self, three: list[Package]) -> list[Package]:
        return [Package.objects.get(pk=one.pk) for one in three]

    @pytest.mark.parametrize(
        ("kind", "told"), [("wet", {"Day clinic"}), ("indicator", {"Day clinic"}), ("hole", set())]
    )
    def test_who_holds_others_of_the_load_where_they_may_have_it(
        self, others: list[Package], kind: str, told: set[str]
    ) -> None:
        """A hole is the package's own; water and a failed indicator are the load's."""
        made = said(others[0], kind)
        assert {one.department for one in made.notices.all()} == told
        for notice in made.notices.all():
            assert [one["code"] for one in notice.packages] == [others[1].code]

    def test_the_others_say_so_until_somebody_has_looked_into_it(
        self, others: list[Package]
    ) -> None:
        made = said(others[0], "wet")
        also = ", look at it first, another of its load: wet"
        words = [stands(one).words for one in others]
        assert words == ["damaged", f"handed over{also}", f"released{also}"]
        saying.look_into(at.person(), made.pk, at.key(), "its drain was blocked")
        assert stands(others[2]).words == "released"

    def test_the_department_reads_it_until_somebody_has(
        self, others: list[Package], technician: Client
    ) -> None:
        notice = said(others[0], "wet").notices.get()
        words = "Look at these before use: wet in load"
        for page in ("/requests/", "/requests/ask/"):
            assert words in technician.get(page).content.decode()
        technician.post(f"/wrong/notices/{notice.pk}/read/", {"key": at.key()})
        assert words not in technician.get("/requests/").content.decode()

    def test_the_coordinators_first_page(self, others: list[Package], coordinator: Client) -> None:
        made = said(others[0], "wet")
        assert "Something was wrong" in coordinator.get("/waits/").content.decode()
        sent = {"act": "looked into", "key": at.key(), "reason": "steam trap", "next": "/waits/"}
        coordinator.post(f"/wrong/{made.pk}/act/", sent)
        assert "Something was wrong" not in coordinator.get("/waits/").content.decode()
        page = coordinator.get(f"/packages/{others[0].code}/").content.decode()
        assert "steam trap" in page


class TestPages:
    def test_a_press_says_what_follows(self, package: Package, technician: Client) -> None:
        sent = {"kind": "hole", "key": at.key()}
        answer = technician.post(f"/packages/{package.code}/wrong/", sent, follow=True)
        page = answer.content.decode()
        assert "On record: Hole or tear. Nobody uses this package." in page
        assert f"/requests/ask/?item={package.number}" in page

    def test_what_is_refused_is_said_where_it_was_pressed(
        self, package: Package, technician: Client
    ) -> None:
        sent = {"kind": "other", "key": at.key()}
        answer = technician.post(f"/packages/{package.code}/wrong/", sent, follow=True)
        assert "Write in a few words what was wrong." in answer.content.decode()

    def test_a_package_without_its_label_is_found_by_what_is_in_it(
        self, package: Package, technician: Client
    ) -> None:
        page = technician.get("/wrong/", {"q": package.number}).content.decode()
        assert f"/packages/{package.code}/?wrong=1#wrong" in page
        scanned = technician.get("/wrong/", {"q": package.code})
        assert scanned["Location"] == f"/packages/{package.code}/?wrong=1#wrong"

    def test_the_load_names_it(self, package: Package, technician: Client) -> None:
        load = said(package, "label", words="torn").load
        assert load is not None
        assert "Label: torn" in technician.get(f"/loads/{load.pk}/").content.decode()


def _handed_over(instrument: Instrument) -> tuple[Request, Package]:
    one, package = ask.a_request(instrument), ask.on_shelf(instrument)
    working.take(at.person(), one.pk, at.key())
    working.send(at.person(), one.pk, at.key(), package)
    return working.hand_over(at.person(), one.pk, at.key()), package
