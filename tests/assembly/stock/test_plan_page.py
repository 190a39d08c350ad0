"""The page, paper and files of what to stock."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client

from assembly.stock import planning
from tests.factories import catalog as make
from tests.factories import requests as ask

pytestmark = pytest.mark.django_db
PAGE, CSV = "/stock/plan/", "/papers/stock-plan.csv"


@pytest.fixture(autouse=True)
def stocked() -> None:
    """Two pouches, and what fits the one and only the other."""
    make.Pouch(code="P-1", cost="0.10")
    make.Pouch(code="P-2", outer_width_mm=250, outer_length_mm=400, inner_width_mm=234,
               inner_length_mm=355, cost="0.20")  # fmt: skip
    make.Instrument(item_number="T-1", spares_on_hand=3)
    make.Instrument(item_number="T-2", spares_on_hand=2, length_mm=280)


def text(client: Client, query: str = "", address: str = PAGE) -> str:
    answer = client.get(f"{address}?{query}")
    body = b"".join(answer.streaming_content) if answer.streaming else answer.content  # type: ignore[attr-defined]
    assert answer.status_code == 200
    return " ".join(body.decode().split())


def test_it_says_for_what_and_what_each_size_is_used_for(coordinator: Client) -> None:
    page = text(coordinator)
    assert "5 loose spares on record" in page
    assert "T-1 × 3" in page and "2 without any" in page
    assert "2 in stock take 0.34 m²" in page


def test_one_plan_of_the_curve_is_told(coordinator: Client) -> None:
    page = text(coordinator, "pouch=1")
    assert "With 1" in page and "T-1 × 3, T-2 × 2" in page and "5 without any" in page


def test_what_nothing_serves_and_what_is_not_known_stands_before_the_plan(
    coordinator: Client,
) -> None:
    make.Instrument(item_number="T-8", spares_on_hand=4, length_mm=900)
    make.Instrument(item_number="T-9", spares_on_hand=1, height_mm=None)
    page = text(coordinator)
    assert 0 < page.index("No pouch or roll serves") < page.index("T-8") < page.index("In stock")
    assert 0 < page.index("Not known enough for a pouch") < page.index("T-9")


def test_less_in_a_year_than_the_least_order_is_said(
    coordinator: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(planning, "ENOUGH", 1)
    ask.a_package(make.Instrument(item_number="T-3"))
    assert "365 a year, at least 400 are ordered" in text(coordinator, "order_pouch=400")
    assert "are ordered" not in text(coordinator, "pouch=1&order_pouch=365")


def test_of_spares_no_use_in_a_year_is_told(coordinator: Client) -> None:
    assert "are ordered" not in text(coordinator, "order_pouch=400")


@pytest.mark.parametrize(
    ("query", "problem"),
    [("sizes=abc", "“abc” is no size"), ("sizes=9x9", "seals take all"),
     ("pouch=0", "“0” is no number of sizes"), ("roll=x", "“x” is no number of sizes"),
     ("order_pouch=-1", "“-1” is no number of pouches")],
)  # fmt: skip
def test_what_cannot_be_read_is_named_and_kept_in_its_field(
    coordinator: Client, query: str, problem: str
) -> None:
    page = text(coordinator, query)
    assert problem in page
    if query.startswith("sizes"):
        assert f'value="{query.removeprefix("sizes=")}"' in page


def test_a_file_has_the_curve_and_the_uses_and_what_is_left_out(coordinator: Client) -> None:
    make.Instrument(item_number="T-9", spares_on_hand=1, height_mm=None)
    rows = text(coordinator, "pouch=2", CSV)
    assert 'T-9,"Not known enough, not planned for"' in rows
    assert 'Pouches,2,"P-1, P-2",,,0.34,0.70' in rows
    assert "Pouches,2,P-2,2,2,0.20,0.40,T-2 × 2,without it: 2 without any" in rows


def test_a_file_that_cannot_be_planned_leads_back(coordinator: Client) -> None:
    answer = coordinator.get(f"{CSV}?sizes=abc", follow=True)
    assert "“abc” is no size" in answer.content.decode()


def test_the_paper_is_a_pdf(coordinator: Client) -> None:
    answer = coordinator.get("/papers/stock-plan.pdf")
    assert answer["Content-Type"] == "application/pdf"


@pytest.mark.parametrize("bound", ["WAITED_FOR", "WAITED_ROLLS"])
def test_what_takes_long_is_worked_out_beside_the_web_server_and_kept(
    coordinator: Client, monkeypatch: pytest.MonkeyPatch, settings: Any, bound: str
) -> None:
    kept = "django.core.cache.backends.locmem.LocMemCache"
    settings.CACHES = {**settings.CACHES, "lists": {"BACKEND": kept, "LOCATION": bound}}
    monkeypatch.setattr(planning, bound, -1)
    begun = coordinator.get(PAGE, {"pouch": 2})
    assert begun.status_code == 302 and "/papers/runs/" in begun["Location"]
    assert "With 2" in text(coordinator, "pouch=2")


def test_what_a_page_cannot_prove_is_proved_beside_it(
    coordinator: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(planning.Side, "proved", False)
    assert coordinator.get(PAGE).status_code == 302
