"""The page of what would change: asked, listed, exported, and nothing put in force by it."""

from __future__ import annotations

from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from django.test import Client
from openpyxl import load_workbook

from assembly.models import PolicyOverride
from catalog.models import Change, Sterilizer
from reports.pages.policy import what_if_list
from tests.factories import catalog as make
from tests.factories.loads import a_programme

pytestmark = pytest.mark.django_db
PAGE, VALUE = "/policy/what-if/", "?name=side_clearance_mm&value=26"


@pytest.fixture
def plate() -> None:
    """71 wide and 12 high: 103 of 134 with 10 free at each side, 135 with 26."""
    make.Pouch(code="P1")
    make.Pouch(code="P2", inner_width_mm=184, outer_width_mm=200)
    make.Pouch(code="P0", in_stock=False)
    make.Instrument(item_number="A-1", name="Plate", width_mm=71, length_mm=170, height_mm=12,
                    hinged=False)  # fmt: skip


@pytest.fixture
def kept_lists(settings: Any, tmp_path: Path) -> None:
    where = {"BACKEND": "django.core.cache.backends.locmem.LocMemCache", "LOCATION": str(tmp_path)}
    settings.CACHES = {**settings.CACHES, "lists": where}
    settings.PRINT_FOLDER = tmp_path / "runs"


def text(client: Client, query: str, status: int = 200) -> str:
    answer = client.get(PAGE + query)
    assert answer.status_code == status
    return " ".join(answer.content.decode().split())


@pytest.mark.usefixtures("plate")
class TestPage:
    def test_it_asks_before_it_says_anything(self, coordinator: Client) -> None:
        page = text(coordinator, "")
        assert "What changes?" in page and "Of 1 instruments" not in page

    def test_it_says_what_changes_and_from_what_to_what(self, coordinator: Client) -> None:
        page = text(coordinator, VALUE)
        assert all(word in page for word in ("A-1", "Plate", "pouch P1", "pouch P2"))
        assert "1 go into another package" in page and "Nothing of it is in force" in page

    def test_nothing_is_put_in_force(self, coordinator: Client) -> None:
        text(coordinator, VALUE)
        assert not PolicyOverride.objects.exists() and not Change.objects.exists()

    def test_a_value_is_offered_with_the_one_in_force(self, coordinator: Client) -> None:
        page = text(coordinator, "?name=side_clearance_mm")
        assert '<option value="side_clearance_mm" selected>' in page and "10 mm" in page

    def test_a_supply_and_a_sterilizer_are_chosen_from_those_there(
        self, coordinator: Client
    ) -> None:
        Sterilizer.objects.create(code="ST7").programmes.add(a_programme())
        page = text(coordinator, "?without=P1")
        assert "ST7 gone" in page and '<option value="P0">' in page and "pouch P2" in page

    @pytest.mark.parametrize(
        ("query", "words"),
        [("?name=side_clearance_mm&value=", "nothing was typed"),
         ("?name=&value=7", "“7” is a value of what"), ("?name=x&value=7", "x: is not a value"),
         ("?name=fill_limit&value=2", "at most 0.75"), ("?without=P9", "P9: not in use"),
         ("?more=P1", "P1: in use already"), ("?preset=xx", "choose from"),
         ("?sterilizer=ST9", "no such sterilizer")],
    )  # fmt: skip
    def test_what_cannot_be_is_said_and_stays_typed(
        self, coordinator: Client, query: str, words: str
    ) -> None:
        assert words in text(coordinator, query, 422)

    def test_policy_offers_it_beside_what_puts_in_force(self, coordinator: Client) -> None:
        page = coordinator.get("/policy/").content.decode()
        assert f"{PAGE}?name=fill_limit" in page and f"{PAGE}?preset=eu" in page


@pytest.mark.usefixtures("plate")
class TestFiles:
    def test_the_text_has_the_same_rows(self, coordinator: Client) -> None:
        rows = b"".join(coordinator.get(f"/policy/what-if.csv{VALUE}")).decode().splitlines()
        assert rows[1] == "Instrument,A-1,Plate,pouch P1,pouch P2,"

    def test_the_workbook_has_the_same_rows(self, coordinator: Client) -> None:
        sent = b"".join(coordinator.get(f"/policy/what-if.xlsx{VALUE}"))
        values = [cell.value for row in load_workbook(BytesIO(sent)).active for cell in row]
        assert {"A-1", "pouch P1", "pouch P2"} <= set(values)

    def test_the_paper_is_a_pdf(self, coordinator: Client) -> None:
        answer = coordinator.get(f"/policy/what-if.pdf{VALUE}")
        assert b"".join(answer).startswith(b"%PDF") and answer["Content-Type"] == "application/pdf"

    def test_a_file_of_what_cannot_be_leads_back_with_the_reason(self, coordinator: Client) -> None:
        answer = coordinator.get("/policy/what-if.csv?without=P9", follow=True)
        assert "P9: not in use" in answer.content.decode()

    def test_there_is_no_other_form(self, coordinator: Client) -> None:
        assert coordinator.get("/policy/what-if.doc").status_code == 404


@pytest.mark.usefixtures("plate")
class TestLong:
    def test_many_lead_to_a_run_that_leads_back(
        self, coordinator: Client, monkeypatch: pytest.MonkeyPatch, kept_lists: None
    ) -> None:
        monkeypatch.setattr(what_if_list, "AT_ONCE", 0)
        run = coordinator.get(PAGE + VALUE)
        assert run["Location"].startswith("/papers/runs/")
        back = coordinator.get(run["Location"])
        assert back["Location"] == PAGE + VALUE
        assert "pouch P2" in text(coordinator, VALUE)

    def test_it_is_found_anew_once_something_changed(
        self, coordinator: Client, kept_lists: None
    ) -> None:
        text(coordinator, VALUE)
        make.Pouch(code="P3", inner_width_mm=160, outer_width_mm=176)
        assert "pouch P3" in text(coordinator, VALUE)
