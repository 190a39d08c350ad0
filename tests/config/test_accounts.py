"""The pages of accounts: one's own password, and who is switched off."""

from __future__ import annotations

import pytest
from django.contrib.auth import authenticate
from django.contrib.auth.models import User
from django.test import Client

from catalog.models import Change
from config.accounts import switch
from tests.conftest import user_in
from tests.factories import bench as at

pytestmark = pytest.mark.django_db
OLD, NEW = "for-the-tests", "dry-packs-are-what-we-want"


def change(client: Client, old: str = OLD, new: str = NEW) -> object:
    return client.post(
        "/password/", {"old_password": old, "new_password1": new, "new_password2": new}
    )


def test_who_changes_their_password_stays_signed_in_here_alone(technician: Client) -> None:
    elsewhere = Client()
    elsewhere.force_login(User.objects.get())
    change(technician)
    assert technician.get("/bench/").status_code == 200
    assert elsewhere.get("/bench/").status_code == 302
    assert authenticate(username="a-technician", password=NEW)


@pytest.mark.parametrize(("old", "new", "words"), [
    ("wrong", NEW, "not your password"), (OLD, "short", "too short"),
])  # fmt: skip
def test_a_wrong_old_or_a_weak_new_one_changes_nothing(
    technician: Client, old: str, new: str, words: str
) -> None:
    assert words in change(technician, old, new).content.decode()  # type: ignore[attr-defined]
    assert authenticate(username="a-technician", password=OLD)


def test_a_leaver_is_switched_off_at_once_and_on_record(coordinator: Client) -> None:
    leaver, theirs = user_in("technician"), Client()
    theirs.force_login(leaver)
    coordinator.post(f"/accounts/{leaver.pk}/switch/", {"to": "off"})
    assert theirs.get("/bench/").status_code == 302
    done = Change.objects.get()
    assert (done.actor, done.object_key, done.before, done.after) == (
        "a-coordinator", "a-technician", {"account": "on"}, {"account": "off"},
    )  # fmt: skip
    coordinator.post(f"/accounts/{leaver.pk}/switch/", {"to": "on"})
    assert User.objects.get(pk=leaver.pk).is_active


@pytest.mark.parametrize("to", ["off", "away"])
def test_nobody_switches_themselves_off_or_to_anything_else(coordinator: Client, to: str) -> None:
    coordinator.post(f"/accounts/{User.objects.get().pk}/switch/", {"to": to})
    assert User.objects.get().is_active and not Change.objects.exists()


def test_twice_is_once_on_record(coordinator: Client) -> None:
    leaver = user_in("technician")
    for _ in range(2):
        coordinator.post(f"/accounts/{leaver.pk}/switch/", {"to": "off"})
    assert Change.objects.count() == 1


def test_an_account_that_is_not_there_is_not_found(coordinator: Client) -> None:
    assert coordinator.post("/accounts/987654/switch/", {"to": "off"}).status_code == 404


def test_the_verb_asks_for_its_permission() -> None:
    with pytest.raises(Exception, match="may not do this"):
        switch(at.person(role="technician"), user_in("technician").pk, "off")
