"""The department's own label stocks: added, changed, out of use, and what they are drawn by."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from assembly.ledger import Refused
from catalog.history import changes_of
from reports.drawing.stocks import shipped
from reports.gathering import stocks
from reports.gathering.stocks import add_stock, label_stocks
from reports.models import LabelStock
from tests.factories import bench as at
from tests.factories import catalog as make
from tests.reports.examples import page_size_mm

pytestmark = pytest.mark.django_db
ROLL: dict[str, Any] = {"name": "Bench roll", "width_mm": Decimal(80), "height_mm": Decimal(40),
                        "margin_mm": Decimal(2), "printer_dpi": 300, "paper": ""}  # fmt: skip


def row_of(code: str) -> LabelStock:
    found = stocks.row_of(code)
    assert found is not None
    return found


def test_the_proposals_need_no_row() -> None:
    assert label_stocks() == shipped().by_key


def test_an_own_stock_is_there_with_its_measures() -> None:
    code = add_stock(at.person(), ROLL).code
    own = label_stocks()[code]
    assert (code, own.name, own.width_mm, own.height_mm, own.margin_mm, own.printer_dpi) == (
        "bench-roll", "Bench roll", 80, 40, 2, 300)  # fmt: skip


def test_its_type_is_that_of_the_largest_proposal_that_it_could_hold() -> None:
    code = add_stock(at.person(), ROLL).code
    own = label_stocks()[code]
    like = shipped().by_key["roll-70x35"]
    assert (own.name_pt, own.text_pt, own.caption_pt, own.barcode_room_mm) == (
        like.name_pt, like.text_pt, like.caption_pt, like.barcode_room_mm)  # fmt: skip


def test_two_of_one_name_have_two_codes() -> None:
    made = [add_stock(at.person(), {**ROLL, "name": name}).code for name in ("Büro", "büro", "工")]
    assert made == ["buro", "buro-2", "stock"]


def test_a_changed_proposal_takes_its_place_under_its_code() -> None:
    stocks.change_stock(at.person(), row_of("a4-3x8"), {"left_mm": Decimal("7.5")})
    grid = label_stocks()["a4-3x8"].grid
    assert grid and (grid.left_mm, grid.top_mm) == (7.5, 12.5)
    [change] = changes_of(row_of("a4-3x8"))
    assert (change.verb, change.before, change.after) == (
        "changed", {"left_mm": "7"}, {"left_mm": "7.5"})  # fmt: skip


def test_a_proposal_that_another_changed_meanwhile_is_not_overwritten() -> None:
    mine = row_of("a4-3x8")
    stocks.change_stock(at.person(), row_of("a4-3x8"), {"left_mm": Decimal("7.5")})
    with pytest.raises(Refused, match="Somebody else changed"):
        stocks.change_stock(at.person(), mine, {"left_mm": Decimal("6.5")})


def test_out_of_use_it_is_not_there_and_comes_back() -> None:
    stocks.put_out_of_use(at.person(), row_of("roll-70x35"), "none left")
    assert "roll-70x35" not in label_stocks()
    stocks.bring_back(at.person(), row_of("roll-70x35"))
    assert label_stocks()["roll-70x35"].width_mm == 70
    said = [(one.verb, one.reason) for one in changes_of(row_of("roll-70x35"))]
    assert said == [("restored", ""), ("retired", "none left")]


def test_the_last_one_stays() -> None:
    *others, last = label_stocks()
    for code in others:
        stocks.put_out_of_use(at.person(), row_of(code))
    with pytest.raises(Refused, match="the last stock there is"):
        stocks.put_out_of_use(at.person(), row_of(last))


@pytest.mark.parametrize("verb", [stocks.change_stock, stocks.put_out_of_use, stocks.bring_back])
def test_a_technician_may_not(verb: Any) -> None:
    with pytest.raises(Refused, match="may not do this"):
        verb(at.person("Tom Technician", "technician"), row_of("a4-3x8"), {})


def test_a_technician_may_not_add() -> None:
    with pytest.raises(Refused, match="may not do this"):
        add_stock(at.person("Tom Technician", "technician"), ROLL)


class TestPrintLabel:
    """``manage.py print_label`` prints on whatever stock there is."""

    @pytest.fixture(autouse=True)
    def _instrument(self) -> None:
        make.Pouch()
        make.Instrument(item_number="T-1")

    def test_on_an_own_stock(self, tmp_path: Any) -> None:
        code, file = add_stock(at.person(), ROLL).code, tmp_path / "label.pdf"
        call_command("print_label", "T-1", "--stock", code, "-o", str(file))
        assert page_size_mm(file.read_bytes()) == pytest.approx((80, 40), abs=0.01)

    def test_an_unknown_one_is_refused_with_those_there_are(self, tmp_path: Any) -> None:
        code = add_stock(at.person(), ROLL).code
        with pytest.raises(CommandError, match=f"papyrus: is none of them.*{code}"):
            call_command("print_label", "T-1", "--stock", "papyrus", "-o", str(tmp_path / "x"))
