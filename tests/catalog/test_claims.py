"""Claims for lumens typed on a programme's page: read, kept as rows, refused in halves."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
from django.test import Client

from catalog.models import Change, LumenClaim, Programme

pytestmark = pytest.mark.django_db

ROW = {"material": "steel", "channels": "1", "bore_mm": "0.7 mm", "length_mm": "50 cm",
       "most_in_tray": "5", "most_in_load": "", "load_g": "4.85 kg"}  # fmt: skip


def sent(*rows: dict[str, str], stored: int = 0) -> dict[str, str]:
    """A programme's form with claims under it, of which so many were there before."""
    data = {"code": "VP-1", "method": "h2o2", "cycle_name": "Standard", "active": "on",
            "claims-TOTAL_FORMS": str(len(rows)), "claims-INITIAL_FORMS": str(stored)}  # fmt: skip
    for n, row in enumerate(rows):
        data |= {f"claims-{n}-{name}": value for name, value in row.items()}
    return data


def add(client: Client, *rows: dict[str, str]) -> Any:
    return client.post("/new-supply/programme/", sent(*rows))


def edit(client: Client, *rows: dict[str, str]) -> Any:
    return client.post("/supplies/programme/VP-1/edit/", sent(*rows, stored=1))


def test_a_claim_is_kept_in_millimetres_and_grams(coordinator: Client) -> None:
    add(coordinator, ROW)
    claim = LumenClaim.objects.get()
    kept = (claim.bore_mm, claim.length_mm, claim.most_in_tray, claim.most_in_load, claim.load_g)
    assert kept == (Decimal("0.7"), 500, 5, None, 4850)


def test_it_is_on_record_with_the_programme(coordinator: Client) -> None:
    add(coordinator, ROW)
    assert Change.objects.get().after["claims"] == [
        "steel or other metal, one channel, bore 0.7 mm or more, length 500 mm or less, "
        "5 in a tray, load 4850 g or less"
    ]


def test_the_page_of_the_programme_shows_it(coordinator: Client) -> None:
    add(coordinator, ROW)
    page = coordinator.get("/supplies/programme/VP-1/").content.decode()
    assert "Claim 1 for lumens" in page and "bore 0.7 mm or more" in page


def test_an_empty_row_is_no_claim(coordinator: Client) -> None:
    add(coordinator, ROW, {"material": ""})
    assert LumenClaim.objects.count() == 1


@pytest.mark.parametrize("absent", ["channels", "bore_mm", "length_mm"])
def test_half_a_claim_is_refused(coordinator: Client, absent: str) -> None:
    page = add(coordinator, {**ROW, absent: ""}).content.decode()
    assert "A claim is met only as a whole" in page
    assert not Programme.objects.exists()


def test_a_claim_without_a_wall_is_refused(coordinator: Client) -> None:
    assert "This claim names no wall" in add(coordinator, {**ROW, "material": ""}).content.decode()


def test_claims_are_replaced_and_both_lists_are_on_record(coordinator: Client) -> None:
    add(coordinator, ROW)
    edit(coordinator, {**ROW, "bore_mm": "1 mm"})
    change = Change.objects.get(verb="changed")
    before, after = change.before["claims"], change.after["claims"]
    assert ("bore 0.7 mm" in before[0], "bore 1 mm" in after[0]) == (True, True)


def test_saved_as_it_is_nothing_is_recorded(coordinator: Client) -> None:
    add(coordinator, ROW)
    edit(coordinator, ROW)
    assert [c.after for c in Change.objects.filter(verb="changed")] == []


def test_what_is_sent_without_rows_leaves_the_claims_alone(coordinator: Client) -> None:
    add(coordinator, ROW)
    data = {name: value for name, value in sent().items() if not name.startswith("claims-")}
    coordinator.post("/supplies/programme/VP-1/edit/", {**data, "name": "Renamed"})
    assert (Programme.objects.get().name, LumenClaim.objects.count()) == ("Renamed", 1)


def test_a_technician_changes_no_claims(technician: Client) -> None:
    Programme.objects.create(code="VP-1", method="h2o2")
    assert edit(technician, ROW).status_code == 403
    assert not LumenClaim.objects.exists()
