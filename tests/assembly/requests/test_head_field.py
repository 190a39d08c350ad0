"""The page of a request: its one field for scans takes the package that goes."""

from __future__ import annotations

import pytest
from django.contrib.auth.models import User
from django.test import Client

from assembly.models import Request
from assembly.persons import person_of
from assembly.requests import working
from tests.factories import bench as at
from tests.factories import catalog as make
from tests.factories import requests as ask

pytestmark = pytest.mark.django_db


@pytest.fixture
def one(technician: Client) -> Request:
    """A request that the technician has taken."""
    request = ask.a_request()
    return working.take(person_of(User.objects.get(username="a-technician")), request.pk, at.key())


def test_there_is_one_field_and_it_stands_in_the_head(one: Request, technician: Client) -> None:
    page = technician.get(f"/requests/{one.pk}/").content.decode()
    head = page.split("<main")[0]
    assert (page.count('type="search"'), head.count('placeholder="scan the package')) == (1, 1)


def test_what_is_scanned_there_goes(one: Request, technician: Client) -> None:
    assert one.instrument is not None
    package = ask.a_sterile_package(one.instrument)
    page = technician.get(f"/requests/{one.pk}/").content.decode()
    sent = page.split('id="scan-form"')[1].split("</form>")[0]
    assert 'name="act" value="add"' in sent and 'name="words"' in sent
    technician.post(f"/requests/{one.pk}/act/", {"act": "add", "words": package.code})
    assert one.ties.get().package == package


def test_who_has_not_taken_it_finds_anything(technician: Client) -> None:
    page = technician.get(f"/requests/{ask.a_request(make.Instrument()).pk}/").content.decode()
    assert 'action="/find/"' in page


def test_the_shelf_has_its_own_place(technician: Client) -> None:
    assert technician.get("/shelf/").status_code == 200
    assert technician.get("/requests/shelf/").status_code == 404
