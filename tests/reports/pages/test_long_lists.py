"""Lists that take long: found beside the web server, and kept for every process of it."""

from __future__ import annotations

from contextlib import closing
from typing import Any

import pytest
from django.core.cache import caches
from django.test import Client

from reports.gathering import lists_from_catalog
from reports.pages import list_views
from tests.factories import catalog as make
from tests.reports.examples import page_size_mm

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def kept(settings: Any, tmp_path: Any) -> None:
    settings.PRINT_FOLDER = str(tmp_path)
    where = {"BACKEND": "django.core.cache.backends.locmem.LocMemCache", "LOCATION": str(tmp_path)}
    settings.CACHES = {**settings.CACHES, "lists": where}
    caches["lists"].clear()


@pytest.mark.parametrize("address", ["undecided-sets/", "undecided-sets.pdf"])
def test_many_sets_are_decided_by_a_run_that_leads_back(
    technician: Client, monkeypatch: pytest.MonkeyPatch, address: str
) -> None:
    monkeypatch.setattr(lists_from_catalog, "WAITED_FOR", 0)
    make.InstrumentSet(code="TS-1")
    page = technician.get(f"/papers/lists/{address}", follow=True)
    (run, _), (back, _) = page.redirect_chain
    assert run.startswith("/papers/runs/") and back == f"/papers/lists/{address}"
    assert page.status_code == 200
    assert technician.get(f"/papers/lists/{address}").status_code == 200  # Kept: no run more.


def test_few_sets_are_decided_while_the_page_waits(technician: Client) -> None:
    make.InstrumentSet(code="TS-1")
    assert technician.get("/papers/lists/undecided-sets/").status_code == 200


def test_a_page_that_renews_itself_is_led_on_when_the_run_is_done(
    technician: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(lists_from_catalog, "WAITED_FOR", 0)
    make.InstrumentSet(code="TS-1")
    run = technician.get("/papers/lists/undecided-sets/")["Location"]
    answer = technician.get(run, headers={"HX-Request": "true", "HX-Target": "run"})
    assert answer["HX-Redirect"] == "/papers/lists/undecided-sets/"


def test_a_file_of_very_many_rows_is_made_by_a_run(
    technician: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(list_views.LONG_ROWS, "pdf", 0)
    make.Instrument(weight_g=None)
    technician.cookies["paper"] = "letter"
    page = technician.get("/papers/lists/missing-facts.pdf", follow=True)
    assert page.context["state"].state == "done"
    with closing(technician.get(f"{page.redirect_chain[-1][0]}file/")) as answer:
        assert page_size_mm(answer.getvalue())[0] == pytest.approx(215.9, abs=0.1)
