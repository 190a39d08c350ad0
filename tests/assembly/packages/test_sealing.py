"""A package waits for its seal: it goes nowhere until somebody has looked at it closed."""

from __future__ import annotations

import re
from collections.abc import Callable
from importlib import import_module

import pytest
from django.apps import apps
from django.test import Client

from assembly.judging.taking import NotClosed
from assembly.ledger import Refused
from assembly.models import Package, PolicyOverride
from assembly.packages import sealing, shelf, standing
from assembly.packages.recording import void_package
from assembly.packages.standing import Word, standing_of
from assembly.requests import working
from assembly.sterilizing import gathering
from catalog.models import Change
from tests.conftest import user_in
from tests.factories import bench as at
from tests.factories import catalog as make
from tests.factories import loads
from tests.factories import requests as ask

pytestmark = pytest.mark.django_db


@pytest.fixture
def waiting() -> Package:
    return ask.a_package_to_seal(make.Instrument())


def releases_kept_elsewhere() -> None:
    PolicyOverride.objects.create(
        name="release_on_record", value=False, since="2026-01-01", source="house",
        reason="loads are kept elsewhere", set_by="Bea", set_at="2026-01-01T00:00Z",
    )  # fmt: skip


class TestWhileItWaits:
    def test_it_says_so_and_what_next(self, waiting: Package) -> None:
        now = standing_of(waiting)
        assert (now.word, now.usable, now.spoiled) == (Word.UNSEALED, False, False)
        assert "look at its seal" in now.what_next

    GOES: dict[str, Callable[[Package], object]] = {
        "into a load": lambda one: gathering.add(at.person(), loads.a_load().pk, one, at.key()),
        "to the shelf": lambda one: shelf.put_away(at.person(), one, ask.a_place(), at.key()),
        "to somebody": lambda one: shelf.hand_over(at.person(), one, "OR 3", at.key()),
    }

    @pytest.mark.parametrize("where", GOES)
    @pytest.mark.parametrize("elsewhere", [False, True])
    def test_it_goes_nowhere(self, waiting: Package, where: str, elsewhere: bool) -> None:
        if elsewhere:
            releases_kept_elsewhere()
        with pytest.raises(Refused, match="waits for its seal"):
            self.GOES[where](waiting)

    def test_it_is_not_sent_to_a_request(self, waiting: Package) -> None:
        releases_kept_elsewhere()
        one = ask.a_request(waiting.instrument)
        working.take(at.person(), one.pk, at.key())
        with pytest.raises(Refused, match="waits for its seal"):
            working.send(at.person(), one.pk, at.key(), waiting)

    def test_it_waits_for_no_load_yet(self, waiting: Package) -> None:
        assert waiting not in standing.waiting_for_a_load()
        assert list(standing.waiting_for_their_seal()) == [waiting]

    def test_past_its_date_it_waits_for_no_load_either(self, waiting: Package) -> None:
        Package.objects.update(use_by="2020-01-01")
        assert waiting not in standing.waiting_for_a_load()

    def test_a_signed_set_waits_too(self) -> None:
        build = at.a_build()
        at.complete(build)
        at.signing.pack(at.person(), build.pk, at.all_yes(build), at.key())
        package = at.signing.sign(at.person(), build.pk, at.key())
        assert standing_of(package).word == Word.UNSEALED
        assert [one["key"] for one in package.closed] == ["lock"]


class TestSealing:
    def test_sealed_it_is_packed(self, waiting: Package) -> None:
        assert standing_of(at.sealed(waiting)).word == Word.PACKED

    def test_its_answers_and_who_gave_them_are_on_record(self, waiting: Package) -> None:
        package = sealing.seal(at.person("Ida Crow"), waiting.pk, sealing.all_right(waiting))
        assert {one["key"]: one["answer"] for one in package.closed} == {
            "seal": "yes", "seal width": "yes",
        }  # fmt: skip
        assert package.sealed_by == "Ida Crow"
        [change] = Change.objects.filter(object_name__startswith=package.code, verb="changed")
        assert (change.actor, change.after) == ("Ida Crow", {"state": "sealed"})

    def test_sealed_again_changes_nothing(self, waiting: Package) -> None:
        at.sealed(waiting)
        again = sealing.seal(at.person("Ida Crow"), waiting.pk, {})
        assert again.sealed_by == "Tam Birkett"

    def test_a_no_says_what_to_do_and_seals_nothing(self, waiting: Package) -> None:
        with pytest.raises(NotClosed) as problem:
            sealing.seal(at.person(), waiting.pk, sealing.all_right(waiting) | {"seal": "no"})
        assert [one.key for one in problem.value.said_no] == ["seal"]
        waiting.refresh_from_db()
        assert waiting.sealed_at is None

    def test_what_nobody_looked_at_seals_nothing(self, waiting: Package) -> None:
        with pytest.raises(NotClosed, match="Is the seal at least 6 mm wide"):
            sealing.seal(at.person(), waiting.pk, {"seal": "yes"})

    def test_what_is_void_is_not_sealed(self, waiting: Package) -> None:
        void_package(at.person(), waiting.pk, "torn")
        with pytest.raises(Refused, match="is void"):
            at.sealed(waiting)


def test_packages_of_before_are_sealed(waiting: Package) -> None:
    """They were recorded when they were closed."""
    import_module("assembly.migrations.0012_sealed_packages").sealed_before(apps, None)
    waiting.refresh_from_db()
    assert (waiting.sealed_at, waiting.sealed_by) == (waiting.packed_at, "Tam Birkett")


class TestPage:
    @pytest.fixture
    def path(self, waiting: Package) -> str:
        return f"/packages/{waiting.code}/seal/"

    def now(self, package: Package) -> Word:
        return standing_of(Package.objects.get(pk=package.pk)).word

    def test_one_press_seals_it(self, technician: Client, waiting: Package, path: str) -> None:
        page = technician.get(f"/packages/{waiting.code}/").content.decode()
        asked = re.findall(r'name="asked" value="([^"]+)"', page)
        technician.post(
            path, {"asked": asked, "of:closed": asked, "group": "closed", "key": at.key()}
        )
        assert self.now(waiting) == Word.PACKED

    def test_a_scan_of_its_label_seals_it(
        self, technician: Client, waiting: Package, path: str
    ) -> None:
        technician.post(path, {"words": waiting.code, "key": at.key()})
        assert self.now(waiting) == Word.PACKED

    @pytest.mark.parametrize("words", ["T-99", "PK-0000000", "", "PK-000001"])
    def test_another_scan_is_looked_up_and_seals_nothing(
        self, technician: Client, waiting: Package, path: str, words: str
    ) -> None:
        answer = technician.post(path, {"words": words, "key": at.key()})
        assert (answer["Location"], self.now(waiting)) == (f"/find/?q={words}", Word.UNSEALED)

    def test_a_no_is_said_with_what_to_do(
        self, technician: Client, waiting: Package, path: str
    ) -> None:
        asked = ["seal", "seal width"]
        form = {"asked": asked, "of:closed": asked, "check:seal": "no", "group": "closed",
                "key": at.key()}  # fmt: skip
        page = technician.post(path, form)
        assert page.status_code == 422
        assert "Open it and repack with a new pouch" in page.content.decode()
        assert self.now(waiting) == Word.UNSEALED

    def test_a_liaison_is_not_asked(self, roles: None, client: Client, waiting: Package) -> None:
        client.force_login(user_in("OR liaison"))
        assert 'id="seal"' not in client.get(f"/packages/{waiting.code}/").content.decode()
