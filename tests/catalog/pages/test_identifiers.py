"""Codes on record: put there, taken off, found again by a scan."""

from __future__ import annotations

from typing import Any

import pytest
from django.core.checks import run_checks
from django.db import IntegrityError, transaction
from django.test import Client

from catalog import actions
from catalog.lookup.finding import find
from catalog.models import Change, Identifier
from catalog.scans.elements import IdentifierKind, Wanted
from tests.factories import catalog as make

pytestmark = pytest.mark.django_db
BEA = actions.Actor("bea")
GTIN = Wanted(IdentifierKind.GTIN, "00643169001763")
SCANNED = "]d2010064316900176321A1"


def add(wanted: Wanted = GTIN, where: str = "on the box", number: str = "T-1") -> Identifier:
    return actions.add_identifier(BEA, make.Instrument(item_number=number), wanted, where)


class TestFinding:
    @pytest.mark.parametrize("raw", ["T-1", "t-1", "]d1T-1\r"])
    def test_an_item_number(self, raw: str) -> None:
        instrument = make.Instrument(item_number="T-1")
        assert find(raw).one == instrument

    def test_a_set_code(self) -> None:
        found = make.InstrumentSet(code="TS-1")
        assert find("TS-1").one == found

    @pytest.mark.parametrize(
        "raw",
        [SCANNED, "0100643169001763", "]d2010064316900176310LOT", "00643169001763",
         "(01)00643169001763(21)B2"],
    )  # fmt: skip
    def test_a_gtin_finds_the_model_whatever_stands_beside_it(self, raw: str) -> None:
        model = add().instrument
        assert find(raw).one == model

    def test_a_single_piece_comes_before_its_model(self) -> None:
        add()
        piece = add(Wanted(IdentifierKind.GTIN_SERIAL, "00643169001763 A1"), number="T-2")
        assert find(SCANNED).one == piece.instrument

    def test_a_hibc_code(self) -> None:
        identifier = add(Wanted(IdentifierKind.HIBC, "A123BJC5D6E71"))
        assert find("+A123BJC5D6E71G").one == identifier.instrument

    def test_another_text(self) -> None:
        identifier = add(Wanted(IdentifierKind.TEXT, "https://maker.example/1042"))
        assert find("https://maker.example/1042").one == identifier.instrument

    @pytest.mark.parametrize("raw", [SCANNED, "T-9", "", "+A123BJC5D6E71H"])
    def test_what_nobody_knows(self, raw: str) -> None:
        assert find(raw).one is None

    def test_a_retired_instrument_is_not_found(self) -> None:
        instrument = add().instrument
        actions.change_instrument(BEA, instrument, {"retired": True})
        assert find(SCANNED).one is None


class TestActions:
    def test_adding_is_on_record(self) -> None:
        add()
        change = Change.objects.get()
        assert (change.verb, change.object_key, change.after) == (
            "added", GTIN.value, {"instrument": "T-1", "where_found": "on the box"})  # fmt: skip

    def test_a_code_that_leads_elsewhere_is_refused_and_names_where(self) -> None:
        add()
        with pytest.raises(actions.IdentifierRefusedError, match="T-1"):
            add(number="T-2")

    def test_a_code_without_a_place_is_refused(self) -> None:
        with pytest.raises(actions.IdentifierRefusedError, match="where"):
            add(where="  ")

    def test_an_item_number_is_no_other_text(self) -> None:
        make.Instrument(item_number="T-7")
        with pytest.raises(actions.IdentifierRefusedError, match="T-7"):
            add(Wanted(IdentifierKind.TEXT, "t-7"))

    def test_taking_off_stays_in_the_history(self) -> None:
        actions.remove_identifier(BEA, add())
        change = Change.objects.latest("pk")
        assert (change.verb, change.before) == (
            "retired", {"instrument": "T-1", "where_found": "on the box"})  # fmt: skip


@pytest.mark.parametrize(
    "wrong", [{"value": ""}, {"where_found": ""}, {"kind": "sticker"}, {"value": "twice"}]
)
def test_the_database_holds_the_rules_too(wrong: dict[str, str]) -> None:
    instrument = make.Instrument()
    row = {"instrument": instrument, "kind": "text", "value": "A", "where_found": "on the box"}
    Identifier.objects.create(**{**row, "value": "twice"})
    with pytest.raises(IntegrityError), transaction.atomic():
        Identifier.objects.create(**{**row, **wrong})


class TestPage:
    FORM = {"code": SCANNED, "where_found": "on the instrument", "scope": ""}

    @pytest.fixture(autouse=True)
    def instrument(self, db: None) -> None:
        make.Instrument(item_number="T-1")

    def post(self, client: Client, **more: str) -> tuple[int, str]:
        answer = client.post("/instruments/T-1/codes/", {**self.FORM, **more})
        return answer.status_code, answer.content.decode()

    @pytest.mark.parametrize(("scope", "kind"), [("", "gtin"), ("piece", "gtin+serial")])
    def test_a_scan_is_kept_for_model_or_piece(
        self, coordinator: Client, scope: str, kind: str
    ) -> None:
        self.post(coordinator, scope=scope)
        assert Identifier.objects.get().kind == kind

    def test_it_is_shown(self, coordinator: Client) -> None:
        self.post(coordinator)
        assert "on the instrument" in coordinator.get("/instruments/T-1/").content.decode()

    def test_a_technician_sees_no_form(self, technician: Client) -> None:
        assert "Put on record" not in technician.get("/instruments/T-1/").content.decode()

    @pytest.mark.parametrize(
        ("code", "said"),
        [("+A123BJC5D6E71H", "keyboard layout"), ("]d210A1", "no number of the instrument")],
    )
    def test_a_refused_code_says_why_and_stays_typed(
        self, coordinator: Client, code: str, said: str
    ) -> None:
        status, page = self.post(coordinator, code=code)
        assert status == 422 and said in page and 'value="on the instrument"' in page

    def test_nothing_of_a_patients_code_comes_back(self, coordinator: Client) -> None:
        _, page = self.post(coordinator, code="]d28018106141412345678908")
        assert "106141412345678908" not in page

    def test_taking_off(self, coordinator: Client) -> None:
        self.post(coordinator)
        coordinator.post(f"/instruments/T-1/codes/{Identifier.objects.get().pk}/remove/")
        assert not Identifier.objects.exists()

    def test_the_stand_in_of_the_settings_is_used(self, coordinator: Client, settings: Any) -> None:
        settings.SCANNER_SEPARATOR = "|"
        self.post(coordinator, code="]d2010064316900176310L|21A1", scope="piece")
        assert Identifier.objects.get().value == "00643169001763 A1"


@pytest.mark.parametrize(("stand_in", "errors"), [("-", 1), ("|", 0), (None, 0)])
def test_a_stand_in_that_cannot_serve_stops_the_start(
    settings: Any, stand_in: str | None, errors: int
) -> None:
    settings.SCANNER_SEPARATOR = stand_in
    assert len([error for error in run_checks() if error.id == "catalog.E001"]) == errors
