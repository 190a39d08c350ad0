"""A policy that leaves out wraps, containers or both breaks no page of a set."""

from __future__ import annotations

from datetime import date

import pytest
from django.test import Client

from assembly.consequences.policy_actions import override_value
from catalog.actions import Actor
from tests.factories import bench as at

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize("kinds", [["pouch", "wrap"], ["container"], ["pouch", "roll"]])
def test_set_page_count_sheet_and_signing_open(technician: Client, kinds: list[str]) -> None:
    build = at.a_build()
    at.complete(build)
    override_value(Actor("bea", reason="trial"), "kinds_in_order", kinds,
                   since=date(2026, 1, 1), source="SOP 4")  # fmt: skip
    pages = ["/sets/TS-1/", "/sets/TS-1/count-sheet.pdf", f"/builds/{build.pk}/",
             f"/builds/{build.pk}/pack/"]  # fmt: skip
    assert [technician.get(page).status_code for page in pages] == [200] * 4
