"""What the department counts: on hand by lot, expired refused by name, ordered again in time."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.test import Client
from django.utils import timezone

from assembly.ledger import Refused
from assembly.models import CountedSupply, KeptDecision, SupplyCount, SupplyLot, SupplyUse
from assembly.packages import lots
from assembly.rules.days import day_words
from assembly.stock import counting
from assembly.stock.standing import Standing, standings
from catalog.chain.guards import let_through
from catalog.models import Instrument, Pouch
from reports.gathering.list_files import KINDS
from tests.conftest import user_in
from tests.factories import bench as at
from tests.factories import catalog as make
from tests.factories import requests as ask

pytestmark = pytest.mark.django_db
CAME, COUNTED = "came", "counted"


@pytest.fixture
def instrument() -> Instrument:
    make.Pouch(code="P-1")
    return make.Instrument(item_number="T-1")


def count(quantity: int, kind: str = COUNTED, supply: str = "pouch:P-1", **more: object) -> None:
    counting.count(at.person(), supply, kind, quantity, at.key(), **more)  # type: ignore[arg-type]


def standing() -> Standing:
    [one] = standings()
    return one


def days(back: int) -> date:
    return timezone.localdate() + timedelta(days=back)


def test_what_is_packed_is_taken_off(instrument: Instrument) -> None:
    ask.a_package(instrument)  # before the count: it is not in it
    count(200)
    ask.a_package(instrument)
    assert standing().on_hand == 199
    count(100, CAME)
    assert standing().on_hand == 299


def test_a_count_begins_anew(instrument: Instrument) -> None:
    count(200)
    count(50, CAME)
    count(90)
    assert standing().on_hand == 90


def test_the_lot_that_is_open_goes_down(instrument: Instrument) -> None:
    count(40, lot="L-1", expires=days(10))
    count(60, CAME, lot="L-2", expires=days(20))
    lots.open_lot(at.person(), "pouch:P-1", "L-2", at.key())
    ask.a_package(instrument)
    assert [(one.lot, one.quantity) for one in standing().lots] == [("L-1", 40), ("L-2", 59)]


def test_a_roll_is_counted_in_meters(instrument: Instrument) -> None:
    package = ask.a_package(instrument)
    make.models.Roll.objects.create(code="R-1")
    count(100, supply="roll:R-1")
    used = SupplyUse.objects.create(package=package, supply="roll:R-1", amount=1, length_mm=430)
    assert standing().on_hand == 100  # packed before it was counted
    later = ask.a_package(instrument)
    SupplyUse.objects.filter(pk=used.pk).update(package=later)
    assert standing().on_hand == pytest.approx(99.57)


@pytest.mark.parametrize("kind", [CAME, COUNTED])
def test_a_lot_past_its_date_is_refused_by_name(instrument: Instrument, kind: str) -> None:
    with pytest.raises(Refused, match=r"P-1.*lot L-9, was to be used by"):
        count(5, kind, lot="L-9", expires=days(-1))
    assert not CountedSupply.objects.exists()


def test_nothing_is_packed_in_what_is_past_its_date(instrument: Instrument) -> None:
    count(40, lot="L-1", expires=days(0))
    ask.a_package(instrument)
    with let_through():
        SupplyCount.objects.update(expires=days(-1))
    with pytest.raises(Refused, match=r"P-1.*lot L-1, was to be used by.*no other is on hand"):
        ask.a_package(instrument)
    assert (standing().on_hand, standing().expired[0].quantity) == (0, 39)


def test_the_page_of_one_alone_says_so_before_a_check_is_answered(
    instrument: Instrument, technician: Client
) -> None:
    said = "lot L-1, was to be used by"
    count(40, lot="L-1", expires=days(0))
    assert said not in technician.get("/instruments/T-1/").content.decode()
    with let_through():
        SupplyCount.objects.update(expires=days(-1))
    assert said in technician.get("/instruments/T-1/").content.decode()
    technician.force_login(user_in("OR liaison"))
    assert said not in technician.get("/instruments/T-1/").content.decode()


def test_so_does_the_page_of_a_set_of_the_lot_that_is_open(technician: Client) -> None:
    wanted = at.a_set("TS-1", (1,))
    lots.open_lot(at.person(), f"filter:{wanted.container.code}", "F-1", at.key())
    SupplyLot.objects.update(expires=days(-1))
    technician.post("/sets/TS-1/build/", {"key": at.key()})
    build = wanted.builds.get()
    at.complete(build, at.Person(build.holder_id, build.holder_name, at.person().permissions))
    page = technician.get(f"/builds/{build.pk}/pack/").content.decode()
    assert f"lot F-1, was to be used by {day_words(days(-1))}" in page


def test_another_lot_on_hand_or_open_lets_it_be_packed(instrument: Instrument) -> None:
    count(40, lot="L-1", expires=days(0))
    with let_through():
        SupplyCount.objects.update(expires=days(-1))
    opened = lots.open_lot(at.person(), "pouch:P-1", "L-2", at.key())
    assert ask.a_package(instrument).lots.get().lot == "L-2"
    lots.end_lot(at.person(), opened.pk, at.key())
    count(60, CAME)
    assert ask.a_package(instrument).pk


def test_nobody_has_to_count(instrument: Instrument) -> None:
    ask.a_package(instrument)
    assert standings() == [] and list(KINDS["on-hand"].rows()) == []


def test_counted_no_longer_it_stands_nowhere_and_stops_nothing(instrument: Instrument) -> None:
    count(40, lot="L-1", expires=days(0))
    with let_through():
        SupplyCount.objects.update(expires=days(-1))
    counting.count_no_longer(at.person(), "pouch:P-1", at.key())
    assert standings() == [] and ask.a_package(instrument).pk


@pytest.mark.parametrize(
    ("supply", "kind", "quantity", "says"),
    [
        ("pouch:NONE", CAME, 5, "no supply here"),
        ("pouch:P-1", CAME, 0, "0 was read"),
        ("pouch:P-1", "", 5, "came in, or is all"),
    ],
)
def test_what_cannot_be_counted(
    instrument: Instrument, supply: str, kind: str, quantity: int, says: str
) -> None:
    with pytest.raises(Refused, match=says):
        count(quantity, kind, supply)


# --- when it is ordered again ---------------------------------------------------------


def used_daily(instrument: Instrument, amounts: list[int]) -> None:
    """So many of P-1 on each whole day up to yesterday."""
    package = ask.a_package(instrument)
    SupplyUse.objects.all().delete()
    noon = timezone.localtime().replace(hour=12, minute=0)
    for back, amount in enumerate(amounts, start=1):
        package.pk, package.key, package.code = None, at.key(), f"PK-{back}"
        package.packed_at = noon - timedelta(days=back)
        package.decided = KeptDecision.objects.create(body={})
        package.save(force_insert=True)
        if amount:
            SupplyUse.objects.create(package=package, supply="pouch:P-1", amount=amount)


def test_the_reorder_point_is_of_the_departments_own_days(instrument: Instrument) -> None:
    """16 and 8 in turn: mean 12, sample deviation 4 sqrt(28/27) = 4.073; 60 + 14.98 = 74.98.
    Standard formula of stock keeping, as in ``tests/rules/computing/test_stock.py``."""
    used_daily(instrument, [16, 8] * 14)
    count(75)
    one = standing()
    assert one.point == pytest.approx(74.98, abs=0.01) and one.order_at == 75
    assert one.is_low
    count(76)
    assert not standing().is_low


def test_a_supply_has_its_own_days_of_delivery(instrument: Instrument) -> None:
    used_daily(instrument, [12] * 28)
    count(500, lead_days=10)
    assert standing().order_at == 120
    count(400)
    assert standing().order_at == 120, "kept until it is said anew"


def test_a_day_less_is_not_enough_and_says_so(instrument: Instrument) -> None:
    used_daily(instrument, [12] * 27)
    count(10)
    one = standing()
    assert (one.point, one.is_low) == (None, False)
    assert one.words == "not enough days: 27 of 28"
    count(0)
    assert standing().is_low, "nothing left is to be ordered whatever is known"


def test_days_without_use_count_and_today_does_not(instrument: Instrument) -> None:
    used_daily(instrument, [0] * 27 + [28])
    ask.a_package(instrument)
    count(50)
    assert standing().demand.a_day == 1


def test_the_page_and_its_paper(coordinator: Client, instrument: Instrument) -> None:
    used_daily(instrument, [16, 8] * 14)
    sent = {"supply": "pouch:P-1", "quantity": "75", "kind": "counted", "lot": "L-1",
            "expires": f"{days(30)}", "lead_days": "", "key": at.key()}  # fmt: skip
    words = coordinator.post("/stock/count/", sent, follow=True).content.decode()
    assert "1 to order" in words and f"{Pouch.objects.get()}" in words and "L-1" in words
    [row] = KINDS["on-hand"].rows()
    assert (row[1], row[3], row[5], row[6]) == ("75", "12.0", "75", "order")
    assert coordinator.get("/papers/lists/on-hand.csv").status_code == 200
    refused = coordinator.post("/stock/count/", sent | {"quantity": "x"}, follow=True)
    assert "x" in refused.content.decode() and SupplyCount.objects.count() == 1


def test_a_coordinator_is_told_on_her_first_page(
    coordinator: Client, instrument: Instrument
) -> None:
    assert "to order" not in coordinator.get("/waits/").content.decode()
    count(3)
    assert "to order" not in coordinator.get("/waits/").content.decode()
    count(0)
    assert "Supplies to order" in coordinator.get("/waits/").content.decode()


def test_a_scan_of_the_box_says_its_lot_and_its_date(
    coordinator: Client, instrument: Instrument
) -> None:
    sent = {"supply": "pouch:P-1", "quantity": "100", "kind": "came", "key": at.key(),
            "lot": "]C101095060001343521730123110L-77", "expires": "",
            "lead_days": ""}  # fmt: skip
    coordinator.post("/stock/count/", sent)
    one = SupplyCount.objects.get()
    assert (one.lot, f"{one.expires}") == ("L-77", "2030-12-31")
