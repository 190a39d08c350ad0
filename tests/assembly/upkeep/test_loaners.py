"""What is lent: in, weighed, its IFU received or not, and what is still to be returned."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

import pytest
from django.test import Client
from django.utils import timezone

from assembly.bench import signing
from assembly.judging.decisions import decide_for_instrument, decide_for_set
from assembly.judging.facts_from_catalog import lines_of
from assembly.ledger import Refused
from assembly.models import Loaner
from assembly.rules.findings import Outcome
from assembly.upkeep import loaners, repairs
from assembly.upkeep.loaners import Lent
from catalog.models import Instrument, InstrumentSet
from reports.gathering.list_files import KINDS
from tests.factories import bench as at
from tests.factories import catalog as make

pytestmark = pytest.mark.django_db
TRAY = Lent("Knee tray 1 of 2", "Calder Implants")


def came(**said: object) -> Loaner:
    return loaners.take_in(at.person(), replace(TRAY, **said), at.key())  # type: ignore[arg-type]


@pytest.fixture
def a_set() -> InstrumentSet:
    return at.a_set("TS-1", (1, 2))


def outcome(a_set: InstrumentSet) -> Outcome:
    sheet = a_set.current
    assert sheet is not None
    return decide_for_set(a_set, lines_of(sheet)).decision.outcome


class TestIfu:
    def test_without_it_a_set_stays_undecided(self, a_set: InstrumentSet) -> None:
        assert outcome(a_set) is Outcome.RECOMMENDED
        one = came(instrument_set=a_set)
        assert outcome(a_set) is Outcome.UNDECIDED
        loaners.ifu_came(at.person(), one.pk, at.key(), "CI-KT rev. 4")
        assert outcome(a_set) is Outcome.RECOMMENDED

    def test_it_is_here_where_it_came_with_it(self, a_set: InstrumentSet) -> None:
        came(instrument_set=a_set, ifu_reference="CI-KT rev. 4")
        assert outcome(a_set) is Outcome.RECOMMENDED

    def test_one_lent_piece_without_it_leaves_the_whole_set_undecided(
        self, a_set: InstrumentSet
    ) -> None:
        came(instrument=Instrument.objects.get(item_number="TS-1-2"))
        assert outcome(a_set) is Outcome.UNDECIDED

    def test_so_does_it_leave_the_instrument_by_itself(self) -> None:
        make.Pouch(outer_width_mm=250, inner_width_mm=234)
        instrument = make.Instrument(item_number="T-1")
        assert decide_for_instrument(instrument).decision.recommended
        one = came(instrument=instrument)
        answer = decide_for_instrument(instrument)
        assert answer.decision.outcome is Outcome.UNDECIDED
        assert "lent.ifu" in answer.decision.unknown
        loaners.give_back(at.person(), one.pk, at.key())
        assert decide_for_instrument(instrument).decision.recommended

    def test_the_page_of_its_set_says_so(self, a_set: InstrumentSet, technician: Client) -> None:
        came(instrument_set=a_set)
        page = technician.get("/sets/TS-1/").content.decode()
        assert "Not decided: it is lent, and its IFU was not received" in page
        assert "under Upkeep, On loan" in page

    def test_it_has_a_number(self) -> None:
        one = came()
        with pytest.raises(Refused, match="number and revision"):
            loaners.ifu_came(at.person(), one.pk, at.key(), " ")


class TestInAndOut:
    def test_what_it_is_and_whose_has_to_be_said(self) -> None:
        with pytest.raises(Refused, match="what it is, and whose"):
            came(vendor=" ")

    def test_nothing_else_has(self) -> None:
        one = came()
        assert (one.pieces, one.weight_g, one.ifu_received_at, one.return_by) == (None,) * 4

    @pytest.mark.parametrize(
        ("said", "match"),
        [({"pieces": 0}, "0 pieces"), ({"weight_g": Decimal(0)}, "0 g was read"),
         ({"return_by": timezone.localdate() - timedelta(days=1)}, "has passed")],
    )  # fmt: skip
    def test_what_cannot_be_is_refused_with_what_was_read(
        self, said: dict[str, object], match: str
    ) -> None:
        with pytest.raises(Refused, match=match):
            came(**said)
        assert not Loaner.objects.exists()

    def test_the_list_of_returns_has_what_goes_back_first(self) -> None:
        today = timezone.localdate()
        came(what="never said")
        came(what="last", return_by=today + timedelta(days=3))
        came(what="first", return_by=today)
        gone = came(what="gone")
        loaners.give_back(at.person(), gone.pk, at.key())
        assert [row[0] for row in KINDS["on-loan"].rows()] == ["first", "last", "never said"]

    def test_what_is_at_repair_does_not_go_back_unsaid(self, a_set: InstrumentSet) -> None:
        one = came(instrument_set=a_set)
        piece = Instrument.objects.get(item_number="TS-1-2")
        repairs.to_repair(at.person(), piece, "Bent", at.key(), instrument_set=a_set)
        with pytest.raises(Refused, match="Away for repair: 1 ×"):
            loaners.give_back(at.person(), one.pk, at.key())
        loaners.give_back(at.person(), one.pk, at.key(), "the maker has it")
        assert not loaners.here().exists()

    def test_what_is_still_packed_does_not_go_back(self, a_set: InstrumentSet) -> None:
        one = came(instrument_set=a_set, ifu_reference="CI-KT rev. 4")
        package = at.signed(at.a_build(a_set))
        with pytest.raises(Refused, match=f"{package.code}: closed and here"):
            loaners.give_back(at.person(), one.pk, at.key(), "all of it")
        signing.reopen(at.person(), package.build_id, "case is off", at.key())
        loaners.give_back(at.person(), one.pk, at.key())
        assert not loaners.here().exists()

    def test_where_it_is_names_the_packages_since_it_came(self, a_set: InstrumentSet) -> None:
        at.signed(at.a_build(a_set))
        one = came(instrument_set=a_set, ifu_reference="CI-KT rev. 4")
        package = at.signed(at.a_build(a_set))
        assert [each.package for each in loaners.where_it_is(one)] == [package]


class TestPages:
    def test_in_weighed_and_out_by_press(self, technician: Client) -> None:
        sent = {"key": at.key(), "what": "Knee tray", "vendor": "Calder", "weight_g": "11.8 kg"}
        technician.post("/loaners/in/", sent)
        one = Loaner.objects.get()
        page = technician.get(f"/loaners/{one.pk}/").content.decode()
        # 25 lb gross, ANSI/AAMI ST77: 11.8 kg is over it.
        assert "not met" in page and "IFU was not received" in page
        act = f"/loaners/{one.pk}/act/"
        technician.post(act, {"act": "weight", "weight_g": "8.2 kg", "key": at.key()})
        technician.post(act, {"act": "back", "key": at.key()})
        one.refresh_from_db()
        assert (one.weight_g, one.state) == (8200, "returned")

    def test_a_code_that_is_no_set_is_refused_and_nothing_is_saved(
        self, technician: Client
    ) -> None:
        sent = {"key": at.key(), "what": "Knee tray", "vendor": "Calder", "instrument_set": "X"}
        page = technician.post("/loaners/in/", sent | {"next": "/loaners/"}, follow=True)
        assert "“X” is no set of the catalog" in page.content.decode()
        assert not Loaner.objects.exists()


def test_the_menu_of_the_list_comes_back_to_the_list(technician: Client) -> None:
    """The list of what is here once stood where the menu says where to come back to."""
    came()
    page = technician.get("/loaners/").content.decode()
    assert 'name="next" value="/loaners/"' in page and "Loaner:" not in page
