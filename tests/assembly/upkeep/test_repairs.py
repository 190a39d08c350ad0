"""What is damaged: out of use from any page, away with somebody, and back or written off."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone

from assembly.bench import builds, signing
from assembly.bench.tally import tally_of
from assembly.ledger import Refused
from assembly.models import Repair
from assembly.packages import recording
from assembly.upkeep import repairs
from assembly.upkeep.repairs import Outcome, away_from
from catalog.models import Change, Instrument, InstrumentSet
from reports.gathering.count_sheets import count_sheet_document
from tests.factories import bench as at
from tests.factories import catalog as make
from tests.factories import requests as ask

pytestmark = pytest.mark.django_db


def sent(instrument: Instrument, **of: object) -> Repair:
    return repairs.to_repair(at.person(), instrument, "Bent or broken", at.key(), **of)  # type: ignore[arg-type]


@pytest.fixture
def instrument() -> Instrument:
    return make.Instrument(item_number="T-1", spares_on_hand=3)


def spares() -> int | None:
    return Instrument.objects.get(item_number="T-1").spares_on_hand


class TestThroughItsLife:
    def test_laid_aside_out_and_back(self, instrument: Instrument) -> None:
        one = sent(instrument)
        soon = timezone.localdate() + timedelta(days=10)
        repairs.send_out(at.person(), one.pk, "Fellside Repairs", soon)
        done = repairs.come_back(at.person(), one.pk, Outcome.BACK, "new screw")
        assert (done.gone_to, done.expected_on) == ("Fellside Repairs", soon)
        assert (done.outcome, done.closed_because) == ("back", "new screw")
        assert not repairs.away().exists()

    def test_each_step_is_on_record(self, instrument: Instrument) -> None:
        one = sent(instrument)
        repairs.send_out(at.person(), one.pk, "Fellside Repairs")
        repairs.come_back(at.person(), one.pk, Outcome.WRITTEN_OFF)
        said = Change.objects.filter(kind="repair", object_key="T-1").order_by("pk")
        assert [one.verb for one in said] == ["added", "changed", "changed"]

    def test_a_day_that_has_passed_is_refused(self, instrument: Instrument) -> None:
        one, gone = sent(instrument), timezone.localdate() - timedelta(days=1)
        with pytest.raises(Refused, match=str(gone)):
            repairs.send_out(at.person(), one.pk, "Fellside Repairs", gone)

    def test_nobody_has_it_without_a_name(self, instrument: Instrument) -> None:
        with pytest.raises(Refused, match="who has it"):
            repairs.send_out(at.person(), sent(instrument).pk, " ")

    def test_what_is_back_does_not_go_out(self, instrument: Instrument) -> None:
        one = sent(instrument)
        repairs.come_back(at.person(), one.pk, Outcome.BACK)
        with pytest.raises(Refused, match="is back since"):
            repairs.send_out(at.person(), one.pk, "Fellside Repairs")

    def test_who_has_it_can_be_corrected_and_keeps_its_day(self, instrument: Instrument) -> None:
        one = sent(instrument)
        first = repairs.send_out(at.person(), one.pk, "Fellside Repairs")
        soon = timezone.localdate() + timedelta(days=3)
        later = repairs.send_out(at.person(), one.pk, "Fellside Repairs", soon)
        assert (later.gone_at, later.expected_on) == (first.gone_at, soon)

    def test_an_overdue_one_changes_hands_with_its_day(self, instrument: Instrument) -> None:
        one, gone = sent(instrument), timezone.localdate() - timedelta(days=1)
        repairs.send_out(at.person(), one.pk, "Fellside Repairs", timezone.localdate())
        Repair.objects.update(expected_on=gone)
        assert repairs.send_out(at.person(), one.pk, "the maker", gone).gone_to == "the maker"


class TestSpares:
    def test_a_loose_one_is_counted_down_and_up(self, instrument: Instrument) -> None:
        one = sent(instrument, from_spares=True)
        assert spares() == 2
        for _ in range(2):
            repairs.come_back(at.person(), one.pk, Outcome.BACK, to_spares=True)
        assert spares() == 3

    def test_written_off_it_is_counted_nowhere(self, instrument: Instrument) -> None:
        one = sent(instrument, from_spares=True)
        repairs.come_back(at.person(), one.pk, Outcome.WRITTEN_OFF, to_spares=True)
        assert spares() == 2

    def test_one_in_use_counts_nothing(self, instrument: Instrument) -> None:
        sent(instrument)
        assert spares() == 3


class TestOfASet:
    @pytest.fixture
    def a_set(self) -> InstrumentSet:
        return at.a_set("TS-1", (1, 2), may_go_without=True)

    def damaged(self, a_set: InstrumentSet) -> Repair:
        return sent(Instrument.objects.get(item_number="TS-1-2"), instrument_set=a_set)

    def test_found_while_counting_it_is_away_from_the_set(self, a_set: InstrumentSet) -> None:
        build = at.a_build(a_set)
        line = tally_of(build).lines[0].line
        builds.damaged(at.person(), build.pk, line.pk, "Bent", at.key())
        assert list(away_from(a_set)) == [line.instrument_id]
        assert away_from(a_set, besides=build) == {}

    def test_undone_at_the_bench_nothing_is_away(self, a_set: InstrumentSet) -> None:
        build = at.a_build(a_set)
        line = tally_of(build).lines[0].line
        builds.damaged(at.person(), build.pk, line.pk, "Bent", at.key())
        builds.undo(at.person(), build.pk, at.key())
        assert (Repair.objects.get().outcome, away_from(a_set)) == ("undone", {})

    def test_its_line_says_so_and_offers_the_shortage(
        self, a_set: InstrumentSet, technician: Client
    ) -> None:
        self.damaged(a_set)
        assert "1 at repair" in technician.get("/sets/TS-1/").content.decode()
        technician.post("/sets/TS-1/build/", {"key": at.key()})
        build = a_set.builds.get()
        line = tally_of(build).lines[1].line
        page = technician.get(f"/builds/{build.pk}/?line={line.pk}").content.decode()
        assert "1 short: at repair" in page

    def test_its_printed_count_sheet_says_so(self, a_set: InstrumentSet) -> None:
        one = self.damaged(a_set)
        repairs.send_out(at.person(), one.pk, "Fellside Repairs")
        notices = count_sheet_document(a_set, "Bea Hartsop").notices
        assert any("At repair: 1 × TS-1-2" in words and "Fellside" in words for words in notices)

    def test_a_closed_package_gives_no_piece_out(self, a_set: InstrumentSet) -> None:
        package = at.signed(at.a_build(a_set))
        with pytest.raises(Refused, match="is closed"):
            sent(Instrument.objects.get(item_number="TS-1-2"), package=package)

    def test_an_open_one_does_and_names_its_set(self, a_set: InstrumentSet) -> None:
        package = at.signed(at.a_build(a_set))
        signing.reopen(at.person(), package.build_id, "seen", at.key())
        one = sent(Instrument.objects.get(item_number="TS-1-2"), package=package)
        assert (one.instrument_set, one.package) == (a_set, package)


class TestPages:
    """From the page of an instrument, a set and a package; then on the one list."""

    def press(self, client: Client, **said: str) -> str:
        said = {"key": at.key(), "item": "T-1", "next": "/away/", **said}
        return client.post("/away/send/", said, follow=True).content.decode()

    def test_from_the_page_of_an_instrument(
        self, instrument: Instrument, technician: Client
    ) -> None:
        assert "Damaged: to repair" in technician.get("/instruments/T-1/").content.decode()
        page = self.press(technician, reason="Bent or broken")
        assert "here, laid aside" in page and "Bent or broken" in page

    def test_a_package_offers_it_once_it_is_open(
        self, instrument: Instrument, technician: Client
    ) -> None:
        package = ask.a_package(instrument)
        where = f"/packages/{package.code}/"
        assert "Damaged: to repair" not in technician.get(where).content.decode()
        recording.void_package(at.person(), package.pk, "opened")
        assert "Damaged: to repair" in technician.get(where).content.decode()
        self.press(technician, package=package.code, other="pin worn")
        assert Repair.objects.get().package == package

    def test_without_a_reason_nothing_is_sent(
        self, instrument: Instrument, technician: Client
    ) -> None:
        assert "the repair shop reads it" in self.press(technician)
        assert not Repair.objects.exists()

    def test_out_and_back_by_press(self, instrument: Instrument, technician: Client) -> None:
        one = sent(instrument)
        there = f"/away/{one.pk}/act/"
        technician.post(there, {"act": "out", "to": "Fellside Repairs", "expected_on": "x"})
        assert Repair.objects.get().gone_to == ""
        technician.post(there, {"act": "out", "to": "Fellside Repairs"})
        assert "Fellside Repairs" in technician.get("/away/").content.decode()
        technician.post(there, {"act": "back"})
        assert Repair.objects.get().outcome == "back"

    def test_back_it_leads_to_the_sets_that_wait(self, technician: Client) -> None:
        ask.short_set("TS-1")
        one = sent(Instrument.objects.get(item_number="TS-1-1"))
        answer = technician.post(f"/away/{one.pk}/act/", {"act": "back"})
        assert answer["Location"] == "/requests/back/TS-1-1/"
