"""A part of a page that asks for a sign-in."""

from __future__ import annotations

import pytest
from django.test import Client

pytestmark = pytest.mark.django_db
PARTS = ["/requests/now/", "/bench/now/", "/requests/find/"]


@pytest.mark.parametrize("path", PARTS)
def test_signed_out_a_part_leads_the_whole_page_to_sign_in(client: Client, path: str) -> None:
    answer = client.get(path, headers={"HX-Request": "true", "HX-Target": "requests"})
    assert (answer.content, answer.headers["HX-Redirect"]) == (b"", "/sign-in/")


@pytest.mark.parametrize("path", PARTS)
def test_signed_out_a_page_is_redirected_as_ever(client: Client, path: str) -> None:
    assert client.get(path).status_code == 302


def test_a_script_that_keeps_its_counts_is_not_answered_with_nothing(client: Client) -> None:
    answer = client.post("/builds/1/scan/", headers={"HX-Request": "true"})
    assert answer.status_code == 302


def test_signed_in_a_part_is_a_part(technician: Client) -> None:
    answer = technician.get("/bench/now/", headers={"HX-Target": "waits"})
    assert "HX-Redirect" not in answer.headers
